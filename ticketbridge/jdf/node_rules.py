"""Rules about nodes that no schema can state: processes and their indices, and what a node has once."""

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Final

from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.resources import processes_of
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.vocabulary.names import jdf

_NODE: Final = jdf("JDF")
_LINK_POOL: Final = jdf("ResourceLinkPool")
_POOLS: Final = (*map(jdf, ("AncestorPool", "AuditPool", "ResourcePool", "StatusPool")), _LINK_POOL)
_ONE_RESOURCE: Final = {jdf(f"{name}Link"): jdf(name) for name in ("CustomerInfo", "NodeInfo")}
"""Directly in the node up to JDF 1.2, by a link since; one of them in all."""
_ONCE: Final = (*_POOLS, *_ONE_RESOURCE.values())

_Broken = tuple[str, Element, str | None, dict[str, type_of_fact]]
"""Code, element, attribute, facts."""


def check_nodes(elements: Iterable[Element], file: str) -> Iterator[Finding]:
    """Findings about the JDF nodes of a document.

    Args:
        elements: Its elements in the JDF namespace.
        file: Its name, for findings.
    """
    paths = Paths()
    for node in elements:
        if node.tag != _NODE:
            continue
        for code, element, attribute, facts in (*_types(node), *_indices(node), *_repeated(node)):
            place = Place(file, element.sourceline, path=paths.of(element, attribute))
            yield Finding(code, place, facts)


def _types(node: Element) -> Iterator[_Broken]:
    if node.get("Type") == "Combined" and not processes_of(node):
        yield "ticket.types-missing", node, "Types", {}


def _indices(node: Element) -> Iterator[_Broken]:
    """A process index is a position in ``Types``; a group without Types leaves that to its nodes."""
    count = len(processes_of(node))
    for link in _links_of(node) if count else ():
        said = link.get("CombinedProcessIndex", "")
        beyond = [word for word in said.split() if word.isdecimal() and int(word[:9]) >= count]
        if beyond:
            name = local_name(link)
            facts: dict[str, type_of_fact] = {"element": name, "found": beyond[0][:9], "count": count}
            yield "ticket.process-index-beyond", link, "CombinedProcessIndex", facts


def _repeated(node: Element) -> Iterator[_Broken]:
    count = Counter(child.tag for child in node if child.tag in _ONCE)
    linked = {(link.tag, link.get("rRef", "")) for link in _links_of(node) if link.tag in _ONE_RESOURCE}
    count.update(_ONE_RESOURCE[tag] for tag, _ in linked)
    for tag in _ONCE:
        if count[tag] > 1:
            yield "ticket.element-twice", node, None, {"element": local_name(tag), "count": count[tag]}


def _links_of(node: Element) -> Iterator[Element]:
    """Links in the namespace of JDF; what others hang there is their business."""
    return (link for pool in node.iterchildren(_LINK_POOL) for link in pool.iterchildren(jdf("*")))
