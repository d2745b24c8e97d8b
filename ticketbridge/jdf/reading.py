"""What reading a ticket collects: values with their places, and findings."""

from dataclasses import dataclass, field

from ticketbridge.jdf.explain import shown
from ticketbridge.jdf.paths import Paths
from ticketbridge.jdf.resources import Resources
from ticketbridge.jdf.spans import Said, Unreadable
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.ticket import Read, Value


@dataclass(slots=True)
class Reading:
    """One ticket being read.

    Attributes:
        file: Its name, for findings.
        root: Its root node.
        resources: Its resources.
        paths: XPaths of its elements.
        findings: What was found so far.
    """

    file: str
    root: Element
    resources: Resources = field(init=False)
    paths: Paths = field(default_factory=Paths)
    findings: list[Finding] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.resources = Resources(self.root)

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

    def find_unreadable(self, source: Said, what: str, error: Unreadable) -> None:
        """Add the finding that a text is not of the form its place asks for."""
        self.find("ticket.value-unreadable", source, what, allowed=error.allowed)

    def find_missing(self, what: str, near: Element, path: str) -> None:
        """Add the finding that a value is missing, with the XPath where it should be."""
        place = Place(self.file, near.sourceline, path=path)
        self.findings.append(Finding("ticket.value-missing", place, {"what": what, "path": path}))


def said_by(element: Element | None, attribute: str) -> Said | None:
    """An attribute's text, where there is one that is not empty."""
    raw = None if element is None else element.get(attribute)
    return None if element is None or not raw else Said(raw, element, attribute)
