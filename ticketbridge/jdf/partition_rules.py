"""Rules about partitioned resources that no schema can state: each level of leaves sets one key, none is there twice.

The official schema takes a leaf without its key, with another one, or with two; what a link means by a part would
then be anybody's guess.
"""

from collections.abc import Iterator, Sequence
from typing import Any, Final

from lxml import etree

from ticketbridge.jdf.partitions import keys_of, leaves_of
from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.vocabulary.names import JDF_NAMESPACE, jdf

_PARTITIONED: Final = etree.XPath(
    "descendant-or-self::jdf:ResourcePool//jdf:*[@PartIDKeys or *[local-name() = local-name(..)]]",
    namespaces={"jdf": JDF_NAMESPACE},
)
"""What says that it has parts, or holds its own kind; nothing else can break these rules."""

_Broken = tuple[str, Element, dict[str, type_of_fact]]
"""Code, leaf, facts."""


def check_partitions(root: Element, file: str) -> Iterator[Finding]:
    """Findings about the resources of a document and what is nested in them.

    Args:
        root: Root of the document.
        file: Its name, for findings.
    """
    paths = Paths()
    partitioned: Any = _PARTITIONED(root)
    for resource in partitioned:
        parent = resource.getparent()
        if parent is not None and parent.tag != resource.tag:
            for code, leaf, facts in _broken(resource):
                place = Place(file, leaf.sourceline, path=paths.of(leaf))
                yield Finding(code, place, {"element": local_name(leaf)} | facts)


def _broken(resource: Element) -> Iterator[_Broken]:
    names = resource.get("PartIDKeys", "").split()
    if "PartIDKeys" not in resource.attrib:
        for leaf in leaves_of(resource):
            if keys_of(leaf):
                yield "ticket.part-without-keys", leaf, {}
                return
        return
    todo = [(resource, 0)]
    for parent, level in todo:
        yield from _wrong_identical(parent, names[:level])
        seen: set[str] = set()
        for leaf in leaves_of(parent):
            yield from _wrong_key(leaf, names, level)
            key = names[level] if level < len(names) else None
            value = None if key is None else keys_of(leaf).get(key)
            if value is not None and value in seen:
                yield "ticket.part-twice", leaf, {"found": f"{key} {value}"}
            seen.add(value or "")
            todo.append((leaf, level + 1))


def _wrong_key(leaf: Element, names: Sequence[str], level: int) -> Iterator[_Broken]:
    """A leaf sets the key of its level, and none of another level."""
    found = [name for name in keys_of(leaf) if name in names]
    expected = names[level : level + 1]
    if found != expected:
        said = " and ".join(found or keys_of(leaf)) or "no key"
        facts: dict[str, type_of_fact] = {"found": said, "allowed": "".join(expected) or "no further part"}
        yield "ticket.part-wrong-key", leaf, facts


def _wrong_identical(leaf: Element, keys: Sequence[str]) -> Iterator[_Broken]:
    """A leaf can be the same as another one of its own level only."""
    for part in leaf.iterfind(f"{jdf('Identical')}/{jdf('Part')}"):
        found = list(keys_of(part))
        if set(found) != set(keys):
            facts: dict[str, type_of_fact] = {
                "found": " and ".join(found) or "no key",
                "allowed": " and ".join(keys),
            }
            yield "ticket.part-wrong-identical", leaf, facts
