"""What reading a ticket collects: values with their places, and findings."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Final

from ticketbridge.jdf.explain import shown
from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.resources import Resources
from ticketbridge.jdf.spans import Said, Unreadable, said
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.ticket import Read, TicketItem, Value
from ticketbridge.vocabulary.names import jdf

_OF_THE_NODE: Final = {"node_id": "ID", "job_part_id": "JobPartID", "descriptive_name": "DescriptiveName"}


@dataclass(slots=True)
class Reading:
    """One ticket being read.

    Attributes:
        file: Its name, for findings.
        root: Its root node.
        resources: Its resources; looked for once, whatever is read.
        paths: XPaths of its elements.
        findings: What was found so far.
    """

    file: str
    root: Element
    resources: Resources
    paths: Paths = field(default_factory=Paths)
    findings: list[Finding] = field(default_factory=list)

    def read(self, value: Value, source: Said) -> Read:
        """A value with its origin."""
        return Read(value, source.raw, self.path(source), source.element.sourceline or 0)

    def path(self, source: Said) -> str:
        """XPath of a text."""
        return self.paths.of(source.element, source.attribute)

    def find(self, code: str, source: Said, what: str, **facts: type_of_fact) -> None:
        """Add a finding about a text in the ticket."""
        place = Place(self.file, source.element.sourceline, path=self.path(source))
        self.findings.append(Finding(code, place, {"what": what, "found": shown(source.raw)} | facts))

    def find_at(self, code: str, read: Read, what: str, **facts: type_of_fact) -> None:
        """Add a finding about a value that was read."""
        place = Place(self.file, read.line, path=read.path)
        self.findings.append(Finding(code, place, {"what": what, "found": shown(read.raw)} | facts))

    def find_unreadable(self, source: Said, what: str, error: Unreadable) -> None:
        """Add the finding that a text is not of the form its place asks for."""
        self.find("ticket.value-unreadable", source, what, allowed=error.allowed)

    def find_missing(self, what: str, near: Element, path: str) -> None:
        """Add the finding that a value is missing, with the XPath where it should be."""
        place = Place(self.file, near.sourceline, path=path)
        self.findings.append(Finding("ticket.value-missing", place, {"what": what, "path": path}))


@dataclass(slots=True)
class ItemReading:
    """One item being read.

    Attributes:
        reading: The ticket.
        node: The item's node.
        values: What was read so far.
    """

    reading: Reading
    node: Element
    values: dict[str, Read] = field(default_factory=dict)
    _intents: dict[str, Element | None] = field(default_factory=dict)

    def intent(self, name: str) -> Element | None:
        """The intent resource of that name which the item uses."""
        if name not in self._intents:
            self._intents[name] = self.reading.resources.used(self.node, name)
        return self._intents[name]

    def span(self, intent_name: str, span_name: str) -> Said | None:
        """What a span of an intent says."""
        intent = self.intent(intent_name)
        span = None if intent is None else next(intent.iterchildren(jdf(span_name)), None)
        return None if span is None else said(span)

    def add(self, name: str, value: Value, source: Said) -> None:
        """Keep a value of ``ITEM_FIELDS``."""
        self.values[name] = self.reading.read(value, source)


def read_items(
    reading: Reading, nodes: Iterable[Element], read: Callable[[Element], TicketItem]
) -> tuple[TicketItem, ...]:
    """The items of these nodes; what is found while one is read is noted as being about it alone."""
    items = []
    for index, node in enumerate(nodes):
        before = len(reading.findings)
        item = read(node)
        part = item.part_id(index)
        reading.findings[before:] = [finding.about_part(part) for finding in reading.findings[before:]]
        items.append(item)
    return tuple(items)


def said_by(element: Element | None, attribute: str) -> Said | None:
    """An attribute's text, where there is one that is not empty."""
    raw = None if element is None else element.get(attribute)
    return None if element is None or not raw else Said(raw, element, attribute)


def add_names(item: ItemReading) -> None:
    """Add what the item's node is called."""
    for name, attribute in _OF_THE_NODE.items():
        source = said_by(item.node, attribute)
        if source is not None:
            item.add(name, source.raw.strip(), source)


def add_own_words(
    item: ItemReading, name: str, element: Element | None, attribute: str, allowed: tuple[str, ...]
) -> None:
    """Add words of our own, from an attribute that no schema of the standard looks at."""
    source = said_by(element, attribute)
    if source is None:
        return
    words = source.raw.split()
    if words and set(words) <= set(allowed):
        item.add(name, " ".join(words), source)
    else:
        item.reading.find_unreadable(source, local_name(attribute), Unreadable(" or ".join(allowed)))
