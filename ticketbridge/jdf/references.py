"""IDs and what points at them. libxml2 looks up neither, so it is done here, once over the document."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from functools import cached_property, lru_cache
from typing import Final

from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.vocabulary.names import jdf

_POOL: Final = jdf("ResourcePool")
_LINK_POOL: Final = jdf("ResourceLinkPool")
_NO_XML_ID: Final = jdf("StripMark")
"""The one element of the standard whose ID is not of type ID and need not be unique."""


def check_references(root: Element, elements: Sequence[Element], file: str) -> Iterator[Finding]:
    """Duplicate IDs; references to nowhere, to the wrong kind, out of sight, or in a circle.

    Args:
        root: Root of the document.
        elements: Its elements in the JDF namespace, in order.
        file: Its name, for findings.
    """
    return _References(root, elements, file).findings()


class _References:
    def __init__(self, root: Element, elements: Sequence[Element], file: str) -> None:
        self._root = root
        self._file = file
        self._paths = Paths()
        self._elements: dict[str, Element] = {}
        self._twice: list[Element] = []
        self._references: list[tuple[Element, str, str]] = []
        self._owners: dict[Element, Element | None] = {}
        self._collect(elements)

    def _collect(self, elements: Sequence[Element]) -> None:
        for element in elements:
            identity = element.get("ID")
            if identity is not None and self._elements.setdefault(identity, element) is not element:
                self._twice.append(element)
            reference = element.get("rRef")
            if reference is not None:
                self._references.append((element, "rRef", reference))
            references = element.get("rRefs")
            if references is not None:
                self._references += [(element, "rRefs", one) for one in references.split()]

    def findings(self) -> Iterator[Finding]:
        for element in self._twice:
            if element.tag != _NO_XML_ID:
                identity = element.get("ID") or ""
                first_line = self._elements[identity].sourceline
                yield self._finding("ticket.id-twice", element, "ID", id=identity, first_line=first_line)
        for element, attribute, identity in self._references:
            target = self._elements.get(identity)
            if target is not None:
                yield from self._check(element, attribute, target)
            elif identity not in self._foreign:
                yield self._finding("ticket.reference-dangling", element, attribute, id=identity)
        yield from self._loops()

    def _check(self, element: Element, attribute: str, target: Element) -> Iterator[Finding]:
        expected = _expected_tag(str(element.tag)) if attribute == "rRef" else None
        if expected is not None and target.tag != expected:
            facts = {"found": local_name(target), "expected": local_name(expected)}
            yield self._finding(
                "ticket.reference-wrong-kind", element, attribute, id=target.get("ID"), **facts
            )
        elif not self._in_sight(element, target):
            yield self._finding("ticket.reference-out-of-sight", element, attribute, id=target.get("ID"))

    def _in_sight(self, element: Element, target: Element) -> bool:
        """Whether a link's node sees the pool that the target lies in: its own, or that of a node around it."""
        link_pool = element.getparent()
        if link_pool is None or link_pool.tag != _LINK_POOL:
            return True
        if target not in self._owners:
            self._owners[target] = _owner_of(target)
        owner, node = self._owners[target], link_pool.getparent()
        while owner is not None and node is not owner:
            if node is None:
                return False
            node = node.getparent()
        return True

    @cached_property
    def _foreign(self) -> frozenset[str | None]:
        """IDs of resources in other namespaces; those are their owners' business."""
        return frozenset(element.get("ID") for element in self._root.iter("*"))

    def _loops(self) -> Iterator[Finding]:
        leads_to: dict[Element, list[Element]] = defaultdict(list)
        for element, _, identity in self._references:
            target, parent = self._elements.get(identity), element.getparent()
            if target is None or parent is None or parent.tag == _LINK_POOL:
                continue
            holder, held = _resource_of(element), _resource_of(target)
            if holder is not None and held is not None:
                leads_to[holder].append(held)
        loop = _first_circle(leads_to)
        if loop:
            way = ", ".join(f"{local_name(one)} {one.get('ID')}" for one in loop[:10])
            yield self._finding("ticket.reference-loop", loop[0], "ID", id=loop[0].get("ID"), way=way)

    def _finding(self, code: str, element: Element, attribute: str, **facts: type_of_fact) -> Finding:
        place = Place(self._file, element.sourceline, path=self._paths.of(element, attribute))
        return Finding(code, place, {"element": local_name(element)} | facts)


@lru_cache(maxsize=2000)  # a ticket may hold elements of any name
def _expected_tag(tag: str) -> str | None:
    """What a link or a reference must point at, by its name; None where its name says nothing."""
    name = local_name(tag)
    for ending in ("Link", "Ref"):
        if name.endswith(ending) and name != "TestRef":
            return jdf(name.removesuffix(ending))
    return None


def _owner_of(target: Element) -> Element | None:
    """The node in whose pool a resource lies, or that which it is part of."""
    resource = _resource_of(target)
    pool = None if resource is None else resource.getparent()
    return None if pool is None else pool.getparent()


def _resource_of(element: Element) -> Element | None:
    """The resource in a ResourcePool that an element is, or is part of."""
    here: Element | None = element
    while here is not None:
        parent = here.getparent()
        if parent is not None and parent.tag == _POOL:
            return here
        here = parent
    return None


def _first_circle(leads_to: dict[Element, list[Element]]) -> list[Element]:
    """A circle, if there is one: depth first, with a stack of our own and a set of what was seen."""
    done: set[Element] = set()
    for start in list(leads_to):
        way: dict[Element, None] = {}
        stack: list[tuple[Element, bool]] = [(start, True)]
        while stack:
            here, arriving = stack.pop()
            if not arriving:
                way.popitem()
                done.add(here)
            elif here in way:
                nodes = list(way)
                return nodes[nodes.index(here) :]
            elif here not in done:
                way[here] = None
                stack.append((here, False))
                stack += [(one, True) for one in leads_to.get(here, ())]
    return []
