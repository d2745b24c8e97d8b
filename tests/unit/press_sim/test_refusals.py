"""Tickets that the press cannot print: set aside, told, given back."""

import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from tests.unit.press_sim.conftest import TurnedClock, work_until_idle
from tests.unit.press_sim.tickets import Bench, Job, Piece, ticket, ticket_root
from ticketbridge.press_sim.ticket import read_ticket
from ticketbridge.press_sim.values import Unprintable
from ticketbridge.vocabulary.names import jdf, own

Work = Callable[..., None]


def without(path: str) -> etree._Element:
    root = ticket_root(Job())
    for element in root.iterfind(path):
        element.getparent().remove(element)
    return root


def changed(path: str, **attributes: str) -> etree._Element:
    root = ticket_root(Job())
    for name, value in attributes.items():
        root.find(path).set(name, value)
    return root


CONTENT = f".//{jdf('ContentObject')}"
MODE = f".//{own('PrintMode')}"

UNPRINTABLE = {
    "The ticket has no Layout.": without(f".//{jdf('LayoutLink')}"),
    "The Layout has no ContentObject.": ticket_root(Job(pieces=[])),
    "The ticket is for device HL-P9-Z; this is HL-P1-A.": ticket_root(Job(device_id="HL-P9-Z")),
    "The ticket is JDF 1.8; this press reads up to 1.7.": ticket_root(Job(version="1.8")),
    "The ticket's Version 'new' is no JDF version.": ticket_root(Job(version="new")),
    "The node has no DigitalPrinting step.": changed(".", Types="Interpreting Rendering"),
    "JDF has no JobID.": changed(".", JobID=""),
    "The ticket has no Media.": without(f".//{jdf('MediaLink')}"),
    "The ticket has no RunList.": without(f".//{jdf('RunListLink')}"),
    "RunList names no file.": without(f".//{jdf('LayoutElement')}"),
    "DigitalPrintingParams has no PrintMode.": without(MODE),
    "PrintMode@Passes must be a whole number from 1 to 64, not 0.": changed(MODE, Passes="0"),
    "PrintMode@Passes must be a number, not 'INF'.": changed(MODE, Passes="INF"),
    "PrintMode@Direction must be OneWay or BothWays, not Upwards.": changed(MODE, Direction="Upwards"),
    "PrintMode@LayerStack may hold up to 8 of Color, White, Clear, not 'Silver'.": changed(
        MODE, LayerStack="Silver"
    ),
    "Layout@LeaderLength is negative.": ticket_root(Job(leader_mm=-1)),
    "ContentObject@CTM must be 6 numbers, not '1 0 0 1'.": changed(CONTENT, CTM="1 0 0 1"),
    "ContentObject 0 prints nothing: its box is empty.": changed(CONTENT, ClipBox="9000 0 9001 1"),
    "The image is 1700.0 mm wide and the roll 1600.0 mm.": ticket_root(Job(pieces=[Piece(0, 0, 1700, 100)])),
    "A ContentObject lies before the start of the surface.": ticket_root(
        Job(pieces=[Piece(0, -50, 100, 100)])
    ),
    "The image is longer than 1000 m; no roll is.": ticket_root(Job(pieces=[Piece(0, 0, 100, 1.1e6)])),
    "ContentObject@Ord must be a whole number from 0 to 1, not 2.": ticket_root(
        Job(pieces=[Piece(0, 0, 700, 900, tile=2)], panel_widths_mm=[700, 700])
    ),
    "The root element is JMF, not a JDF of version 1.1 or later.": etree.Element(jdf("JMF")),
    "The root element is JDF, not a JDF of version 1.1 or later.": etree.Element("JDF"),
}  # fmt: skip


@pytest.mark.parametrize("reason", UNPRINTABLE)
def test_a_ticket_that_cannot_be_printed_is_refused_by_its_reason(reason: str) -> None:
    with pytest.raises(Unprintable) as problem:
        read_ticket(UNPRINTABLE[reason], "HL-P1-A", (1, 7))
    assert str(problem.value) == reason


def test_a_ticket_that_names_no_device_is_for_whoever_takes_it() -> None:
    assert read_ticket(ticket_root(Job(device_id=None)), "HL-P1-A", (1, 7)).job_id == "HL-24117"


@pytest.mark.parametrize("version", ["1.1", "1.6", "1.7"])
def test_an_older_version_is_no_obstacle(version: str) -> None:
    assert read_ticket(ticket_root(Job(version=version)), "HL-P1-A", (1, 7)).job_id == "HL-24117"


