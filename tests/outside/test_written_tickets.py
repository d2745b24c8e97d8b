"""Every ticket and message that the bridge writes is valid by the official schema, and not newer than it may be."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid, too_new
from tests.unit.made import ESTIMATE, ITEM, LAYOUT, MARKED, NOW, ORDER, PANELS, ROLL, with_all_marks
from ticketbridge.answer.responses import response
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import hotfolders_home
from ticketbridge.decide.layout.marks import marks_on
from ticketbridge.demo.orders import ORDERS, ticket
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.jdf.check import check
from ticketbridge.jdf.message_parts import DEVICE_STATUS, Phase
from ticketbridge.jdf.versions import fit_to_version
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item
from ticketbridge.model.substrate import LayerStack
from ticketbridge.report import compose
from ticketbridge.report.return_ticket import returned_ticket
from ticketbridge.store.records import QueueSize
from ticketbridge.vocabulary.names import WRITABLE_VERSIONS

SHOP = load_shop(hotfolders_home() / "sample-shop").shop
STANDING = Standing(
    queue_entry_id="Q000001", number=1, source="mis", job_id="HL-1 with a space", job_part_id="1", revision=1,
    state=State.RUNNING, phase="InProgress", status_details="Good", device_id="HL-P1-A", given=True, priority=50,
    due=NOW, substrate="BAN510", print_mode="banner-6", layer_stack="colour", quantity=12, print_s=600,
    roll_length_mm=3000, amount=5, waste=1, submitted_at=NOW, started_at=NOW, ended_at=None,
)  # fmt: skip


def lane_ticket(version: str, item: Item = ITEM, layout: Layout = LAYOUT) -> LaneTicket:
    press = next(iter(SHOP.presses.values()))
    return LaneTicket(
        queue_entry_id="Q000001",
        order=ORDER.model_copy(update={"customer_id": "C-1", "descriptive_name": "Fair & square <banner>"}),
        item=item,
        substrate=SHOP.substrates[item.substrate],
        print_mode=SHOP.print_modes["banner-6"],
        press=press.model_copy(update={"jdf_version": version}),
        lane=press.lanes[0],
        roll=ROLL,
        layout=layout,
        estimate=ESTIMATE,
        at=datetime(2026, 11, 25, 9, 0, tzinfo=timezone(timedelta(hours=1))),
        agent_version="0.1",
        marks=marks_on(layout, item, ORDER.job_id, "Q000001"),
    )


def judge(shared: Path, tmp_path: Path, data: bytes, version: str) -> list[str]:
    path = tmp_path / "written.xml"
    path.write_bytes(data)
    return invalid(shared, path) + too_new(shared, etree.fromstring(data), version)


@pytest.mark.parametrize("version", WRITABLE_VERSIONS)
@pytest.mark.parametrize("stack", LayerStack)
def test_a_lane_ticket_of_any_version_and_layer_stack_is_valid_and_not_newer(
    shared: Path, tmp_path: Path, version: str, stack: LayerStack
) -> None:
    item = ITEM.model_copy(update={"layer_stack": stack, "bleed_mm": 3.0})
    root = write_ticket(lane_ticket(version, item))

    assert check(root, "written") == []
    assert judge(shared, tmp_path, as_bytes(root), version) == []


@pytest.mark.parametrize("version", WRITABLE_VERSIONS)
def test_a_lane_ticket_with_panels_is_valid_and_not_newer(shared: Path, tmp_path: Path, version: str) -> None:
    root = write_ticket(lane_ticket(version, layout=PANELS))

    assert check(root, "written") == []
    assert judge(shared, tmp_path, as_bytes(root), version) == []


def test_turned_pieces_are_valid(shared: Path, tmp_path: Path) -> None:
    turned = replace(LAYOUT, placements=tuple(replace(p, rotated=True) for p in LAYOUT.placements))

    assert judge(shared, tmp_path, as_bytes(write_ticket(lane_ticket("1.7", layout=turned))), "1.7") == []


@pytest.mark.parametrize("version", WRITABLE_VERSIONS)
@pytest.mark.parametrize("what", MARKED)
def test_a_lane_ticket_with_marks_and_finishing_is_valid_and_not_newer(
    shared: Path, tmp_path: Path, version: str, what: str
) -> None:
    item = MARKED[what]
    root = write_ticket(lane_ticket(version, item, with_all_marks(item)))

    assert root.find(".//{*}MarkObject/{*}CutMark") is not None
    assert check(root, "written") == []
    assert judge(shared, tmp_path, as_bytes(root), version) == []


COMMANDS = ("HoldQueueEntry", "ResumeQueueEntry", "RemoveQueueEntry", "SetQueueEntryPriority")
DONE = {"queue_entry_id": "Q000001", "state": "Held"}


def messages(version: str) -> bytes:
    findings = [Finding("artwork.missing", Place("a.jdf", 3, path="/JDF/x"), {"url": "a", "path": "b"})]
    uses = [compose.Use("L1", "Good", 1.5), compose.Use("L1", "Waste", 0.5)]
    phase = Phase("InProgress", "Good", NOW, "PT5M")
    done = replace(STANDING, state=State.COMPLETED, ended_at=NOW)
    return compose.message(
        [
            compose.accepted(STANDING, "lane A", NOW),
            compose.repeated("HL-1", "Q000001", "a\x01b.jdf", NOW),
            compose.refused("a.jdf", findings, "HL-1", NOW),
            compose.refused("a.jdf", [Finding("intake.unfinished")], None, NOW),
            compose.trouble(STANDING, "Error", "MediaJam", "It jams.", NOW),
            compose.trouble(None, "Warning", "X", "A fault of the lane.", NOW),
            compose.queue_status("HL-P1-A", [STANDING, done], QueueSize(1, running=True)),
            *(compose.job_status(STANDING, replace(phase, status=status)) for status in DEVICE_STATUS),
            compose.job_status(done, phase),
            compose.device_status("HL-P1-A", "Idle", None),
            compose.media_used(STANDING, {"MediaType": "Vinyl"}, uses, level="Low", left_m2=3.25),
            compose.roll_on_lane("HL-P1-A", {"MediaType": "Vinyl"}, lot="L 1", level="OK", left_m2=80),
            compose.ink_used(STANDING, [compose.Use("Cyan", "", 0.01)]),
            *(response("c1", kind, [Finding("request.done", facts=DONE)], NOW) for kind in COMMANDS),
            response("c2", "HoldQueueEntry", [Finding("command.names-nothing", facts={"kind": "x"})], NOW),
            compose.return_queue_entry(
                "Q000001", "file:///srv/returned/Q000001.jdf", "Q000001.n", completed=True
            ),
            compose.return_queue_entry(
                "Q000001", "file:///srv/returned/Q000001.jdf", "Q000001.n", completed=False
            ),
        ],
        sender_id="bridge",
        version=version,
        at=datetime(2026, 11, 25, 9, 0, 0, 123456, tzinfo=UTC),
        id_prefix="S00000001",
        agent_version="0.1",
    )


@pytest.mark.parametrize("version", WRITABLE_VERSIONS)
def test_every_message_of_any_version_is_valid_and_not_newer(
    shared: Path, tmp_path: Path, version: str
) -> None:
    data = messages(version)

    assert check(etree.fromstring(data), "written") == []
    assert judge(shared, tmp_path, data, version) == []


@pytest.mark.parametrize("original_version", ["1.1", "1.3", "1.5", "1.7"])
def test_a_returned_ticket_is_valid_and_not_newer_than_the_mis_allows(
    shared: Path, tmp_path: Path, original_version: str
) -> None:
    original = etree.fromstring(ticket(ORDERS[1]))
    original.set("Version", original_version)
    original.set("MaxVersion", original_version)
    fit_to_version(original, original_version)
    pressed = write_ticket(lane_ticket("1.7", layout=PANELS))
    data = returned_ticket(
        original,
        pressed,
        job_part_id="1",
        queue_entry_id="Q000001",
        amount=3,
        completed=True,
        at=NOW,
        agent_version="0",
    )

    assert judge(shared, tmp_path, data, original_version) == []


def test_a_returned_ticket_whose_ids_meet_the_press_s_gets_new_ones(shared: Path, tmp_path: Path) -> None:
    original = etree.fromstring(ticket(ORDERS[1]))
    pressed = etree.fromstring(as_bytes(write_ticket(lane_ticket("1.7"))).replace(b"Q000001.", b""))
    data = returned_ticket(
        original,
        pressed,
        job_part_id="1",
        queue_entry_id="Q000001",
        amount=3,
        completed=True,
        at=NOW,
        agent_version="0",
    )

    assert judge(shared, tmp_path, data, "1.7") == []
