"""What is answered about resources, each answer judged by the official schema."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid, too_new
from tests.unit.daemon.http.office import Office, command, jmf, open_office, query
from tests.unit.flow.bench import BANNER
from ticketbridge.flow.press.following import PressFile, follow
from ticketbridge.model.job import press_part_id
from ticketbridge.vocabulary.names import jdf

LANE = "HL-P1-A"
ENTRY = {"QueueEntryID": "Q000001"}
ABORT = command(
    "AbortQueueEntry",
    '<AbortQueueEntryParams EndStatus="Aborted">'
    '<QueueFilter><QueueEntryDef QueueEntryID="Q000001"/></QueueFilter></AbortQueueEntryParams>',
    "a1",
)


@pytest.fixture
def office(tmp_path: Path, shared: Path) -> Iterator[Office]:
    with open_office(tmp_path / "shop", released=True) as office:
        yield office
    for body in office.said:
        path = tmp_path / "said.xml"
        path.write_bytes(body)
        root = etree.fromstring(body)
        assert invalid(shared, path) + too_new(shared, root, root.get("Version", "")) == []


def asked(office: Office, **params: str) -> list[dict[str, str]]:
    """The attributes of each ResourceInfo."""
    said = "".join(f' {name}="{value}"' for name, value in params.items())
    answer = office.post(jmf(query("Resource", f"<ResourceQuParams{said}/>"), device_id=LANE))
    return [dict(info.attrib) for info in answer.root.iter(jdf("ResourceInfo"))]


def press_says(office: Office, resource_infos: str, job: str = "", name: str = "r1") -> None:
    """A Resource signal of the lane, followed as a file of its."""
    signal = (
        f'<Signal xsi:type="SignalResource" ID="{name}" Type="Resource">'
        f'<ResourceQuParams ResourceName="Ink"{job}/>{resource_infos}</Signal>'
    )
    path = office.bench.lane(LANE).status / f"{name}.jmf"
    path.write_bytes(jmf(signal, sender="press-1"))
    file = PressFile(LANE, path, path.read_bytes(), lambda _: None)
    office.flow.do(lambda bridge: follow(bridge, file)).result(20)


def ink_left(separation: str, level: str, litres: str) -> str:
    return (
        f'<ResourceInfo ResourceName="Ink" DeviceID="{LANE}" Unit="l" Level="{level}" AvailableAmount="{litres}">'
        f'<Part Separation="{separation}"/><Ink ID="{separation}" Class="Consumable" Status="Available"/></ResourceInfo>'
    )


def test_an_entry_s_estimate_names_the_roll_it_takes_and_its_inks(office: Office) -> None:
    office.submit()

    media, ink = asked(office, Scope="Estimate", **ENTRY)

    with office.desk.view.transaction() as tx:
        estimate = tx.job("Q000001").estimate
    assert (media["ResourceName"], media["Unit"]) == ("Media", "m2")
    assert float(media["Amount"]) == pytest.approx(estimate.roll_area_m2, abs=1e-6)
    assert (ink["ResourceName"], ink["Unit"]) == ("Ink", "l")
    assert float(ink["Amount"]) == pytest.approx(sum(estimate.ink_ml.values()) / 1000, abs=1e-6)


def test_only_the_kind_that_is_asked_for_is_told(office: Office) -> None:
    office.submit()

    told = asked(office, Scope="Estimate", ResourceName="Ink", **ENTRY)

    assert [info["ResourceName"] for info in told] == ["Ink"]


def test_a_job_s_own_press_says_what_it_used(office: Office) -> None:
    office.submit()
    part = press_part_id("1", "Q000001")
    used = (
        f'<ResourceInfo ResourceName="Ink" DeviceID="{LANE}" Unit="l"><AmountPool>'
        '<PartAmount ActualAmount="0.012"><Part Separation="Cyan"/></PartAmount>'
        '<PartAmount ActualAmount="0.03"><Part Separation="Black"/></PartAmount>'
        '</AmountPool><Ink ID="i" Class="Consumable" Status="InUse"/></ResourceInfo>'
    )
    press_says(office, used, f' JobID="{BANNER.job_id}" JobPartID="{part}"')

    [ink] = asked(office, Scope="Job", **ENTRY)

    assert (ink["ResourceName"], ink["ActualAmount"], ink["Scope"]) == ("Ink", "0.042", "Job")


def test_nothing_is_told_of_what_no_press_has_said(office: Office) -> None:
    office.submit()

    assert asked(office, Scope="Job", **ENTRY) == []
    assert asked(office, Scope="Device", ResourceName="Ink") == []


def test_the_inks_of_a_lane_are_as_its_press_said_last(office: Office) -> None:
    press_says(office, ink_left("Cyan", "OK", "1.5") + ink_left("Black", "OK", "2"))
    press_says(office, ink_left("Cyan", "Low", "0.2"), name="r2")

    black, cyan = asked(office, Scope="Present", ResourceName="Ink")

    assert (black["Level"], black["AvailableAmount"]) == ("OK", "2")
    assert (cyan["Level"], cyan["AvailableAmount"]) == ("Low", "0.2")


def test_an_ink_that_runs_low_is_signalled_once(office: Office) -> None:
    press_says(office, ink_left("Cyan", "Low", "0.2"))
    press_says(office, ink_left("Cyan", "Low", "0.2"), name="r2")

    with office.desk.view.transaction() as tx:
        told = [one.body for one in tx.unsent("mis.folder", 0, 99) if b"SignalResource" in one.body]
    assert len(told) == 1
    office.said += told
    [info] = etree.fromstring(told[0]).iter(jdf("ResourceInfo"))
    assert (info.get("Level"), info.find(jdf("Part")).get("Separation")) == ("Low", "Cyan")


def test_a_flush_that_is_only_asked_for_removes_nothing(office: Office) -> None:
    office.post(jmf(command("HoldQueue")))
    office.submit()
    office.post(jmf(ABORT))

    for _ in range(2):
        said = office.post(jmf(query("FlushQueue", "<QueueFilter/>")))
        assert said.codes == ["0"]
        assert said.find("QueueEntryDef").get("QueueEntryID") == "Q000001"

    done = office.post(jmf(command("FlushQueue")))
    assert done.find("QueueEntryDef").get("QueueEntryID") == "Q000001"
    assert office.post(jmf(query("FlushQueue"))).find("QueueEntryDef") is None
