"""One YAML file as plain values, each with its line and column.

YAML 1.2 without its traps: anchors and aliases (a few lines can stand for gigabytes), tags, directives
and a second document are refused, and so is a key that is there twice. Dates stay text.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, StringMark
from ruamel.yaml.events import AliasEvent, CollectionEndEvent, CollectionStartEvent, DocumentStartEvent, Event
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from ruamel.yaml.reader import ReaderError

from ticketbridge.model.finding import Finding, Place

KeyPath = tuple[str | int, ...]
"""From the top of a file to a value: keys, and positions in lists from 0."""

EACH: Final = "*"
"""In a pattern for ``Document.find``: every member of a list."""

LARGEST_FILE_BYTES: Final = 512 * 1024
DEEPEST: Final = 16
"""Levels of nesting; the deepest key that the models know lies on level 7."""

_TYPED_TAGS: Final = frozenset(f"tag:yaml.org,2002:{name}" for name in ("bool", "float", "int", "null"))

_POINTS_AT_ITS_START: Final = frozenset(
    {
        "while scanning a simple key",
        "while scanning a quoted scalar",
        "while parsing a flow sequence",
        "while parsing a flow mapping",
    }
)
"""The parser notices far below that a thing has no end; the line to mend is where the thing begins."""


@dataclass(frozen=True, slots=True)
class Document:
    """A file that was read.

    Attributes:
        file: The file.
        data: Plain dicts, lists, text, numbers, booleans and None.
        places: Line and column (from 1) of every value.
        key_places: Line and column of every key.
    """

    file: Path
    data: Any
    places: Mapping[KeyPath, tuple[int, int]]
    key_places: Mapping[KeyPath, tuple[int, int]]

    def place(self, path: KeyPath, *, of_key: bool = False) -> Place:
        """Where a value (or its key) stands; what is not there is placed at what should hold it."""
        known = path
        spots = self.key_places if of_key else self.places
        while known and known not in spots:
            known, spots = known[:-1], self.places
        line, column = spots.get(known, (1, 1))
        return Place(str(self.file), line, column, self.named(path) or None)

    def named(self, path: KeyPath) -> str:
        """The path for people: ``presses[P1].lanes[A].width_mm``; those without id are counted: ``[#2]``."""
        text, value = "", self.data
        for step in path:
            value = _member(value, step)
            if isinstance(step, int):
                text += f"[{value['id']}]" if isinstance(_member(value, "id"), str) else f"[#{step + 1}]"
            else:
                text += f".{step}" if text else step
        return text

    def find(self, pattern: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
        """Every value that a pattern such as ``("presses", EACH, "id")`` leads to, in file order."""
        yield from _find(self.data, pattern, ())


def read_document(file: Path) -> tuple[Document | None, list[Finding]]:
    """Reads one file.

    Args:
        file: The file; it may be missing, too large, or not YAML at all.

    Returns:
        The document, or None where nothing can be made of the file, and what was found wrong.
    """
    text, findings = _text_of(file)
    if text is None:
        return None, findings
    try:
        refused = _refused_feature(file, YAML(typ="safe", pure=True).parse(text))
        if refused:
            return None, [refused]
        yaml = YAML(typ="safe", pure=True)
        root = yaml.compose(text)
    except ReaderError as error:
        return None, [_character_refused(file, text, error.position)]
    except MarkedYAMLError as error:
        return None, [_broken(file, error)]
    reading = _Reading(file, yaml)
    data = None if root is None else reading.value_of(root, ())
    return Document(file, data, reading.places, reading.key_places), reading.findings


@dataclass(slots=True)
class _Reading:
    """Walks the nodes of one file, noting where everything stands."""

    file: Path
    yaml: YAML
    places: dict[KeyPath, tuple[int, int]] = field(default_factory=dict)
    key_places: dict[KeyPath, tuple[int, int]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def value_of(self, node: Node, path: KeyPath) -> Any:
        self.places[path] = _spot(node.start_mark)
        if isinstance(node, MappingNode):
            return self._mapping(node, path)
        if isinstance(node, SequenceNode):
            return [self.value_of(member, (*path, index)) for index, member in enumerate(node.value)]
        return self._scalar(node)

    def _mapping(self, node: MappingNode, path: KeyPath) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for key_node, value_node in node.value:
            line, column = _spot(key_node.start_mark)
            if not isinstance(key_node, ScalarNode):
                place = Place(str(self.file), line, column)
                self.findings.append(
                    Finding("config.yaml-feature", place, {"feature": "a key that is a list or a block"})
                )
                continue
            key = str(key_node.value)
            here = (*path, key)
            if key in values:
                place = Place(str(self.file), line, column, key)
                first_line, _ = self.key_places[here]
                self.findings.append(
                    Finding("config.key-twice", place, {"key": key, "first_line": first_line})
                )
                continue
            self.key_places[here] = (line, column)
            values[key] = self.value_of(value_node, here)
            if value_node.value == "":
                # Nothing stands after the colon, and the parser places it at whatever comes next.
                self.places[here] = (line, column)
        return values

    def _scalar(self, node: Node) -> Any:
        """Numbers, booleans and null as themselves; everything else, dates too, as the text that is there."""
        if str(node.tag) not in _TYPED_TAGS:
            return str(node.value)
        try:
            return self.yaml.constructor.construct_document(node)
        except ValueError:
            return str(node.value)


def _member(value: Any, step: str | int) -> Any:
    try:
        return value[step]
    except (TypeError, LookupError):
        return None


def _find(value: Any, pattern: KeyPath, path: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
    if not pattern:
        yield path, value
    elif pattern[0] == EACH:
        for index, member in enumerate(value if isinstance(value, list) else ()):
            yield from _find(member, pattern[1:], (*path, index))
    elif isinstance(value, dict | list) and _holds(value, pattern[0]):
        yield from _find(_member(value, pattern[0]), pattern[1:], (*path, pattern[0]))


def _holds(value: dict[str, Any] | list[Any], step: str | int) -> bool:
    return step in value if isinstance(value, dict) else isinstance(step, int) and step < len(value)


def _text_of(file: Path) -> tuple[str | None, list[Finding]]:
    place = Place(str(file))
    try:
        if not file.exists():
            return None, [Finding("config.file-missing", place, {"name": file.name})]
        if not file.is_file():
            return None, [Finding("config.file-unreadable", place, {"why": "it is not an ordinary file"})]
        with file.open("rb") as stream:
            content = stream.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        return None, [Finding("config.file-unreadable", place, {"why": error.strerror or str(error)})]
    if len(content) > LARGEST_FILE_BYTES:
        why = f"it is larger than {LARGEST_FILE_BYTES} bytes"
        return None, [Finding("config.file-unreadable", place, {"why": why})]
    try:
        return content.decode("utf-8-sig"), []
    except UnicodeDecodeError as error:
        before = content[: error.start].decode("utf-8-sig", "replace")
        line, column = _line_and_column(before)
        return None, [
            Finding(
                "config.character",
                Place(str(file), line, column),
                {"character": f"byte {content[error.start]:#04x}"},
            )
        ]


def _refused_feature(file: Path, events: Iterator[Event]) -> Finding | None:
    """The first thing that YAML knows and a shop file must not hold. Stops before depth can hurt."""
    depth = 0
    for event in events:
        depth += isinstance(event, CollectionStartEvent) - isinstance(event, CollectionEndEvent)
        feature = _feature(event)
        if depth > DEEPEST:
            feature = f"more than {DEEPEST} levels of nesting"
        if feature:
            line, column = _spot(event.start_mark)
            return Finding("config.yaml-feature", Place(str(file), line, column), {"feature": feature})
    return None


def _feature(event: Event) -> str | None:
    if isinstance(event, AliasEvent):
        return f"the alias *{event.anchor}"
    anchor = getattr(event, "anchor", None)
    if anchor:
        return f"the anchor &{anchor}"
    if isinstance(event, DocumentStartEvent):
        return "a % directive" if event.version or event.tags else None
    tag = getattr(event, "tag", None)
    return f"the tag {tag}" if tag else None


def _broken(file: Path, error: MarkedYAMLError) -> Finding:
    mark = error.problem_mark or error.context_mark
    if error.context in _POINTS_AT_ITS_START and error.context_mark:
        mark = error.context_mark
    line, column = _spot(mark) if mark else (1, 1)
    place = Place(str(file), line, column)
    problem = str(error.problem or "it cannot be read")
    if "'\\t'" in problem:
        return Finding("config.tab", place)
    if error.context == "expected a single document in the stream":
        return Finding("config.yaml-feature", place, {"feature": "a second document after ---"})
    where = str(error.context or "").removeprefix("while ")
    return Finding("config.yaml-broken", place, {"problem": f"{where}: {problem}" if where else problem})


def _character_refused(file: Path, text: str, position: int) -> Finding:
    line, column = _line_and_column(text[:position])
    character = f"U+{ord(text[position]):04X}"
    return Finding("config.character", Place(str(file), line, column), {"character": character})


def _line_and_column(before: str) -> tuple[int, int]:
    return before.count("\n") + 1, len(before) - before.rfind("\n")


def _spot(mark: StringMark) -> tuple[int, int]:
    return mark.line + 1, mark.column + 1
