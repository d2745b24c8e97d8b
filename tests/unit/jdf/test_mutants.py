"""For every attribute that a ticket may carry into the bridge: what happens when it is wrong or missing.

The tables come from our own schema and from the golden ticket that holds every value we read, so an attribute
added to either is tested without anybody remembering to.
"""

from copy import deepcopy

import pytest

from tests.unit.jdf.tickets import GOLDEN, codes, root_of
from ticketbridge.jdf.check import check
from ticketbridge.jdf.kinds import kind_of_root
from ticketbridge.jdf.paths import Paths
from ticketbridge.jdf.prune import prune
from ticketbridge.jdf.read_intent import read_ticket
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import refuses

COMPLETE = root_of((GOLDEN / "complete-1.9.jdf").read_bytes())
ELEMENTS = prune(COMPLETE, kind_of_root("JDF")).elements

WRONG = {
    "Boolean": ["1", "yes", ""],
    "ComponentKinds": ["Banner", "FinalProduct, Sheet"],
    "Count": ["-1", "1.5", "many", ""],
    "DateTime": ["9 March", "2026-03-09", "2026-13-09T12:00:00Z"],
    "Identity": ["1st", "two words", "", "x" * 64],
    "LongString": ["x" * 256],
    "Name": ["two words", "a,b", "x" * 64, ""],
    "Names": ["a, b", "a;b"],
    "NotNegative": ["-1", "1,5", "five", "INF", "NaN", ""],
    "PartIDKeys": ["Colour"],
    "Positive": ["0", "-1", "0,5", "thick", "INF", "NaN", ""],
    "Priority": ["-1", "101", "50.5", "high", ""],
    "Ranges": ["450 - 560", "450~560", "a ~ b", "-5 ~ 5"],
    "Shape": ["100 100", "100 100 0 0", "-1 100 0", "100x100", "NaN 1 0", ""],
    "ShortString": ["x" * 64],
    "String": ["x" * 1024],
    "Url": ["", " ", "x" * 4096],
    "Version": ["1.10", "2.0", ""],
    "WholeRanges": ["first", "0 - 3", "1.5", ""],
    "xs:language": ["a_b", "toolonglanguage"],
}
"""Values that a type must not take; a closed list takes no invented word."""

INVENTED = ["NoSuchWord", "two words", "", "1"]


def wrong_values() -> list[tuple[str, str, str, str]]:
    paths = Paths()
    return [
        (paths.of(element), name, kind.attributes[name], value)
        for element, kind in ELEMENTS
        for name in map(str, element.attrib)
        if name not in kind.fixed
        for value in WRONG.get(kind.attributes[name], INVENTED)
    ]


def must_be_there() -> list[tuple[str, str]]:
    paths = Paths()
    return [(paths.of(element), name) for element, kind in ELEMENTS for name in kind.required]


def mutant(path: str, name: str, value: str | None) -> Element:
    """The golden ticket with one attribute changed, or without it."""
    root = deepcopy(COMPLETE)
    paths = Paths()
    (element,) = [one for one in root.iter("*") if paths.of(one) == path]
    if value is None:
        del element.attrib[name]
    else:
        element.set(name, value)
    return root


def test_the_golden_ticket_itself_is_right() -> None:
    assert check(COMPLETE, "t.jdf") == []


@pytest.mark.parametrize(("path", "name", "type_name", "value"), wrong_values())
def test_a_wrong_value_is_refused_at_its_place(path: str, name: str, type_name: str, value: str) -> None:
    findings = check(mutant(path, name, value), "t.jdf")
    refused = [finding.place.path for finding in findings if finding.code == "ticket.attribute-wrong"]
    assert refused == [f"{path}/@{name}"], type_name


@pytest.mark.parametrize(("path", "name", "type_name", "value"), wrong_values())
def test_reading_a_wrong_value_crashes_nothing(path: str, name: str, type_name: str, value: str) -> None:
    ticket, _ = read_ticket(mutant(path, name, value), "t.jdf")
    assert ticket.comments or name == "Type"


@pytest.mark.parametrize(("path", "name"), must_be_there())
def test_a_missing_attribute_is_refused_at_its_place(path: str, name: str) -> None:
    findings = check(mutant(path, name, None), "t.jdf")
    missing = [finding.place.path for finding in findings if finding.code == "ticket.attribute-missing"]
    assert missing == [f"{path}/@{name}"]


@pytest.mark.parametrize(
    ("path", "name"), [(path, name) for path, name in must_be_there() if name in ("Class", "DataType")]
)
def test_another_class_or_data_type_is_refused_at_its_place(path: str, name: str) -> None:
    findings = check(mutant(path, name, "Other"), "t.jdf")
    assert [finding.place.path for finding in findings] == [f"{path}/@{name}"]


@pytest.mark.parametrize(
    ("path", "name", "where"),
    [
        ("/JDF", "JobID", "/JDF/@JobID"),
        (
            "/JDF/ResourcePool/LayoutIntent/FinishedDimensions",
            "Preferred",
            "/JDF/ResourcePool/LayoutIntent/FinishedDimensions/@Preferred",
        ),
    ],
)
def test_what_an_order_needs_is_asked_for_by_its_place(path: str, name: str, where: str) -> None:
    _, findings = read_ticket(mutant(path, name, None), "t.jdf")
    assert codes(findings) == ["ticket.value-missing"]
    assert refuses(findings)
    assert (findings[0].place.path, findings[0].facts["path"]) == (where, where)
