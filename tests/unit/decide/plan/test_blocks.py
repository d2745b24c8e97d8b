"""What prints side by side, and how long it takes: the carriage model of a block."""

import pytest

from tests.unit.decide.plan.made import two_lane_problem
from ticketbridge.decide.plan.blocks import make_block
from ticketbridge.decide.plan.problem import Problem

SWEEPS_PER_MM = 6 / 72
BEAM_SWEEP_S = (3300 + 4 * 180) / 1500 + 0.3
NARROW, WIDE = 600.0, 1500.0
ON_A, ON_B, ON_AB = 0, 1, 2


def pair(width_a: float, width_b: float, *, beam: bool) -> Problem:
    return two_lane_problem([(0, 0, width_a, 7200, 1e9, 0), (0, 0, width_b, 7200, 1e9, 0)], beam=beam)


def test_a_job_alone_takes_its_feed_and_the_passing_of_its_last_line() -> None:
    block = make_block(pair(NARROW, NARROW, beam=True), ((ON_A, (0,)),))

    assert block.print_s == pytest.approx((7200 + 72) * SWEEPS_PER_MM * BEAM_SWEEP_S)


def test_with_a_carriage_over_the_full_beam_two_equal_jobs_side_by_side_take_half_the_time() -> None:
    # Common practice; design notes of the trade give exactly 2.
    problem = pair(NARROW, NARROW, beam=True)

    apart = make_block(problem, ((ON_A, (0,)),)).print_s + make_block(problem, ((ON_A, (1,)),)).print_s

    assert make_block(problem, ((ON_A, (0,)), (ON_B, (1,)))).print_s == pytest.approx(apart / 2)


def test_with_a_carriage_over_the_images_wide_jobs_gain_and_narrow_ones_far_apart_lose() -> None:
    def gain(width_mm: float) -> float:
        problem = pair(width_mm, width_mm, beam=False)
        alone = make_block(problem, ((ON_A, (0,)),)).print_s
        return 2 * alone / make_block(problem, ((ON_A, (0,)), (ON_B, (1,)))).print_s

    assert 1.2 < gain(WIDE) < 1.65
    assert gain(400) < 1


def test_where_one_lane_ends_the_other_goes_on_over_its_own_span() -> None:
    problem = two_lane_problem([(0, 0, WIDE, 7200, 1e9, 0), (0, 0, NARROW, 3600, 1e9, 0)], beam=False)

    block = make_block(problem, ((ON_A, (0,)), (ON_B, (1,))))

    together_s = 3600 * SWEEPS_PER_MM * ((1680 + NARROW + 720) / 1500 + 0.3)
    alone_s = (3600 + 72) * SWEEPS_PER_MM * ((WIDE + 720) / 1500 + 0.3)
    assert block.print_s == pytest.approx(together_s + alone_s)


def test_one_way_modes_take_twice_as_long() -> None:
    both_ways, one_way = (
        make_block(two_lane_problem([(setup, 0, NARROW, 7200, 1e9, 0)]), ((ON_A, (0,)),)).print_s
        for setup in (0, 2)
    )

    assert one_way == pytest.approx(both_ways * 24 / 6)  # twice the passes, and each of them twice


def test_the_feed_between_jobs_costs_roll_and_no_time() -> None:
    problem = pair(NARROW, NARROW, beam=True)

    block = make_block(problem, ((ON_A, (0, 1)),))

    assert block.print_s == pytest.approx((2 * 7200 + 72) * SWEEPS_PER_MM * BEAM_SWEEP_S)
    assert block.feed_mm == (2 * 7200 + 2 * 40,)


def test_lateness_of_a_block_follows_from_its_start() -> None:
    problem = two_lane_problem([(0, 0, NARROW, 7200, 600, 0), (0, 0, NARROW, 7200, 5000, 0)])

    block = make_block(problem, ((ON_A, (0, 1)),))

    ends = dict(block.ends_s)
    assert block.slacks_s == pytest.approx((600 - ends[0], 5000 - ends[1]))
    assert block.weights == (0, 1, 2)
