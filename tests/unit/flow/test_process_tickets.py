"""Tickets that say how to print, through the bridge: jobs on the right lane, and nothing for another press."""

from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import Bench, press_returns
from tests.unit.jdf.tickets import GOLDEN_PROCESS
from tests.unit.made import ESTIMATE, ITEM, LAYOUT, NOW, ORDER, PANELS, ROLL
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import hotfolders_home
from ticketbridge.decide.map_order import map_order
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write import write_ticket
from ticketbridge.jdf.check import check
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.model.job_states import State
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item, Panels
from ticketbridge.model.substrate import LayerStack
from ticketbridge.vocabulary.names import WRITABLE_VERSIONS, jdf

SHOP = load_shop(hotfolders_home() / "sample-shop").shop
NAME = "gray-box-1.3.jdf"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def drop(bench: Bench, *changes: tuple[bytes, bytes], name: str = NAME, art: str = "wall.pdf") -> str:
    data = (GOLDEN_PROCESS / name).read_bytes()
    for old, new in changes:
        assert old in data
        data = data.replace(old, new)
    (bench.source.drop / "art" / art).write_bytes(b"%PDF-1.7\n%%EOF\n")
    (bench.source.drop / name).write_bytes(data)
    return name


CANVAS = (
    (b'ProductID="BLUEBACK115"', b'ProductID="CANVAS380"'),
    (b'IDValue="fast-4"', b'IDValue="banner-6"'),
    (b'Amount="40"', b'Amount="2"'),
)


def test_a_gray_box_becomes_a_job_on_the_lane_that_has_its_roll(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(drop(bench, *CANVAS))])

    assert bench.files(bench.source.accepted) == [NAME]
    with bridge.store.transaction() as tx:
        job, state = tx.job("Q000001"), tx.standing("Q000001").state
    assert (state, job.device_id) == (State.WAITING, "HL-P1-B")
    assert (job.item.substrate, job.item.print_mode, job.item.quantity) == ("CANVAS380", "banner-6", 2)
    assert (job.item.finished_width_mm, job.item.finished_height_mm, job.item.bleed_mm) == (600, 900, 3)
    assert bench.files(bench.lane("HL-P1-B").tickets) == ["Q000001.jdf"]


def test_the_same_gray_box_again_is_one_job(bench: Bench, bridge: Bridge) -> None:
    for _ in range(2):
        accept(bridge, [bench.claim(drop(bench, *CANVAS))])

    assert bench.files(bench.source.repeated) == [NAME]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ((b'Class="Consumable"', b'Class="Consumable" MediaUnit="Sheet"'), "ticket.other-press 101"),
        ((b"Rendering DigitalPrinting", b"Rendering ConventionalPrinting"), "ticket.other-press 101"),
        (
            (b'ProductID="BLUEBACK115"', b'MediaType="Paper" MediaTypeDetails="Blueback"'),
            "mapping.no-roll 101",
        ),
        (
            (b'Status="Waiting" JobID', b'Status="Waiting" Activation="Inactive" JobID'),
            "ticket.not-active 102",
        ),
        ((b'Status="Waiting" JobID', b'Status="Completed" JobID'), "ticket.not-waiting 102"),
    ],
)
def test_what_is_for_another_press_or_must_not_run_is_refused_and_nothing_reaches_a_lane(
    bench: Bench, bridge: Bridge, change: tuple[bytes, bytes], code: str
) -> None:
    accept(bridge, [bench.claim(drop(bench, change))])

    assert bench.files(bench.source.refused) == [NAME, f"{NAME}.findings.txt"]
    assert bench.signals(bridge) == [f"Notification {code}"]
    for lane in bridge.lanes:
        assert bench.files(bench.lane(lane).tickets) == []


# Our own ticket for a lane, read as anybody's process ticket


