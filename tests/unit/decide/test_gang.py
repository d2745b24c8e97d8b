"""Which jobs are printed packed together, and when it pays."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from tests.unit.decide.test_release import NOON
from tests.unit.decide.test_release import job as waiting
from tests.unit.made import ITEM, NOW, ORDER, ROLL, job
from ticketbridge.config.load import load_shop
from ticketbridge.config.sample import hotfolders_home
from ticketbridge.decide.estimate.estimate import estimate
from ticketbridge.decide.gang import MOST_MEMBERS, Gang, behind, gang_name, gang_of
from ticketbridge.decide.layout import RollMeasures, lay_out_together
from ticketbridge.decide.layout.lay_out import lay_out
from ticketbridge.model.job import Job
from ticketbridge.model.layout import Layout, Run
from ticketbridge.model.order import Artwork
from ticketbridge.model.pattern import Match, Pattern
from ticketbridge.model.substrate import Flaw, LayerStack, Roll

SHOP = load_shop(hotfolders_home() / "sample-shop").shop
PRESS, LANE = SHOP.lanes()["HL-P1-A"]
MODE = SHOP.print_modes["banner-6"]
DAY = timedelta(days=1)


def names(*jobs: Any, leader: str = "Q1", within: timedelta = DAY) -> tuple[str, ...]:
    return behind(leader, jobs, within)


def test_those_right_behind_it_in_line_may_join() -> None:
    assert names(waiting("Q1"), waiting("Q2"), waiting("Q3")) == ("Q2", "Q3")
    assert names(waiting("Q1"), waiting("Q2"), waiting("Q3"), leader="Q2") == ("Q3",)


@pytest.mark.parametrize(
    "other",
    [{"substrate": "mesh"}, {"print_mode": "fine"}, {"layer_stack": LayerStack.WHITE_COLOUR}],
)
def test_nobody_is_overtaken_by_one_that_would_join_from_further_behind(other: dict[str, Any]) -> None:
    assert names(waiting("Q1"), waiting("Q2", **other), waiting("Q3")) == ()


def test_due_times_lie_no_further_apart_than_the_shop_allows() -> None:
    early, late = waiting("Q1", due=NOON), waiting("Q2", due=NOON + timedelta(hours=25))
    assert names(early, late) == ()
    assert names(early, late, within=timedelta(hours=25)) == ("Q2",)
    assert names(early, waiting("Q2")) == (), "one without a due time has all the time, the other has not"


def test_no_more_join_than_one_can_sort_again() -> None:
    line = [waiting(f"Q{n}") for n in range(1, 30)]
    assert len(names(*line)) == MOST_MEMBERS - 1


def made(number: int, width_mm: float, height_mm: float, quantity: int, **changes: Any) -> Job:
    """A job laid out for itself."""
    art = Artwork(url="file:///art/a.pdf")
    item = ITEM.model_copy(
        update={
            "finished_width_mm": width_mm, "finished_height_mm": height_mm, "quantity": quantity,
            "artwork": art, "may_rotate": False,
        } | changes.pop("item", {})
    )  # fmt: skip
    layout = lay_out(item, 1580, 1600, 10, 500, 500)
    assert isinstance(layout, Layout)
    order = ORDER.model_copy(update={"items": (item,), "due": changes.pop("due", None)})
    takes = estimate(layout, item, MODE, PRESS)
    return replace(job(number, **changes), order=order, layout=layout, estimate=takes)


def gang(*jobs: Job, roll: Roll = ROLL) -> Gang | None:
    return gang_of(jobs, roll, PRESS, LANE, MODE, NOW)


NARROW, BESIDE = made(1, 700, 2000, 1), made(2, 800, 2000, 1)


def test_two_that_fit_side_by_side_take_half_the_roll_and_share_it_by_area() -> None:
    found = gang(NARROW, BESIDE)
    assert found is not None
    assert found.run.consumed_length_mm == pytest.approx(3000)
    assert found.alone_mm == pytest.approx(6000)
    one, two = found.members
    assert one.estimate.roll_length_mm == pytest.approx(3000 * 7 / 15)
    assert two.estimate.roll_length_mm == pytest.approx(3000 * 8 / 15)
    for what in ("print_s", "roll_length_mm", "roll_area_m2"):
        parts = sum(getattr(member.estimate, what) for member in found.members)
        assert parts == pytest.approx(getattr(found.estimate, what))
    for channel, amount_ml in found.estimate.ink_ml.items():
        parts = sum(member.estimate.ink_ml[channel] for member in found.members)
        assert parts == pytest.approx(amount_ml)
        alone = NARROW.estimate.ink_ml[channel] + BESIDE.estimate.ink_ml[channel]
        assert amount_ml == pytest.approx(alone)
    assert found.name == "G000001"


@pytest.mark.parametrize(
    "what",
    [
        {"item": {"pattern": Pattern(match=Match.STRAIGHT, repeat_mm=640, strip_mm=530)}},
        {"item": {"artwork": None}},
        {"roll": None},
        {"roll": ROLL.model_copy(update={"lot": "another"})},
    ],
)
def test_drops_jobs_without_artwork_and_jobs_for_another_roll_are_printed_alone(what: dict[str, Any]) -> None:
    assert gang(NARROW, made(2, 800, 2000, 1, **what)) is None


def test_behind_a_flaw_of_the_roll_everybody_is_laid_out_for_himself() -> None:
    flawed = ROLL.model_copy(update={"flaws": (Flaw(at_mm=4000, length_mm=500),)})
    assert gang(NARROW, BESIDE, roll=flawed) is None


def test_a_run_longer_than_the_roll_leaves_the_last_out() -> None:
    short = ROLL.model_copy(update={"length_left_m": 3.2})
    third = made(3, 700, 1000, 1)
    found = gang(NARROW, BESIDE, third, roll=short)
    assert found is not None
    assert found.names == ("Q000001", "Q000002")


def test_no_one_is_made_late_and_who_is_late_anyhow_no_later() -> None:
    alone_s = NARROW.estimate.print_s
    run = gang(NARROW, BESIDE)
    assert run is not None
    assert run.estimate.print_s > alone_s
    just = NOW + timedelta(seconds=run.estimate.print_s)
    assert gang(made(1, 700, 2000, 1, due=just), BESIDE) is not None
    assert gang(made(1, 700, 2000, 1, due=just - timedelta(seconds=1)), BESIDE) is None
    assert gang(made(1, 700, 2000, 1, due=NOW - DAY), BESIDE) is None
    assert gang(NARROW, made(2, 800, 2000, 1, due=NOW - DAY)) is not None, "the second ends earlier so"


def test_a_run_that_prints_longer_than_one_after_the_other_is_none() -> None:
    wide_and_short, narrow_and_long = made(1, 1500, 200, 1), made(2, 300, 9000, 1)
    alone_s = wide_and_short.estimate.print_s + narrow_and_long.estimate.print_s
    run = lay_out_together(
        [wide_and_short.item, narrow_and_long.item], RollMeasures(1580, 1600, 10, 500, 500)
    )
    assert isinstance(run, Run)
    assert estimate(run.whole, wide_and_short.item, MODE, PRESS).print_s > alone_s, "all of it sweeps as wide"
    assert gang(wide_and_short, narrow_and_long) is None


def test_a_gang_is_named_after_its_first() -> None:
    assert gang_name("Q000012") == "G000012"
