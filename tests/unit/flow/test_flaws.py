"""A noted splice moves what is printed, up to the ticket that the press gets."""

from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.flow.roll_account import roll_at_start
from ticketbridge.model.layout import Layout
from ticketbridge.model.substrate import Flaw
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.units import mm_from_points

LANE = "HL-P1-A"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


def flaw_the_roll(bridge: Bridge, *flaws: Flaw) -> None:
    """Flaws on the roll of the lane; the other lane for banner is without one, so that jobs stay here."""
    with bridge.store.transaction() as tx:
        tx.take_off("HL-P2-W", bridge.now())
        roll = tx.rolls()[LANE].model_copy(update={"flaws": flaws})
        tx.correct_roll(roll, bridge.now())


def layout(bridge: Bridge, name: str = "Q000001") -> Layout:
    with bridge.store.transaction() as tx:
        job, standing = tx.job(name), tx.standing(name)
    assert standing.device_id == LANE
    assert standing.roll_length_mm == pytest.approx(job.layout.consumed_length_mm)
    return job.layout


def ticket_rows_mm(bench: Bench, name: str = "Q000001") -> list[float]:
    root = etree.parse(bench.lane(LANE).tickets / f"{name}.jdf").getroot()
    boxes = [content.get("ClipBox").split() for content in root.iter(jdf("ContentObject"))]
    return [mm_from_points(float(box[1])) for box in boxes]


def test_a_job_is_laid_out_behind_a_splice_and_its_ticket_follows(bench: Bench) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    faultless = layout(bridge)
    bridge.store.close()

    other = Bench(bench.folder.parent / "other")
    bridge = other.restart()
    # A splice in the middle of the first row, counted from the outer end.
    at_mm = faultless.leader_mm + faultless.placements[0].height_mm / 2
    flaw_the_roll(bridge, Flaw(at_mm=at_mm))
    accept(bridge, [other.claim(other.drop(BANNER))])
    moved = layout(bridge)

    gap_mm = bridge.lanes[LANE][1].gap_mm
    behind_mm = at_mm - faultless.leader_mm + gap_mm
    assert moved.placements[0].y_mm == pytest.approx(behind_mm)
    assert moved.length_mm == pytest.approx(faultless.length_mm + behind_mm)
    assert ticket_rows_mm(other) == pytest.approx([one.y_mm for one in moved.placements], abs=1e-3)


def test_a_splice_noted_while_a_job_waits_moves_it_before_its_ticket_is_written(bench: Bench) -> None:
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    before = layout(bridge)
    flaw_the_roll(bridge, Flaw(at_mm=before.leader_mm + 1))
    bridge.unfinished_lanes.clear()

    assert release_waiting(bridge)

    assert layout(bridge).placements[0].y_mm == pytest.approx(1 + bridge.lanes[LANE][1].gap_mm)
    assert ticket_rows_mm(bench)[0] == pytest.approx(layout(bridge).placements[0].y_mm, abs=1e-3)
    with bridge.store.transaction() as tx:
        assert "laid out anew" in [event["what"] for event in tx.history("Q000001")]


def test_a_job_that_overtakes_another_gets_the_place_on_the_roll_that_it_really_has(bench: Bench) -> None:
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    orders = [replace(BANNER, file_name=f"{n}.jdf", job_id=f"HL-{n}") for n in range(2)]
    accept(bridge, [bench.claim(bench.drop(orders[0]))])
    first = layout(bridge)
    # In the first row of whatever is printed first; nothing else of the roll is flawed.
    flaw_the_roll(bridge, Flaw(at_mm=first.leader_mm + 1))
    accept(bridge, [bench.claim(bench.drop(orders[1]))])
    with bridge.store.transaction() as tx:
        second = tx.standing("Q000002")
        tx.change_job(second, priority=90)
    bridge.unfinished_lanes.clear()

    release_waiting(bridge)

    assert layout(bridge, "Q000002").placements[0].y_mm == pytest.approx(11)
    assert bench.files(bench.lane(LANE).tickets) == ["Q000002.jdf"]


def test_flaws_behind_the_job_move_nothing(bench: Bench) -> None:
    bridge = bench.restart()
    flaw_the_roll(bridge, Flaw(at_mm=40_000, length_mm=500))
    accept(bridge, [bench.claim(bench.drop(BANNER))])

    assert layout(bridge).placements[0].y_mm == 0
    with bridge.store.transaction() as tx:
        assert "laid out anew" not in [event["what"] for event in tx.history("Q000001")]


def test_a_ticket_names_the_like_roll_that_was_loaded_while_the_job_waited_and_keeps_clear_of_its_flaws(
    bench: Bench,
) -> None:
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    with bridge.store.transaction() as tx:
        [second] = tx.rolls_of_lot("B510-2208")
        at_mm = tx.job("Q000001").layout.leader_mm + 1
        tx.correct_roll(second.roll.model_copy(update={"flaws": (Flaw(at_mm=at_mm),)}), bridge.now())
        tx.load_roll(LANE, second.roll, bridge.now())
    bridge.unfinished_lanes.clear()

    release_waiting(bridge)

    root = etree.parse(bench.lane(LANE).tickets / "Q000001.jdf").getroot()
    assert [media.get("BatchID") for media in root.iter(jdf("Media"))] == ["B510-2208"]
    assert ticket_rows_mm(bench)[0] == pytest.approx(11, abs=1e-3)


def test_of_two_rolls_of_one_lot_the_one_on_the_other_lane_stays_there(bench: Bench) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    with bridge.store.transaction() as tx:
        job, first = tx.job("Q000001"), tx.rolls()[LANE]
        tx.load_roll("HL-P1-B", first, job.submitted_at)
        second = first.model_copy(update={"number": 2})
        tx.load_roll(LANE, second, job.submitted_at)

        starts_on = roll_at_start(job, tx.stock())

    assert starts_on is not None
    assert starts_on.roll == second


def test_a_like_roll_that_holds_too_little_is_changed_for_the_planned_one(bench: Bench) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    with bridge.store.transaction() as tx:
        job, planned = tx.job("Q000001"), tx.rolls()[LANE]
        short = planned.model_copy(update={"lot": "SHORT", "length_left_m": 0.5})
        tx.load_roll(LANE, short, bridge.now())

        starts_on = roll_at_start(job, tx.stock())

    assert starts_on is not None
    assert starts_on.roll == planned
