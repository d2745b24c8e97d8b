"""Finding a ticket's resources: by link, by reference, nested, and in the places older versions had for them."""

from collections.abc import Iterator
from typing import Final

from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf

_POOL: Final = jdf("ResourcePool")
_LINK_POOL: Final = jdf("ResourceLinkPool")


class Resources:
    """All resources of one ticket.

    Args:
        root: Its root node.
    """

    def __init__(self, root: Element) -> None:
        self._by_id: dict[str, Element] = {}
        self._links: dict[tuple[Element | None, str], list[Element]] = {}
        self._linked: set[str] = set()
        for element in root.iter(jdf("*")):
            identity = element.get("ID")
            if identity is not None:
                self._by_id.setdefault(identity, element)
            if element.get("Usage") is not None:
                self._add_link(element)

    def _add_link(self, link: Element) -> None:
        self._linked.add(link.get("rRef", ""))
        pool = link.getparent()
        if pool is not None and pool.tag == _LINK_POOL:
            self._links.setdefault((pool.getparent(), str(link.tag)), []).append(link)

    def links(self, node: Element, name: str, usage: str) -> list[Element]:
        """The links of a node to resources of that name, in order."""
        links = self._links.get((node, jdf(f"{name}Link")), [])
        return [link for link in links if link.get("Usage") == usage]

    def used(self, node: Element, name: str) -> Element | None:
        """The resource of that name that a node takes as input.

        First by the node's link. Then as JDF 1.2 wrote NodeInfo and CustomerInfo: directly in the node. Then,
        for writers that forget links, in the node's own pool, unless a link of any node claims it.
        """
        for link in self.links(node, name, "Input"):
            target = self.target(link, name)
            if target is not None:
                return target
        direct = node.find(jdf(name))
        if direct is not None:
            return direct
        for resource in node.iterfind(f"{_POOL}/{jdf(name)}"):
            if resource.get("ID") not in self._linked:
                return resource
        return None

    def inside(self, element: Element, name: str) -> Iterator[Element]:
        """What an element holds under that name, nested or by reference, in order."""
        nested, by_reference = jdf(name), jdf(f"{name}Ref")
        for child in element.iterchildren(nested, by_reference):
            if child.tag == nested:
                yield child
            else:
                target = self.target(child, name)
                if target is not None:
                    yield target

    def target(self, reference: Element, name: str) -> Element | None:
        """What a link or a reference points at, where it is of that name."""
        target = self._by_id.get(reference.get("rRef", ""))
        return target if target is not None and target.tag == jdf(name) else None
