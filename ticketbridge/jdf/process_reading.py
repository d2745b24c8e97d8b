"""One printing node being read: its resources as its links mean them, parts and inheritance included."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from ticketbridge.jdf.partitions import Chosen, Keys
from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.reading import ItemReading
from ticketbridge.jdf.resources import serves
from ticketbridge.jdf.spans import Said
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place

_NOT_FOR_THE_PIECE: Final = ("Marks", "Proof")
"""``ProcessUsage`` of inputs that are not the piece's own."""

_NOT_GOOD: Final = ("Waste", "Proof")
"""``ProcessUsage`` of outputs that are no pieces for the customer."""


@dataclass(slots=True)
class ProcessReading(ItemReading):
    """One printing node being read."""

    _chosen: dict[tuple[str, str | None], Chosen | None] = field(default_factory=dict)

    def chosen(self, name: str, process: str | None = None) -> Chosen | None:
        """The first resource of that name that a process of the node takes, in the parts that are meant."""
        key = (name, process)
        if key not in self._chosen:
            self._chosen[key] = next(self.inputs(name, process), None)
        return self._chosen[key]

    def inputs(self, name: str, process: str | None = None) -> Iterator[Chosen]:
        """All resources of that name that a process takes: the linked ones, else one that needs no link.

        Args:
            name: Of the resource.
            process: One of the node's; None for any of them.
        """
        linked = list(self.linked(name, process))
        yield from linked
        resources = self.reading.resources
        if not linked and (resource := resources.used_without_link(self.node, name)) is not None:
            yield from self._found(resource, resource, resources.parts(resource))

    def linked(self, name: str, process: str | None = None) -> Iterator[Chosen]:
        """All resources of that name that the node's own links give a process."""
        resources = self.reading.resources
        for link in resources.links(self.node, name, "Input"):
            target = resources.target(link, name)
            ours = process is None or serves(link, self.node, process)
            if target is not None and ours and link.get("ProcessUsage") not in _NOT_FOR_THE_PIECE:
                yield from self._found(link, target, resources.parts(link))

    def held(self, element: Element | None, name: str) -> Iterator[Chosen]:
        """What an element holds under that name, nested or by reference, in the parts that are meant."""
        if element is not None:
            for target, parts in self.reading.resources.inside_with_parts(element, name):
                yield from self._found(element, target, parts)

    def outputs(self) -> list[tuple[Element, Chosen]]:
        """Links to the good pieces that come out, with what they point at."""
        resources = self.reading.resources
        found = []
        for link in resources.links(self.node, "Component", "Output"):
            target = resources.target(link, "Component")
            if target is not None and link.get("ProcessUsage") not in _NOT_GOOD:
                parts = resources.parts(link) or [{"Condition": "Good"}]
                chosen = self._choose(target, parts) or self._choose(target, [])
                if chosen is not None:
                    found.append((link, chosen))
        return found

    def take(self, name: str, source: Said | None) -> None:
        """Keep a text as it stands, where there is one."""
        if source is not None and source.raw.strip():
            self.add(name, source.raw.strip(), source)

    def _found(self, near: Element, target: Element, parts: Sequence[Keys]) -> Iterator[Chosen]:
        chosen = self._choose(target, parts)
        if chosen is not None:
            yield chosen
            return
        reading = self.reading
        place = Place(reading.file, near.sourceline, path=reading.paths.of(near))
        asked = ", ".join(f"{name} {value}" for part in parts for name, value in part.items())
        facts = {"element": local_name(target), "id": target.get("ID"), "part": asked}
        finding = Finding("ticket.part-not-there", place, facts)
        if finding not in reading.findings:  # one link may be followed for several values
            reading.findings.append(finding)

    def _choose(self, target: Element, parts: Sequence[Keys]) -> Chosen | None:
        return self.reading.resources.choices.choose(target, parts)
