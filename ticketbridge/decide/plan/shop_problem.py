"""The shop as it stands, turned into a problem of the plan."""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from math import inf
from typing import Final, TypeVar

from ticketbridge.decide.beside import LaneWork, clash_of, lanes_overlap
from ticketbridge.decide.estimate.time import advance_on, sweeps
from ticketbridge.decide.plan.blocks import Row
from ticketbridge.decide.plan.hours import windows_s
from ticketbridge.decide.plan.problem import (
    NOTHING,
    Carriage,
    Image,
    PlanJob,
    PlanPress,
    Problem,
    RollKind,
    Stand,
)
from ticketbridge.decide.route import Judged, judge_lanes
from ticketbridge.model.job import Job, Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.layout import Layout
from ticketbridge.model.learned import NOTHING_LEARNED, Experience
from ticketbridge.model.press import CarriageSpan, Lane, Press, Shafts
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import LayerStack, PrintMode, Roll
from ticketbridge.model.verdict import Answer

_T = TypeVar("_T")

USUAL_PRIORITY: Final = 50
"""What an order has that says nothing; lateness of a job counts by priority / usual priority."""

SetupKey = tuple[str, LayerStack, bool]
"""Print mode, layers, underlay."""
RollKey = tuple[str, float]
"""Substrate and width."""


@dataclass(frozen=True, slots=True)
class Queued:
    """A job as the store has it: where it stands, and what was decided."""

    standing: Standing
    job: Job


@dataclass(frozen=True, slots=True)
class ShopNow:
    """What a plan is made from.

    Attributes:
        shop: The configuration.
        waiting: Jobs the bridge holds and may hand over.
        given: Jobs that a press has.
        rolls: The roll on each lane, by DeviceID.
        shelf: Rolls on the shelf.
        now: The moment, with its offset.
        zone: The zone of the shop's clock.
        closed: Lanes that nothing can be given to at present.
        experience: What finished prints taught about time and ink.
    """

    shop: Shop
    waiting: Sequence[Queued]
    given: Sequence[Queued]
    rolls: Mapping[str, Roll]
    shelf: Sequence[Roll]
    now: datetime
    zone: tzinfo
    closed: Set[str] = frozenset()
    experience: Experience = NOTHING_LEARNED


@dataclass(slots=True)
class ShopProblem:
    """The problem, and the way back to the shop.

    Attributes:
        problem: What is to be planned.
        judged: Every lane's judgement of each waiting job, by queue entry and DeviceID.
        unplanned: Waiting jobs that no lane can take as things are: queue entry and code of the reason.
        devices: DeviceID of each lane of the problem.
        setups: What each setup is.
    """

    problem: Problem
    judged: dict[str, dict[str, Judged]]
    unplanned: dict[str, str]
    devices: tuple[str, ...]
    setups: tuple[SetupKey, ...]


def shop_problem(now: ShopNow) -> ShopProblem:
    """Judge every waiting job on every lane, and put what is possible into numbers."""
    return _Reading(now).read()