def test_a_refused_ticket_is_set_aside_with_its_reason(bench: Bench, work: Work) -> None:
    content = ticket(Job(device_id="HL-P9-Z"))
    bench.deliver(content)
    work()
    aside = bench.folder / "state/set-aside"
    assert (aside / "HL-P1-00000001.jdf").read_bytes() == content
    assert "is for device HL-P9-Z" in (aside / "HL-P1-00000001.txt").read_text()
    assert bench.log() == []


def test_a_refused_ticket_is_told_as_an_error(bench: Bench, work: Work) -> None:
    bench.deliver(Job(version="1.8"))
    work()
    [signal] = bench.signals()
    notification = signal.find(jdf("Notification"))
    assert signal.get("Type") == "Notification"
    assert notification.get("Class") == "Error"
    assert (notification.get("JobID"), notification.get("JobPartID")) == ("HL-24117", "1.print")
    assert notification.find(jdf("Comment")).text == "The ticket is JDF 1.8; this press reads up to 1.7."
    assert notification.find(jdf("Event")).get("EventID") == "TicketRefused"


def test_a_refused_ticket_comes_back_aborted(bench: Bench, work: Work) -> None:
    bench.deliver(Job(version="1.8"))
    work()
    [root] = bench.returned()
    assert root.get("Status") == "Aborted"
    assert root.get("Version") == "1.8"
    audits = [element.tag.split("}")[1] for element in root.find(jdf("AuditPool"))]
    assert audits == ["Created", "Notification", "Modified", "ProcessRun"]
    assert root.find(f".//{jdf('ProcessRun')}").get("EndStatus") == "Aborted"


@pytest.mark.parametrize(
    "content",
    [b"", b"not XML", b"<JDF", b"\x00\x01", '<JDF a="\udcff"/>'.encode("utf-8", "surrogatepass")],
    ids=["empty", "text", "half", "binary", "no UTF-8"],
)
def test_what_is_not_xml_is_told_and_set_aside_but_cannot_come_back(
    bench: Bench, work: Work, content: bytes
) -> None:
    bench.deliver(content)
    work()
    assert [signal.get("Type") for signal in bench.signals()] == ["Notification"]
    assert bench.returned() == []
    assert (bench.folder / "state/set-aside/HL-P1-00000001.jdf").read_bytes() == content


def test_another_xml_document_cannot_come_back_either(bench: Bench, work: Work) -> None:
    bench.deliver(b"<order/>")
    work()
    assert [signal.get("Type") for signal in bench.signals()] == ["Notification"]
    assert bench.returned() == []


def test_a_refusal_stops_nothing_else(bench: Bench, work: Work) -> None:
    bench.deliver(b"not XML", name="1.jdf")
    bench.deliver(Job(), name="2.jdf")
    work()
    assert len(bench.log()) == 2


STRANGE = st.sampled_from(
    ["", " ", "-1", "1e308", "-1e308", "NaN", "INF", "1.\u00b2", "0 0 0 0", "1 0 0 1 0 0", "nobody"]
)


@settings(deadline=None)
@given(data=st.data())
def test_whatever_an_attribute_says_the_ticket_is_printed_or_refused_and_the_next_one_printed(
    data: st.DataObject,
) -> None:
    job = data.draw(
        st.sampled_from([Job(), Job(pieces=[Piece(0, 0, 700, 900, tile=0)], panel_widths_mm=[700])])
    )
    root = ticket_root(job)
    element = data.draw(st.sampled_from([e for e in root.iter(etree.Element) if e.attrib]))
    name = data.draw(st.sampled_from(sorted(element.attrib)))
    element.set(name, data.draw(STRANGE | st.text(st.characters(codec="utf-8", min_codepoint=32))))
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        bench.deliver(etree.tostring(root), name="1.jdf")
        bench.deliver(Job(job_id="next"), name="2.jdf")
        work_until_idle(bench, TurnedClock(), clock_factor=0, until_idle_s=0.1)
        assert [entry["job_id"] for entry in bench.log()].count("next") >= 2
        assert len(bench.files("returned")) == 2


def test_a_reason_with_strange_letters_still_makes_a_proper_message(
    bench: Bench, work: Work, problems: Callable[[Path], list[str]]
) -> None:
    bench.deliver(replace(Job(), direction="\u202eOneWay\u0085" + "x" * 5000))
    work()
    [message] = bench.files("status")
    assert problems(message) == []
