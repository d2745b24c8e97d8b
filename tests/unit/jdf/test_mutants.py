"""For every attribute that a ticket may carry into the bridge: what happens when it is wrong or missing.

The tables come from our own schema and from the golden tickets that hold every value we read, so an attribute
added to either is tested without anybody remembering to.
"""

from copy import deepcopy

import pytest

from tests.unit.jdf.tickets import GOLDEN, GOLDEN_PROCESS, codes, root_of
from ticketbridge.jdf.check import check
from ticketbridge.jdf.kinds import kind_of_root
from ticketbridge.jdf.paths import Paths
from ticketbridge.jdf.prune import prune
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import refuses

COMPLETE = root_of((GOLDEN / "complete-1.9.jdf").read_bytes())
TICKETS = {
    "intent": COMPLETE,
    **{
        path.stem: root_of(path.read_bytes())
        for name in (
            "complete-1.9",
            "inline-media-1.1",
            "parts-by-location-1.2",
            "spawned-part-1.5",
            "tree-1.7",
        )
        for path in [GOLDEN_PROCESS / f"{name}.jdf"]
    },
}
"""Tickets by name; between them they have every form that is read."""


WRONG = {
    "Boolean": ["1", "yes", ""],
    "ComponentKinds": ["Banner", "FinalProduct, Sheet"],
    "Count": ["-1", "1.5", "many", ""],
    "Counts": ["-1", "1.5", "first"],
    "DateTime": ["9 March", "2026-03-09", "2026-13-09T12:00:00Z"],
    "Identity": ["1st", "two words", "", "x" * 64],
    "LongString": ["x" * 256],
    "Name": ["two words", "a,b", "x" * 64, ""],
    "Names": ["a, b", "a;b"],
    "NotNegative": ["-1", "1,5", "five", "INF", "NaN", ""],
    "Cmyk": ["0 0 0", "0 0 0 2", "0,1 0 0 0", ""],
    "PartIDKeys": ["Colour"],
    "PositivePair": ["600", "0 600", "600x600", "-600 600", ""],
    "Positive": ["0", "-1", "0,5", "thick", "INF", "NaN", ""],
    "Priority": ["-1", "101", "50.5", "high", ""],
    "Rectangle": ["0 0 100", "0 0 100 INF", "0,0,100,100", ""],
    "Ranges": ["450 - 560", "450~560", "a ~ b", "-5 ~ 5"],
    "Shape": ["100 100", "100 100 0 0", "-1 100 0", "100x100", "NaN 1 0", ""],
    "ShortString": ["x" * 64],
    "Size": ["100", "100 100 100", "-1 100", "100x100", ""],
    "SourceObjects": ["Everything"],
    "String": ["x" * 1024],
    "Url": ["", " ", "x" * 4096],
    "Version": ["1.10", "2.0", ""],
    "WholeRanges": ["first", "0 - 3", "1.5", ""],
    "xs:language": ["a_b", "toolonglanguage"],
}
"""Values that a type must not take; a closed list takes no invented word."""

INVENTED = ["NoSuchWord", "two words", "", "1"]


def wrong_values() -> list[tuple[str, str, str, str, str]]:
    found = []
    seen: set[tuple[str, str]] = set()
    for ticket, root in TICKETS.items():
        paths = Paths()
        for element, kind in prune(root, kind_of_root("JDF")).elements:
            for name in map(str, element.attrib):
                if name in kind.fixed or (kind.name, name) in seen:
                    continue
                seen.add((kind.name, name))
                type_name = kind.attributes[name]
                values = WRONG.get(type_name, INVENTED)
                found += [(ticket, paths.of(element), name, type_name, value) for value in values]
    return found


def must_be_there() -> list[tuple[str, str, str]]:
    found = {}
    for ticket, root in TICKETS.items():
        paths = Paths()
        for element, kind in prune(root, kind_of_root("JDF")).elements:
            for name in kind.required:
                found.setdefault((kind.name, name), (ticket, paths.of(element), name))
    return list(found.values())


def mutant(ticket: str, path: str, name: str, value: str | None) -> Element:
    """A golden ticket with one attribute changed, or without it."""
    root = deepcopy(TICKETS[ticket])
    paths = Paths()
    (element,) = [one for one in root.iter("*") if paths.of(one) == path]
    if value is None:
        del element.attrib[name]
    else:
        element.set(name, value)
    return root


@pytest.mark.parametrize("ticket", TICKETS)
def test_the_golden_ticket_itself_is_right(ticket: str) -> None:
    assert check(TICKETS[ticket], "t.jdf") == []


@pytest.mark.parametrize(("ticket", "path", "name", "type_name", "value"), wrong_values())
def test_a_wrong_value_is_refused_at_its_place(
    ticket: str, path: str, name: str, type_name: str, value: str
) -> None:
    findings = check(mutant(ticket, path, name, value), "t.jdf")
    refused = [finding.place.path for finding in findings if finding.code == "ticket.attribute-wrong"]
    assert refused == [f"{path}/@{name}"], type_name


@pytest.mark.parametrize(("ticket", "path", "name", "type_name", "value"), wrong_values())
def test_reading_a_wrong_value_crashes_nothing(
    ticket: str, path: str, name: str, type_name: str, value: str
) -> None:
    read, findings = read_ticket(mutant(ticket, path, name, value), "t.jdf")
    assert read.items or refuses(findings)


@pytest.mark.parametrize(("ticket", "path", "name"), must_be_there())
def test_a_missing_attribute_is_refused_at_its_place(ticket: str, path: str, name: str) -> None:
    findings = check(mutant(ticket, path, name, None), "t.jdf")
    missing = [finding.place.path for finding in findings if finding.code == "ticket.attribute-missing"]
    assert missing == [f"{path}/@{name}"]


@pytest.mark.parametrize(
    ("ticket", "path", "name"), [row for row in must_be_there() if row[2] in ("Class", "DataType")]
)
def test_another_class_or_data_type_is_refused_at_its_place(ticket: str, path: str, name: str) -> None:
    findings = check(mutant(ticket, path, name, "Other"), "t.jdf")
    assert [finding.place.path for finding in findings] == [f"{path}/@{name}"]


@pytest.mark.parametrize(
    ("ticket", "path", "name", "where"),
    [
        ("intent", "/JDF", "JobID", "/JDF/@JobID"),
        (
            "intent",
            "/JDF/ResourcePool/LayoutIntent/FinishedDimensions",
            "Preferred",
            "/JDF/ResourcePool/LayoutIntent/FinishedDimensions/@Preferred",
        ),
        ("complete-1.9", "/JDF", "JobID", "/JDF/@JobID"),
        (
            "inline-media-1.1",
            "/JDF/ResourcePool/Component",
            "Dimensions",
            "/JDF/ResourcePool/Component/@Dimensions",
        ),
        (
            "complete-1.9",
            "/JDF/ResourceLinkPool/ComponentLink",
            "Amount",
            "/JDF/ResourceLinkPool/ComponentLink/@Amount",
        ),
    ],
)
def test_what_an_order_needs_is_asked_for_by_its_place(ticket: str, path: str, name: str, where: str) -> None:
    _, findings = read_ticket(mutant(ticket, path, name, None), "t.jdf")
    assert codes(findings) == ["ticket.value-missing"]
    assert refuses(findings)
    assert (findings[0].place.path, findings[0].facts["path"]) == (where, where)
