"""What holds for the handing over of jobs, whatever waits and however the lanes get on."""

from itertools import combinations
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.decide.beside import lanes_overlap
from ticketbridge.decide.release import WaitingJob, releases
from ticketbridge.model.lane_state import LaneState, RunningWork
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import LayerStack

LANES = {"left": (0, 1600), "right": (1700, 1600), "wide": (0, 3300)}


def shop(ahead: int) -> Shop:
    """A press with two lanes and a wide one over both."""
    lanes = [
        {
            "id": name,
            "name": name,
            "device_id": name,
            "left_mm": left,
            "width_mm": width,
            "folder": name,
            "ahead": ahead,
        }
        for name, (left, width) in LANES.items()
    ]
    press = {
        "id": "tern",
        "name": "Tern",
        "beam_width_mm": 3300,
        "head_swath_mm": 54,
        "carriage_speed_mm_s": 1000,
        "ramp_mm": 150,
        "thickness_um": {"max": 1000},
        "lanes": lanes,
    }
    thicknesses = {"thick": 500, "like": 450, "thin": 200}
    substrates = {
        name: {
            "id": name,
            "name": name,
            "family": "banner",
            "thickness_um": thickness_um,
            "weight_g_m2": 300,
            "widths_mm": [1600],
            "print_modes": ["swift"],
        }
        for name, thickness_um in thicknesses.items()
    }
    sources = [{"id": "mis", "folder": "orders", "mapping": "main"}]
    return Shop.model_validate(
        {
            "settings": {"name": "Harbourlight Graphics", "sender_id": "harbourlight", "sources": sources},
            "substrates": substrates,
            "print_modes": {},
            "presses": {"tern": press},
            "mappings": {},
        }
    )


SHOPS = {ahead: shop(ahead) for ahead in (0, 1, 2)}

jobs = st.lists(
    st.builds(
        WaitingJob,
        queue_entry_id=st.just("Q"),
        device_id=st.sampled_from(sorted(LANES)),
        priority=st.sampled_from([40, 50, 60]),
        due=st.none(),
        number=st.just(0),
        print_mode=st.sampled_from(["swift", "fine"]),
        layer_stack=st.sampled_from([LayerStack.COLOUR, LayerStack.WHITE_COLOUR]),
        substrate=st.sampled_from(["thick", "like", "thin"]),
    ),
    max_size=25,
).map(
    lambda drawn: [
        WaitingJob(f"Q{n}", j.device_id, j.priority, None, n, j.print_mode, j.layer_stack, j.substrate)
        for n, j in enumerate(drawn)
    ]
)


def agree(shop: Shop, one: WaitingJob, other: WaitingJob) -> bool:
    """Whether two jobs may be at their lanes at once, written down anew from the rules of side by side."""
    if one.device_id == other.device_id:
        return True
    lanes = shop.lanes()
    if lanes_overlap(lanes[one.device_id][1], lanes[other.device_id][1]):
        return False
    same = (one.print_mode, one.layer_stack) == (other.print_mode, other.layer_stack)
    thickness = [shop.substrates[job.substrate].thickness_um for job in (one, other)]
    return same and abs(thickness[0] - thickness[1]) <= 60


def states(at_lanes: dict[str, list[WaitingJob]]) -> dict[str, LaneState]:
    """The first at each lane runs; all are given."""
    works = {
        name: tuple(RunningWork(job.print_mode, job.layer_stack, job.substrate) for job in at_lane)
        for name, at_lane in at_lanes.items()
    }
    return {
        name: LaneState(running=work[0] if work else None, given=len(work), given_work=work)
        for name, work in works.items()
    }


@given(jobs, st.sampled_from(sorted(SHOPS)), st.randoms(use_true_random=False))
def test_lanes_that_finish_in_any_order_get_all_their_jobs_and_never_two_that_clash(
    waiting: list[WaitingJob], ahead: int, dice: Random
) -> None:
    shop, at_lanes = SHOPS[ahead], {name: list[WaitingJob]() for name in LANES}
    by_id = {job.queue_entry_id: job for job in waiting}
    for _ in range(2 * len(waiting) + 1):
        for name in releases(by_id.values(), states(at_lanes), shop):
            job = by_id.pop(name)
            at_lanes[job.device_id].append(job)
        for one, other in combinations([job for lane in at_lanes.values() for job in lane], 2):
            assert agree(shop, one, other)
        assert not ahead or max(len(lane) for lane in at_lanes.values()) <= ahead
        busy = sorted(name for name, lane in at_lanes.items() if lane)
        if busy:
            at_lanes[dice.choice(busy)].pop(0)
    assert not by_id
    assert not any(at_lanes.values())


@given(jobs)
def test_the_first_of_all_that_wait_goes_out_where_the_press_is_free(waiting: list[WaitingJob]) -> None:
    released = releases(waiting, {}, SHOPS[1])
    first = min(waiting, key=lambda job: (-job.priority, job.number), default=None)
    assert released[:1] == ((first.queue_entry_id,) if first else ())


@given(jobs, st.randoms(use_true_random=False))
def test_the_order_in_which_jobs_are_listed_does_not_matter(waiting: list[WaitingJob], dice: Random) -> None:
    shuffled = list(waiting)
    dice.shuffle(shuffled)
    assert releases(shuffled, {}, SHOPS[2]) == releases(waiting, {}, SHOPS[2])
