"""Rules about nodes that no schema can state: processes and their indices, and what a node has once."""

from collections import Counter
from collections.abc import Iterator
from typing import Final

from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.resources import processes_of
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.vocabulary.names import jdf

_ONCE: Final = ("AncestorPool", "AuditPool", "ResourceLinkPool", "ResourcePool", "StatusPool")
_ONE_RESOURCE: Final = ("CustomerInfo", "NodeInfo")
"""Directly in the node up to JDF 1.2, by a link since; one of them in all."""

_Broken = tuple[str, Element, str | None, dict[str, type_of_fact]]
"""Code, element, attribute, facts."""


def check_nodes(root: Element, file: str) -> Iterator[Finding]:
    """Findings about the JDF nodes of a document.

    Args:
        root: Root of the document.
        file: Its name, for findings.
    """
    paths = Paths()
    for node in root.iter(jdf("JDF")):
        for code, element, attribute, facts in (*_types(node), *_indices(node), *_repeated(node)):
            place = Place(file, element.sourceline, path=paths.of(element, attribute))
            yield Finding(code, place, facts)


def _types(node: Element) -> Iterator[_Broken]:
    if node.get("Type") == "Combined" and not processes_of(node):
        yield "ticket.types-missing", node, "Types", {}


def _indices(node: Element) -> Iterator[_Broken]:
    """A process index is a position in ``Types``; a group without Types leaves that to its nodes."""
    count = len(processes_of(node))
    for pool in node.iterchildren(jdf("ResourceLinkPool")) if count else ():
        for link in pool.iterchildren(jdf("*")):
            said = link.get("CombinedProcessIndex", "")
            beyond = [word for word in said.split() if word.isdecimal() and int(word[:9]) >= count]
            if beyond:
                name = local_name(link)
                facts: dict[str, type_of_fact] = {"element": name, "found": beyond[0][:9], "count": count}
                yield "ticket.process-index-beyond", link, "CombinedProcessIndex", facts


def _repeated(node: Element) -> Iterator[_Broken]:
    children = Counter(child.tag for child in node.iterchildren(*map(jdf, _ONCE + _ONE_RESOURCE)))
    linked: dict[str, dict[str, None]] = {jdf(name): {} for name in _ONE_RESOURCE}
    for pool in node.iterchildren(jdf("ResourceLinkPool")):
        for name in _ONE_RESOURCE:
            for link in pool.iterchildren(jdf(f"{name}Link")):
                linked[jdf(name)][link.get("rRef", "")] = None
    for tag in map(jdf, _ONCE + _ONE_RESOURCE):
        count = children[tag] + len(linked.get(tag, ()))
        if count > 1:
            yield "ticket.element-twice", node, None, {"element": local_name(tag), "count": count}
