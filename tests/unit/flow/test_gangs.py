"""Gang runs: jobs of several orders as one ticket, printed as one run, and returned each as its own."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from click.testing import CliRunner
from lxml import etree

from tests.unit.flow.bench import BANNER, CANVAS, Bench, counter_line, press_returns, status_jmf
from tests.unit.flow.test_following_a_press import Press, follow_all
from tests.unit.flow.test_learning import actuals, comes_back
from ticketbridge.cli import main
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.lane.releasing import release_waiting
from ticketbridge.jdf.check import check
from ticketbridge.model.gang_share import owners_in_print_order
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.request import Request, Wish
from ticketbridge.vocabulary.names import jdf

LANE = "HL-P1-A"
FIRST = replace(
    BANNER,
    file_name="one.jdf",
    customer="Tidewatch Museum",
    job_id="HL-1",
    width_mm=600,
    height_mm=900,
    quantity=3,
)
SECOND = replace(
    BANNER,
    file_name="two.jdf",
    customer="Copperleaf Bakery",
    job_id="HL-2",
    width_mm=500,
    height_mm=700,
    quantity=4,
)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    return allow_gangs(bench)


def allow_gangs(bench: Bench) -> Bench:
    """Gang runs are allowed, and banner lies on one lane only."""
    bench.set_shop("sources:", "gang: allowed\nsources:")
    banner = "roll: {substrate: BAN510, lot: B510-2211,"
    bench.change("presses.yaml", banner, "roll: {substrate: CANVAS380, lot: C380-7,")
    return bench


def take_two(bench: Bench, bridge: Bridge) -> None:
    accept(bridge, [bench.claim(bench.drop(order)) for order in (FIRST, SECOND)])


def written(bench: Bench) -> list[str]:
    return [name for name in bench.files(bench.lane(LANE).tickets) if name.endswith(".jdf")]


def test_two_alike_jobs_go_out_as_one_ticket_that_passes_our_schema(bench: Bench) -> None:
    bridge = bench.restart()
    take_two(bench, bridge)

    assert written(bench) == ["G000001.jdf"]
    root = etree.parse(bench.lane(LANE).tickets / "G000001.jdf").getroot()
    assert check(root, "G000001.jdf") == []
    with bridge.store.transaction() as tx:
        one, two = tx.standing("Q000001"), tx.standing("Q000002")
        alone_mm = sum(tx.job(name).estimate.roll_length_mm for name in ("Q000001", "Q000002"))
    assert one.given
    assert two.given
    assert one.roll_length_mm + two.roll_length_mm < alone_mm


def print_log(press: Press) -> Iterator[dict[str, object]]:
    for line in (press.folder / "print-log.jsonl").read_text().splitlines():
        yield json.loads(line)


def test_the_press_prints_it_as_it_was_laid_out_and_each_job_goes_back_once_with_its_own(
    bench: Bench,
) -> None:
    bridge, press = bench.restart(), Press(bench)
    take_two(bench, bridge)
    with bridge.store.transaction() as tx:
        layouts = tx.gang_members("G000001")
        left_m = tx.rolls()[LANE].length_left_m
        taken_mm = tx.standing("Q000001").roll_length_mm + tx.standing("Q000002").roll_length_mm
    press.work(3000)
    rows = list(print_log(press))
    wanted = sorted(
        (round(one.x_mm, 2), round(one.y_mm, 2), round(one.width_mm, 2), round(one.height_mm, 2), job_id)
        for job_id, layout in zip(("HL-1", "HL-2"), layouts.values(), strict=True)
        for one in layout.placements
    )
    assert wanted == sorted(
        (
            round(float(str(row["x_mm"])), 2),
            round(float(str(row["y_mm"])), 2),
            round(float(str(row["width_mm"])), 2),
            round(float(str(row["height_mm"])), 2),
            Path(urlsplit(str(row["artwork"])).path).stem,
        )
        for row in rows
    )
    owners = owners_in_print_order(layouts)
    came_out = [Path(urlsplit(str(row["artwork"])).path).stem for row in rows]
    assert came_out == [{"Q000001": "HL-1", "Q000002": "HL-2"}[name] for name in owners]
    follow_all(bench, bridge)

    assert bench.files(bench.source.returned) == ["Q000001.jdf", "Q000002.jdf"]
    with bridge.store.transaction() as tx:
        standings = tx.all_jobs()
        assert tx.rolls()[LANE].length_left_m == pytest.approx(left_m - taken_mm / 1000)
    assert [(job.state, job.amount) for job in standings] == [(State.COMPLETED, 3), (State.COMPLETED, 4)]
    assert bench.signals(bridge).count("ReturnQueueEntry") == 2
    assert bench.notices == []


def test_no_word_of_another_customer_goes_back(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    take_two(bench, bridge)
    press.work(3000)
    follow_all(bench, bridge)

    for name, mine, other in (("Q000001", "HL-1", "HL-2"), ("Q000002", "HL-2", "HL-1")):
        path = bench.source.returned / f"{name}.jdf"
        text = path.read_text()
        assert mine in text
        assert other not in text
        assert ("Q000002" if name == "Q000001" else "Q000001") not in text
        assert "G000001" not in text
        root = etree.fromstring(path.read_bytes())
        assert check(root, path.name) == []
        [phase] = [one for one in root.iter(jdf("PhaseTime")) if one.get("Status") == "InProgress"]
        [made] = phase.iter(jdf("ComponentLink"))
        assert made.get("ActualAmount") == ("3" if name == "Q000001" else "4")


def standing_of(bridge: Bridge, name: str) -> Standing:
    with bridge.store.transaction() as tx:
        return tx.standing(name)


def wish(bridge: Bridge, what: Wish, name: str) -> str:
    request = Request(what, "op-03", {"queue_entry_id": name})
    return answer(bridge, request, f"{what}-{name}").findings[0].code


def says(bench: Bench, bridge: Bridge, status: str, amount: int, waste: int = 0) -> None:
    root = etree.fromstring(
        status_jmf(LANE, ("G000001", "gang.G000001"), status, amount, 7, f"{status}-{amount}-{waste}")
    )
    for phase in root.iter(jdf("JobPhase")):
        phase.set("Waste", str(waste))
    bench.press_says(bridge, LANE, f"{status}-{amount}-{waste}.jmf", etree.tostring(root))


def test_the_amounts_of_the_members_are_those_of_the_press_and_never_shrink(bench: Bench) -> None:
    bridge = bench.restart()
    take_two(bench, bridge)
    with bridge.store.transaction() as tx:
        owners = owners_in_print_order(tx.gang_members("G000001"))
    before = {"Q000001": 0.0, "Q000002": 0.0}
    for amount in range(8):
        says(bench, bridge, "InProgress", amount)
        told = {name: standing_of(bridge, name).amount for name in before}
        assert sum(told.values()) == amount
        assert told == {name: owners[:amount].count(name) for name in before}
        assert all(told[name] >= before[name] for name in before)
        before = told


def test_a_spoilt_piece_is_that_of_the_job_whose_piece_was_in_hand(bench: Bench) -> None:
    bridge = bench.restart()
    take_two(bench, bridge)
    with bridge.store.transaction() as tx:
        owners = owners_in_print_order(tx.gang_members("G000001"))
    says(bench, bridge, "InProgress", 1)
    says(bench, bridge, "Stopped", 1, waste=1)
    says(bench, bridge, "InProgress", 4, waste=1)
    says(bench, bridge, "Stopped", 4, waste=2)

    expected = {"Q000001": 0, "Q000002": 0}
    expected[owners[1]] += 1
    expected[owners[4]] += 1
    assert {name: standing_of(bridge, name).waste for name in expected} == expected


def test_a_real_jam_is_told_to_each_and_counted_once(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    take_two(bench, bridge)
    (press.folder / "control" / "jam").touch()
    press.work(3000)
    follow_all(bench, bridge)

    jobs = [standing_of(bridge, name) for name in ("Q000001", "Q000002")]
    assert [(job.state, job.amount) for job in jobs] == [(State.COMPLETED, 3), (State.COMPLETED, 4)]
    assert sum(job.waste for job in jobs) == 1
    returned = [etree.parse(bench.source.returned / f"{job.queue_entry_id}.jdf") for job in jobs]
    wasted = [
        float(one.get("ActualAmount", "0"))
        for root in returned
        for one in root.iterfind(f".//{jdf('ComponentLink')}/{jdf('AmountPool')}/{jdf('PartAmount')}")
        if one.find(jdf("Part")).get("Condition") == "Waste"  # type: ignore[union-attr]
    ]
    assert sum(wasted) == 1


def test_roll_and_ink_of_the_members_are_together_what_the_press_used(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    take_two(bench, bridge)
    press.work(3000)
    [pressed] = bench.lane(LANE).returned.glob("*.jdf")
    whole = etree.parse(pressed).getroot()
    follow_all(bench, bridge)

    members = [etree.parse(bench.source.returned / f"Q00000{n}.jdf").getroot() for n in (1, 2)]
    for link in ("MediaLink", "InkLink"):
        parts = sum(_used(root, link) for root in members)
        assert parts == pytest.approx(_used(whole, link), rel=1e-5)
        assert all(_used(root, link) > 0 for root in members)


def _used(root: etree._Element, link: str) -> float:
    pools = root.iterfind(f".//{jdf('ResourceLinkPool')}/{jdf(link)}/{jdf('AmountPool')}/{jdf('PartAmount')}")
    return sum(float(one.get("ActualAmount", "0")) for one in pools)


def test_the_history_of_each_says_who_was_printed_with_it(bench: Bench) -> None:
    bridge = bench.restart()
    take_two(bench, bridge)
    with bridge.store.transaction() as tx:
        told = {
            name: [e["facts"] for e in tx.history(name) if e["what"] == "released"]
            for name in ("Q000001", "Q000002")
        }
    assert told["Q000001"] == [{"device_id": LANE, "gang": "G000001", "together_with": "Q000002"}]
    assert told["Q000002"] == [{"device_id": LANE, "gang": "G000001", "together_with": "Q000001"}]


def test_what_the_press_has_is_neither_held_nor_cancelled(bench: Bench) -> None:
    bridge = bench.restart()
    take_two(bench, bridge)
    for what in (Wish.HOLD, Wish.CANCEL):
        assert wish(bridge, what, "Q000002") == "request.at-press"


@pytest.fixture
def queue(bench: Bench) -> Bridge:
    """The press has a job of its own; two alike ones wait behind it."""
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(replace(BANNER, file_name="zero.jdf", job_id="HL-0")))])
    take_two(bench, bridge)
    assert written(bench) == ["Q000001.jdf"]
    return bridge


def end_the_first(bench: Bench, bridge: Bridge) -> None:
    ticket = bench.lane(LANE).tickets / "Q000001.jdf"
    bench.press_says(bridge, LANE, "first.jdf", press_returns(ticket.read_bytes()))
    ticket.unlink()


@pytest.mark.parametrize("what", [Wish.HOLD, Wish.CANCEL])
def test_a_member_held_or_cancelled_before_the_hand_over_leaves_the_other_alone(
    bench: Bench, queue: Bridge, what: Wish
) -> None:
    assert wish(queue, what, "Q000003") == "request.done"
    end_the_first(bench, queue)
    release_waiting(queue)

    assert written(bench) == ["Q000002.jdf"]
    with queue.store.transaction() as tx:
        assert tx.gang_of("Q000002") is None


def test_a_gang_leaves_when_its_turn_comes_and_not_more_than_the_lane_takes(
    bench: Bench, queue: Bridge
) -> None:
    end_the_first(bench, queue)
    release_waiting(queue)
    assert written(bench) == ["G000002.jdf"]


def test_a_newer_ticket_before_the_hand_over_is_the_one_that_is_printed(bench: Bench, queue: Bridge) -> None:
    accept(queue, [bench.claim(bench.drop(replace(SECOND, file_name="newer.jdf", height_mm=690)))])
    end_the_first(bench, queue)
    release_waiting(queue)

    assert written(bench) == ["G000002.jdf"]
    with queue.store.transaction() as tx:
        members = tx.gang_members("G000002")
        assert [tx.job(name).item.finished_height_mm for name in members] == [900, 690]


def test_a_member_printed_again_is_a_job_of_its_own_as_it_was_laid_out_alone(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    take_two(bench, bridge)
    press.work(3000)
    follow_all(bench, bridge)
    assert wish(bridge, Wish.PRINT_AGAIN, "Q000002") == "request.done"
    release_waiting(bridge)

    assert written(bench) == ["Q000003.jdf"]
    again = standing_of(bridge, "Q000003")
    with bridge.store.transaction() as tx:
        layout = tx.job("Q000003").layout
    assert again.roll_length_mm == pytest.approx(layout.consumed_length_mm)
    assert min(one.y_mm for one in layout.placements) == 0


def test_a_run_that_is_broken_off_gives_each_its_good_pieces(bench: Bench) -> None:
    bridge = bench.restart()
    take_two(bench, bridge)
    ticket = (bench.lane(LANE).tickets / "G000001.jdf").read_bytes()
    says(bench, bridge, "InProgress", 4)
    bench.press_says(bridge, LANE, "broken.jdf", press_returns(ticket, "Aborted"))

    jobs = [standing_of(bridge, name) for name in ("Q000001", "Q000002")]
    assert {job.state for job in jobs} == {State.ABORTED}
    assert sum(job.amount for job in jobs) == 4


def test_artwork_that_changed_meanwhile_holds_its_own_job_and_not_the_other(
    bench: Bench, queue: Bridge
) -> None:
    (bench.source.drop / "art" / "HL-2.pdf").write_bytes(b"%PDF-1.4 something else")
    end_the_first(bench, queue)
    release_waiting(queue)

    assert standing_of(queue, "Q000003").state is State.HELD
    assert written(bench) == ["Q000002.jdf"]


def test_without_a_word_in_the_shop_every_job_is_printed_alone(bench: Bench) -> None:
    bench.set_shop("\ngang: allowed", "\ngang: never")
    bridge = bench.restart()
    take_two(bench, bridge)
    assert written(bench) == ["Q000001.jdf"]


def test_a_gang_counts_as_one_ticket_of_those_that_a_lane_takes(bench: Bench) -> None:
    bench.change("presses.yaml", "ahead: 1", "ahead: 2")
    bridge = bench.restart()
    take_two(bench, bridge)
    accept(bridge, [bench.claim(bench.drop(replace(BANNER, file_name="next.jdf", job_id="HL-3")))])
    assert written(bench) == ["G000001.jdf", "Q000003.jdf"]


def show(bench: Bench, *words: str) -> str:
    result = CliRunner().invoke(main, ["jobs", "--shop", str(bench.folder), "show", *words])
    assert result.exit_code == 0, result.output
    return result.output


def test_the_operator_sees_whose_pieces_lie_where(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    take_two(bench, bridge)
    bridge.store.close()
    drawn = tmp_path / "roll.svg"
    told = show(bench, "G000001", "--picture", str(drawn))

    assert "G000001 is one run of 2 jobs: 7 pieces" in told
    assert "Q000001 HL-1: 3 x 600 x 900 mm" in told
    assert "Q000002 HL-2: 4 x 500 x 700 mm" in told
    picture = drawn.read_text()
    for name, count in (("Q000001", 3), ("Q000002", 4)):
        assert all(f">{name} {piece}<" in picture for piece in range(1, count + 1))
    assert "G000001 is one run of 2 jobs" in show(bench, "Q000002")
    assert "together_with: Q000001" in show(bench, "Q000002")


def test_a_job_alone_can_be_drawn_too(bench: Bench, tmp_path: Path) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(FIRST))])
    bridge.store.close()
    drawn = tmp_path / "roll.svg"
    assert "one run of" not in show(bench, "Q000001", "--picture", str(drawn))
    assert "Q000001, HL-1" in drawn.read_text()


def test_on_a_roll_with_a_splice_that_a_person_noted_meanwhile_every_job_goes_alone(
    bench: Bench, queue: Bridge
) -> None:
    args = {"lot": "B510-2207", "number": 1, "at_m": 40.0, "length_mm": 100.0, "what": "splice"}
    done = answer(queue, Request(Wish.ROLL_FLAW, "op-03", args), "flaw")
    assert done.done, done
    end_the_first(bench, queue)
    release_waiting(queue)
    assert written(bench) == ["Q000002.jdf"]


def test_each_mis_hears_of_its_own_job_alone_and_gets_its_own_back(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    bench.drop_lines("orders.csv", counter_line("C-1", width_cm="50", pieces="4"))
    bench.drop(FIRST)
    accept(bridge, [bench.claim("one.jdf"), bench.claim("orders.csv", at="counter")])
    assert written(bench) == ["G000001.jdf"]
    (press.folder / "control" / "jam").touch()
    press.work(3000)
    follow_all(bench, bridge)

    said = {}
    for source in ("mis", "counter"):
        with bridge.store.transaction() as tx:
            said[source] = b"".join(one.body for one in tx.unsent(f"{source}.folder", 0, 1000)).decode()
    assert "C-1" not in said["mis"]
    assert "Q000002" not in said["mis"]
    assert "HL-1<" not in said["counter"]
    assert 'JobID="HL-1"' not in said["counter"]
    assert "Q000001" not in said["counter"]
    for text in said.values():
        assert "G000001" not in text
        assert 'Status="Completed"' in text
    assert bench.files(bench.counter.returned) == ["Q000002.jdf"]
    assert bench.files(bench.source.returned) == ["Q000001.jdf"]
    back = (bench.counter.returned / "Q000002.jdf").read_text()
    assert "HL-1." not in back
    assert "Q000001" not in back
    assert 'JobID="C-1"' in back


def test_a_gang_beside_a_job_is_one_print_for_what_the_job_took(bench: Bench) -> None:
    bridge = bench.restart()
    orders = [FIRST, SECOND, replace(CANVAS, file_name="canvas.jdf")]
    accept(bridge, [bench.claim(bench.drop(order)) for order in orders])
    assert standing_of(bridge, "Q000003").device_id == "HL-P1-B"
    began = datetime.fromisoformat("2026-11-25T09:00:00+00:00")
    with bridge.store.transaction() as tx:
        for name in ("Q000001", "Q000002"):
            tx.change_job(tx.standing(name), started_at=began)
    took_s, _ = comes_back(bench, bridge, "HL-P1-B", 1.0)

    [actual] = actuals(bridge)
    assert actual.actual_s is not None
    assert 0.3 * took_s < actual.actual_s < 0.9 * took_s


def test_a_gang_teaches_the_estimates_nothing(bench: Bench) -> None:
    bridge, press = bench.restart(), Press(bench)
    take_two(bench, bridge)
    press.work(3000)
    follow_all(bench, bridge)
    assert actuals(bridge) == []