class _Reading:
    """Collects names as it meets them; an index is a place in these lists."""

    def __init__(self, now: ShopNow) -> None:
        self._now = now
        self._presses = tuple(now.shop.presses.values())
        self._lanes = [(press, lane) for press in self._presses for lane in press.lanes]
        self._lane_at = {lane.device_id: index for index, (_, lane) in enumerate(self._lanes)}
        self._press_at = {press.id: index for index, press in enumerate(self._presses)}
        self._setups: list[SetupKey] = []
        self._rolls: list[RollKey] = []
        self._stands: list[Stand] = []
        known = (one for one in now.given if self._is_known(one))
        self._given = sorted(known, key=_first_at_the_press)

    def read(self) -> ShopProblem:
        judged: dict[str, dict[str, Judged]] = {}
        unplanned: dict[str, str] = {}
        jobs = [self._given_job(one) for one in self._given]
        ranks = sorted({_said(one.standing) for one in self._now.waiting})
        for one in self._now.waiting:
            name = one.standing.queue_entry_id
            judged[name] = {each.lane.device_id: each for each in self._judge(one)}
            own = (
                [judged[name][one.standing.device_id]] if _is_placed(one.standing) else judged[name].values()
            )
            images = self._images(own)
            if images:
                jobs.append(self._job(one, images, ranks.index(_said(one.standing))))
            else:
                unplanned[name] = "plan.no-lane" if self._possible(judged[name].values()) else "plan.no-roll"
        for device_id, roll in self._now.rolls.items():
            if device_id in self._lane_at:
                self._roll_index(roll)
        running = self._running(jobs)
        problem = Problem(
            presses=tuple(
                self._plan_press(press, running.get(index)) for index, press in enumerate(self._presses)
            ),
            lanes=tuple(lane.device_id for _, lane in self._lanes),
            setups=tuple(setup_in_words(key, self._now.shop.print_modes) for key in self._setups),
            rolls=tuple(self._kind(key) for key in self._rolls),
            stands=tuple(self._stands),
            beside=tuple(self._beside(stand) for stand in self._stands),
            overlapping=tuple(self._overlapping(lane) for lane in range(len(self._lanes))),
            jobs=tuple(jobs),
            running=running,
        )
        devices = tuple(lane.device_id for _, lane in self._lanes)
        return ShopProblem(problem, judged, unplanned, devices, tuple(self._setups))

    def _is_known(self, one: Queued) -> bool:
        """Whether the shop still has the lane and the mode of a job that a press has."""
        modes = self._now.shop.print_modes
        return (
            one.standing.device_id in self._lane_at
            and one.job.roll is not None
            and one.job.item.print_mode in modes
        )

    def _judge(self, one: Queued) -> tuple[Judged, ...]:
        """As if every lane stood idle with its roll: what runs beside is the plan's own care."""
        states = {
            lane.device_id: LaneState(roll=self._now.rolls.get(lane.device_id)) for _, lane in self._lanes
        }
        job = one.job
        now = self._now
        return judge_lanes(job.item, job.order, now.shop, states, now.now, None, now.shelf, now.experience)

    def _possible(self, judged: Iterable[Judged]) -> bool:
        """Whether some lane could take it if it were open; else it is for want of a roll."""
        return any(one.roll is not None and one.verdict.answer is not Answer.NEVER for one in judged)

    def _images(self, judged: Iterable[Judged]) -> dict[int, Image]:
        images = {}
        for one in judged:
            layout = one.layout
            if (
                one.verdict.answer is Answer.NEVER
                or one.roll is None
                or not isinstance(layout, Layout)
                or one.lane.device_id in self._now.closed
            ):
                continue
            images[self._stand(one.lane, one.roll.roll)] = _image(one.lane, layout, share=1.0)
        return images

    def _job(self, one: Queued, images: Mapping[int, Image], rank: int) -> PlanJob:
        standing = one.standing
        due_s = (standing.due - self._now.now).total_seconds() if standing.due else inf
        return PlanJob(
            name=standing.queue_entry_id,
            setup=self._setup(one),
            images=images,
            due_s=due_s,
            weight=max(standing.priority, 1) / USUAL_PRIORITY,
            rank=rank,
        )

    def _given_job(self, one: Queued) -> PlanJob:
        """A job at the press: what is left of it, where it is."""
        standing, job = one.standing, one.job
        assert job.roll is not None  # noqa: S101  a job without a roll is never handed over
        left = max(0.02, 1 - (standing.amount + standing.waste) / standing.quantity)
        lane = self._lanes[self._lane_at[standing.device_id]][1]
        image = _image(lane, job.layout, share=left)
        return replace(self._job(one, {self._stand(lane, job.roll): image}, 0), rank=NOTHING)

    def _running(self, jobs: Sequence[PlanJob]) -> dict[int, tuple[int, tuple[Row, ...]]]:
        """By press: what it was given, as one block of the setup that runs.

        A ticket given ahead that is of another setup is counted into that block all the same: it will be
        printed next, whatever is planned.
        """
        rows: dict[int, dict[int, tuple[int, ...]]] = {}
        for index in range(len(self._given)):
            stand = next(iter(jobs[index].images))
            mine = rows.setdefault(self._stands[stand].press, {})
            mine[stand] = (*mine.get(stand, ()), index)
        return {
            press: (jobs[min(row[0] for row in mine.values())].setup, tuple(mine.items()))
            for press, mine in rows.items()
        }

    def _setup(self, one: Queued) -> int:
        substrate = self._now.shop.substrates.get(one.job.item.substrate)
        underlay = substrate is not None and substrate.needs_underlay
        return _index(self._setups, (one.job.item.print_mode, one.job.item.layer_stack, underlay))

    def _stand(self, lane: Lane, roll: Roll) -> int:
        lane_index = self._lane_at[lane.device_id]
        press = self._press_at[self._lanes[lane_index][0].id]
        return _index(self._stands, Stand(press, lane_index, self._roll_index(roll)))

    def _roll_index(self, roll: Roll) -> int:
        return _index(self._rolls, (roll.substrate, roll.width_mm))

    def _kind(self, key: RollKey) -> RollKind:
        substrate = self._now.shop.substrates.get(key[0])
        lengths = [
            roll.length_left_m * 1000 for roll in self._now.shelf if (roll.substrate, roll.width_mm) == key
        ]
        return RollKind(
            name=f"{key[0]}, {key[1]:g} mm",
            thickness_um=substrate.thickness_um if substrate else 0.0,
            stock_mm=tuple(lengths),
            core_mm=substrate.core_outside_mm if substrate else 0.0,
        )

    def _beside(self, stand: Stand) -> frozenset[int]:
        press, _ = self._lanes[stand.lane]
        mine = self._work(stand)
        return frozenset(
            index
            for index, other in enumerate(self._stands)
            if other.press == stand.press
            and other.lane != stand.lane
            and clash_of(press, mine, self._work(other)) is None
        )

    def _work(self, stand: Stand) -> LaneWork:
        """A roll on a lane; mode and layers are equal in a block, so any will do."""
        substrate_id, width_mm = self._rolls[stand.roll]
        lane = self._lanes[stand.lane][1]
        substrate = self._now.shop.substrates.get(substrate_id)
        return LaneWork(lane, "", LayerStack.COLOUR, substrate_id, substrate, width_mm)

    def _overlapping(self, lane: int) -> tuple[int, ...]:
        press, mine = self._lanes[lane]
        return tuple(
            index
            for index, (other_press, other) in enumerate(self._lanes)
            if other_press is press and other is not mine and lanes_overlap(mine, other)
        )

    def _plan_press(self, press: Press, running: tuple[int, tuple[Row, ...]] | None) -> PlanPress:
        mine = [(at, lane) for at, (its, lane) in enumerate(self._lanes) if its is press]
        loaded = {
            at: self._now.rolls[lane.device_id] for at, lane in mine if lane.device_id in self._now.rolls
        }
        minutes = press.changeover_minutes
        common = press.shafts is Shafts.COMMON
        return PlanPress(
            name=press.id,
            carriage=Carriage(
                beam_mm=press.beam_width_mm if press.carriage_span is CarriageSpan.BEAM else None,
                ramp_mm=press.ramp_mm,
                speed_mm_s=press.carriage_speed_mm_s,
                dwell_s=press.dwell_s,
                head_swath_mm=press.head_swath_mm,
            ),
            sweeps_per_mm=tuple(self._sweeps_per_mm(press, key) for key in self._setups),
            change_s=tuple(
                tuple(
                    60
                    * (minutes.print_mode * (one[:2] != other[:2]) + minutes.underlay * (one[2] != other[2]))
                    for other in self._setups
                )
                for one in self._setups
            ),
            roll_change_s=60 * minutes.roll,
            job_gap_mm=max(lane.leader_mm + lane.trailer_mm for _, lane in mine),
            setup=running[0] if running else NOTHING,
            loaded={at: self._roll_index(roll) for at, roll in loaded.items()},
            left_mm={at: roll.length_left_m * 1000 for at, roll in loaded.items()},
            hours=windows_s(self._now.shop.settings.shifts, press.crew, self._now.now, self._now.zone),
            diameter_tolerance_mm=press.side_by_side.diameter_tolerance_mm if common else None,
        )

    def _sweeps_per_mm(self, press: Press, key: SetupKey) -> float:
        mode = self._now.shop.print_modes[key[0]]
        learned = self._now.experience.time.for_print(press.id, mode.id, "")
        return learned.factor * sweeps(mode.direction) / advance_on(press, mode, key[1])


def _image(lane: Lane, layout: Layout, share: float) -> Image:
    left = lane.left_mm + lane.margin_left_mm + layout.image_left_mm
    return Image(left, left + layout.image_width_mm, max(1.0, share * layout.length_mm))


def _is_placed(job: Standing) -> bool:
    """Whether somebody gave it a place in its lane's queue: then it stays on that lane."""
    return job.position is not None


def _said(job: Standing) -> tuple[bool, int, int]:
    """What people and the MIS said of the order, which the plan may not change: the place given, then priority."""
    return (job.position is None, job.position or 0, -job.priority)


def _first_at_the_press(one: Queued) -> tuple[bool, int]:
    return (one.standing.state is not State.RUNNING, one.standing.number)


def _index(known: list[_T], one: _T) -> int:
    """Its place in the list, at the end where it was not there yet."""
    if one not in known:
        known.append(one)
    return known.index(one)


def setup_in_words(key: SetupKey, modes: Mapping[str, PrintMode]) -> str:
    """Print mode, layers and underlay as people say them."""
    mode = modes[key[0]].name if key[0] in modes else key[0]
    return f"{mode}; {key[1].value}" + (" on the underlay" if key[2] else "")
