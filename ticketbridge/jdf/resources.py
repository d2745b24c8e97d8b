"""Finding a ticket's resources: by link, by reference, nested, and in the places older versions had for them."""

from collections.abc import Iterator
from typing import Final

from ticketbridge.jdf.partitions import Choices, Keys, keys_of
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf

_POOL: Final = jdf("ResourcePool")
_LINK_POOL: Final = jdf("ResourceLinkPool")
_GROUPS: Final = ("Combined", "ProcessGroup")


class Resources:
    """All resources of one ticket.

    Args:
        root: Its root node.

    Attributes:
        choices: What its links and references mean of partitioned resources.
    """

    def __init__(self, root: Element) -> None:
        self.choices = Choices()
        self._by_id: dict[str, Element] = {}
        self._links: dict[tuple[Element | None, str], list[Element]] = {}
        self._linked: set[str] = set()
        self._spawned_parts = [
            keys_of(part) for part in root.iterfind(f"{jdf('AncestorPool')}/{jdf('Part')}")
        ]
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
        return self.used_without_link(node, name)

    def used_without_link(self, node: Element, name: str) -> Element | None:
        """The same for a node that has no link to such a resource."""
        direct = node.find(jdf(name))
        if direct is not None:
            return direct
        for resource in node.iterfind(f"{_POOL}/{jdf(name)}"):
            if resource.get("ID") not in self._linked:
                return resource
        return None

    def inside(self, element: Element, name: str) -> Iterator[Element]:
        """What an element holds under that name, nested or by reference, in order."""
        return (held for held, _ in self.inside_with_parts(element, name))

    def inside_with_parts(self, element: Element, name: str) -> Iterator[tuple[Element, list[Keys]]]:
        """The same, each with the parts of it that a reference asks for."""
        nested, by_reference = jdf(name), jdf(f"{name}Ref")
        for child in element.iterchildren(nested, by_reference):
            if child.tag == nested:
                yield child, []
            else:
                target = self.target(child, name)
                if target is not None:
                    yield target, self.parts(child)

    def target(self, reference: Element, name: str) -> Element | None:
        """What a link or a reference points at, where it is of that name."""
        target = self._by_id.get(reference.get("rRef", ""))
        return target if target is not None and target.tag == jdf(name) else None

    def parts(self, reference: Element) -> list[Keys]:
        """Which parts a link or a reference asks for: what it says, else what the whole ticket was spawned for."""
        said: list[Keys] = [keys_of(part) for part in reference.iterchildren(jdf("Part"))]
        return said or list(self._spawned_parts)


def processes_of(node: Element) -> list[str]:
    """The processes of a node: those of ``Types`` for a Combined node or a group, else its ``Type``."""
    kind = node.get("Type", "")
    return node.get("Types", "").split() if kind in _GROUPS else [kind]


def serves(link: Element, node: Element, process: str) -> bool:
    """Whether a link is for that process of its node; one without ``CombinedProcessIndex`` is for all of them."""
    indices = link.get("CombinedProcessIndex", "").split()
    processes = processes_of(node)
    return not indices or any(
        index.isdecimal() and int(index) < len(processes) and processes[int(index)] == process
        for index in indices
    )
