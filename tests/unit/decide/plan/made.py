"""A press with two narrow lanes and one wide lane over both, for the tests of plans."""

from collections.abc import Sequence

from ticketbridge.decide.plan.problem import (
    Carriage,
    Image,
    PlanJob,
    PlanPress,
    Problem,
    RollKind,
    Stand,
)

LANES = ("A", "B", "AB")
LEFT_MM = (0.0, 1680.0, 0.0)
WIDTH_MM = (1620.0, 1620.0, 3300.0)
OVERLAPPING = ((2,), (2,), (0, 1))
THICKNESS_UM = (80.0, 150.0, 400.0)
TOLERANCE_UM = 100


def two_lane_problem(
    jobs: Sequence[tuple[int, int, float, float, float, int]], *, beam: bool = True, stock: bool = False
) -> Problem:
    """Jobs as (setup, roll, width, length, due, rank). Rolls 0 and 1 may print side by side, 2 only with itself."""
    stands = [Stand(0, lane, roll) for roll in range(3) for lane in range(3)]
    press = PlanPress(
        name="press",
        carriage=Carriage(
            3300 if beam else None, ramp_mm=180, speed_mm_s=1500, dwell_s=0.3, head_swath_mm=72
        ),
        sweeps_per_mm=(6 / 72, 8 / 72, 24 / 72),
        change_s=((0, 90, 390), (90, 0, 390), (390, 390, 0)),
        roll_change_s=420,
        job_gap_mm=40,
        setup=0,
        loaded={0: 0, 1: 0},
    )
    return Problem(
        presses=(press,),
        lanes=LANES,
        setups=("fast", "fine", "finest"),
        rolls=tuple(
            RollKind(f"roll {number}", thickness, (60_000.0, 30_000.0) if stock else None)
            for number, thickness in enumerate(THICKNESS_UM)
        ),
        stands=tuple(stands),
        beside=tuple(
            frozenset(
                index
                for index, other in enumerate(stands)
                if other.lane != one.lane
                and other.lane not in OVERLAPPING[one.lane]
                and abs(THICKNESS_UM[one.roll] - THICKNESS_UM[other.roll]) <= TOLERANCE_UM
            )
            for one in stands
        ),
        overlapping=OVERLAPPING,
        jobs=tuple(
            PlanJob(
                name=f"job {number}",
                setup=setup,
                images={
                    roll * 3 + lane: Image(LEFT_MM[lane], LEFT_MM[lane] + width, length)
                    for lane in range(3)
                    if width <= WIDTH_MM[lane]
                },
                due_s=due,
                rank=rank,
            )
            for number, (setup, roll, width, length, due, rank) in enumerate(jobs)
        ),
    )
