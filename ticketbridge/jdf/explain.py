"""Why the schema refused: which attribute, what was there, what is allowed.

lxml says quickly that something is wrong, and roughly what. Where and what exactly is found here, attribute by
attribute, with the types of the same schema in xmlschema; what is allowed is the type's own documentation.
"""

import re
from collections import defaultdict
from collections.abc import Iterator
from typing import Final

from ticketbridge.jdf.kinds import Kind, type_descriptions
from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.prune import Pruned
from ticketbridge.jdf.schema_catalogue import explaining_schema
from ticketbridge.jdf.schema_verdict import LARGE
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.vocabulary.names import jdf

VALUE_SHOWN: Final = 80
"""Characters of a wrong value that are repeated in a finding."""

_ABOUT: Final = re.compile(
    r"Element '(?:\{[^}]*\})?([^']+)'(?:, attribute '([^']+)')?: (?:The attribute '([^']+)' is required)?"
)
"""Element, wrong attribute, missing attribute in a message of libxml2."""


def explain(pruned: Pruned, root_name: str, messages: list[str], file: str) -> Iterator[Finding]:
    """Findings for what lxml refused; at least one.

    Args:
        pruned: The document that was refused.
        root_name: ``JDF`` or ``JMF``.
        messages: What lxml said of it.
        file: Name of the document.
    """
    explanation = _Explanation(pruned, root_name, messages, file)
    found = False
    for finding in explanation.findings():
        found = True
        yield finding
    if not found:
        yield Finding("ticket.structure-wrong", Place(file), {"element": root_name, "reason": messages[0]})


class _Explanation:
    def __init__(self, pruned: Pruned, root_name: str, messages: list[str], file: str) -> None:
        self._pruned = pruned
        self._types = explaining_schema(root_name).maps.types
        self._descriptions = type_descriptions(root_name)
        self._paths = Paths()
        self._file = file
        self._messages = " ".join(messages)
        self._suspects: dict[str, dict[str, None]] = defaultdict(dict)
        for message in messages:
            about = _ABOUT.match(message)
            if about is not None:
                self._suspects[about[1]][about[2] or about[3] or ""] = None
        self._known: dict[tuple[str, str], bool] = {}

    def findings(self) -> Iterator[Finding]:
        """What is wrong with the elements that lxml named, in the order of the document."""
        kinds = dict(self._pruned.elements)
        for element in self._pruned.root.iter(jdf("*")):
            suspects = self._suspects.get(local_name(element))
            if suspects is not None:
                yield from self._of(element, kinds[element], suspects)

    def _of(self, element: Element, kind: Kind, suspects: dict[str, None]) -> Iterator[Finding]:
        for name in suspects:
            value = element.get(name) if name else None
            if not name:
                yield from self._stray_text(element)
            elif value is None:
                if name in kind.required:
                    yield self._finding("ticket.attribute-missing", element, name, kind)
            elif self._is_suspect(value) and (
                value != kind.fixed.get(name, value) or not self._fits(value, kind.attributes[name])
            ):
                yield self._finding("ticket.attribute-wrong", element, name, kind, found=shown(value))

    def _is_suspect(self, value: str) -> bool:
        """In a large document only the values that lxml's messages repeat are looked at."""
        return len(self._pruned.elements) <= LARGE or value in self._messages

    def _fits(self, value: str, type_name: str) -> bool:
        key = (value, type_name)
        if key not in self._known:
            is_xsd = type_name.startswith("xs:")
            name = f"{{http://www.w3.org/2001/XMLSchema}}{type_name[3:]}" if is_xsd else jdf(type_name)
            self._known[key] = bool(self._types[name].is_valid(value))
        return self._known[key]

    def _stray_text(self, element: Element) -> Iterator[Finding]:
        texts = (element.text, *(child.tail for child in element))
        text = next((text.strip() for text in texts if text and text.strip()), None)
        if text is not None:
            place = Place(self._file, element.sourceline, path=self._paths.of(element))
            reason = f"it holds elements and no text, and the text {shown(text)!r} stands in it"
            yield Finding("ticket.structure-wrong", place, {"element": local_name(element), "reason": reason})

    def _finding(self, code: str, element: Element, name: str, kind: Kind, **facts: type_of_fact) -> Finding:
        type_name = kind.attributes[name]
        allowed = kind.fixed.get(name) or self._descriptions.get(type_name, type_name.removeprefix("xs:"))
        return Finding(
            code,
            Place(self._file, element.sourceline, path=self._paths.of(element, name)),
            {"element": local_name(element), "attribute": name, "allowed": allowed} | facts,
        )


def shown(value: str) -> str:
    """A value from outside, short enough for a sentence."""
    return value if len(value) <= VALUE_SHOWN else f"{value[:VALUE_SHOWN]}..."
