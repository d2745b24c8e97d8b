"""Details of which one attribute or member says what they are: ``finish[@kind='hem']``, ``{"key": "width", ...}``."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import Final

from ticketbridge.model.reads import FileKind
from ticketbridge.prove.draft.trees import Node
from ticketbridge.prove.draft.words import KEY_WORDS, RECORD_WORDS, plain

Path = tuple[str, ...]
_DETAIL_VALUES: Final = 4
"""A detail that one of its attributes names has no more values than this."""


def tell_details_apart(node: Node, kind: FileKind, keys: dict[Path, str], path: Path = ()) -> None:
    """Give details of one name steps of their own: ``finish[@kind='hem']`` where ``kind`` says which detail it is."""
    for child in node.children:
        below = (*path, child.step)
        key = keys.get(below)
        said = next((one.value.raw for one in child.children if one.step == key and one.value), None)
        tell_details_apart(child, kind, keys, below)
        if key is not None and said is not None and "'" not in said:
            condition = f"[{key}='{said}']" if kind is not FileKind.JSON else f"[?@.{key}=='{said}']"
            child.step += condition
            child.name += f" {said}"
            child.listed = False
            child.children = [one for one in child.children if one.step != key]


def detail_keys(roots: Sequence[Node]) -> dict[Path, str]:
    """For repeated details the attribute or member that says which detail each is."""
    groups: dict[Path, list[list[Node]]] = defaultdict(list)

    def walk(node: Node, path: Path) -> None:
        by_step: dict[str, list[Node]] = defaultdict(list)
        for child in node.children:
            by_step[child.step].append(child)
            walk(child, (*path, child.step))
        for step, some in by_step.items():
            groups[(*path, step)].append(some)

    for root in roots:
        walk(root, ())
    return {path: key for path, some in groups.items() if (key := _key_of(some))}


def _key_of(groups: Sequence[list[Node]]) -> str | None:
    if max(len(some) for some in groups) < 2 and not any(one.listed for some in groups for one in some):
        return None
    everyone = [one for some in groups for one in some]
    name = plain(everyone[0].name)
    most = 2 if name in RECORD_WORDS and "item" not in name else _DETAIL_VALUES
    if any(len(list(leaves(one))) > most for one in everyone):
        return None
    for key in dict.fromkeys(child.step for one in everyone for child in one.children):
        if plain(key.removeprefix("@").rpartition(":")[2]) not in KEY_WORDS:
            continue
        said = [
            [child.value.raw for child in one.children if child.step == key and child.value]
            for some in groups
            for one in some
        ]
        words = Counter(text for texts in said for text in texts)
        once = all(
            len({_said(one, key) for one in some}) == len(some) and all(_said(one, key) for one in some)
            for some in groups
        )
        if once and not any(text.isdigit() for text in words) and len(words) < max(3, len(everyone)):
            return key
    return None


def _said(node: Node, key: str) -> str:
    return next((child.value.raw for child in node.children if child.step == key and child.value), "")


def leaves(node: Node) -> Iterator[Node]:
    """Everything below a node, and itself, that has a value."""
    if node.value is not None:
        yield node
    for child in node.children:
        yield from leaves(child)