def lane_ticket(item: Item, layout: Layout = LAYOUT, version: str = "1.7") -> LaneTicket:
    press = next(iter(SHOP.presses.values()))
    return LaneTicket(
        queue_entry_id="Q000001",
        order=ORDER,
        item=item,
        substrate=SHOP.substrates[item.substrate],
        print_mode=SHOP.print_modes[item.print_mode],
        press=press.model_copy(update={"jdf_version": version}),
        lane=press.lanes[0],
        roll=ROLL.model_copy(update={"width_mm": SHOP.substrates[item.substrate].widths_mm[0]}),
        layout=layout,
        estimate=ESTIMATE,
        at=NOW,
        agent_version="0.1",
    )


def read_back(ticket: LaneTicket) -> Item:
    root = etree.fromstring(etree.tostring(write_ticket(ticket)))
    assert check(root, "lane.jdf") == []
    read, findings = read_ticket(root, "lane.jdf")
    assert findings == []
    mapped = map_order(read, SHOP.mappings["mis"], SHOP, "mis")
    assert mapped.order is not None, mapped.findings
    assert mapped.findings == ()
    (item,) = mapped.order.items
    return item


def as_the_press_knows(item: Item) -> Item:
    """A lane's ticket carries our queue entry in its JobPartID, and no hash of the artwork."""
    assert item.artwork is not None
    artwork = item.artwork.model_copy(update={"sha256": None})
    return item.model_copy(update={"job_part_id": f"{item.job_part_id}.Q000001", "artwork": artwork})


@pytest.mark.parametrize("version", WRITABLE_VERSIONS)
def test_our_own_lane_ticket_of_any_version_reads_back_as_the_same_item(version: str) -> None:
    item = ITEM.model_copy(update={"descriptive_name": "Fair banner"})
    assert read_back(lane_ticket(item, version=version)) == as_the_press_knows(item)


@pytest.mark.parametrize(
    ("stack", "substrate", "mode"),
    [
        (LayerStack.COLOUR, "BAN510", "fast-4"),
        (LayerStack.WHITE_COLOUR, "WINDOW-CLEAR", "white-8"),
        (LayerStack.COLOUR_WHITE, "WINDOW-CLEAR", "white-8"),
        (LayerStack.COLOUR_WHITE_COLOUR, "BACKLIT210", "day-night-12"),
    ],
)
@pytest.mark.parametrize("more", [{}, {"bleed_mm": 3.0}, {"may_rotate": False}, {"quantity": 7}])
def test_layers_modes_bleed_and_turning_survive_the_way_back(
    stack: LayerStack, substrate: str, mode: str, more: dict[str, object]
) -> None:
    changes = {
        "layer_stack": stack,
        "substrate": substrate,
        "print_mode": mode,
        "descriptive_name": "x",
        **more,
    }
    item = Item.model_validate(ITEM.model_dump() | changes)
    assert read_back(lane_ticket(item)) == as_the_press_knows(item)


def test_a_lane_ticket_with_panels_reads_back_as_one_that_wants_them() -> None:
    item = ITEM.model_copy(update={"descriptive_name": "x"})
    wanted = as_the_press_knows(item).model_copy(update={"panels": Panels.WANTED})
    assert read_back(lane_ticket(item, PANELS)) == wanted


# What goes back to the MIS


def test_the_process_ticket_goes_back_completed_with_what_was_made(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(drop(bench, *CANVAS))])
    given = (bench.lane("HL-P1-B").tickets / "Q000001.jdf").read_bytes()
    bench.press_says(bridge, "HL-P1-B", "Q000001.jdf", press_returns(given))

    (path,) = (path for path in bench.source.returned.iterdir() if path.suffix == ".jdf")
    root = etree.fromstring(path.read_bytes())
    assert (root.get("Status"), root.get("JobID"), root.get("Type")) == (
        "Completed",
        "HG-5001",
        "ProcessGroup",
    )
    assert [node.get("Type") for node in root.iterchildren(jdf("JDF"))] == ["Combined"]
