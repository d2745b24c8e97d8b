"""Every lane judged by every rule, and the choice among them."""

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import datetime

from ticketbridge.decide.estimate.estimate import estimate
from ticketbridge.decide.estimate.roll import lifting_caution
from ticketbridge.decide.layout import LayoutProblem, place
from ticketbridge.decide.layout.arrangement import Arrangement
from ticketbridge.decide.layout.flaws import behind_flaws
from ticketbridge.decide.roll_choice import RollAt, RollChoice, choose_roll, usable_width_mm
from ticketbridge.decide.rules import LaneQuestion, Neighbour, judge
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.finding import Finding
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.layout import Layout
from ticketbridge.model.learned import NOTHING_LEARNED, Experience
from ticketbridge.model.order import Item, Order
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import Roll, Substrate
from ticketbridge.model.verdict import Answer, LaneVerdict


@dataclass(frozen=True, slots=True)
class Judged:
    """One lane's answer for one item.

    Attributes:
        press: The press of the lane.
        lane: The lane.
        roll: The roll it was judged with; None where the shop has none that suits.
        layout: On that roll, or on a width that the shop buys; or why there is none.
        estimate: None without a layout, or without a known print mode.
        verdict: What every rule says.
        minutes_ahead: Until all that is queued for the lane has been printed.
        cautions: What to mind besides, such as a heavy roll.
    """

    press: Press
    lane: Lane
    roll: RollAt | None
    layout: Layout | LayoutProblem
    estimate: Estimate | None
    verdict: LaneVerdict
    minutes_ahead: float
    cautions: tuple[Finding, ...]

    @property
    def finish_minutes(self) -> float:
        """From now until it would be printed: queue, changes, print."""
        printing = self.estimate.print_s / 60 if self.estimate else 0.0
        return self.minutes_ahead + self.verdict.minutes + printing


def judge_lanes(
    item: Item,
    order: Order,
    shop: Shop,
    lane_states: Mapping[str, LaneState],
    now: datetime,
    crew: Set[str] | None,
    stock: Sequence[Roll] | None = None,
    experience: Experience = NOTHING_LEARNED,
) -> tuple[Judged, ...]:
    """Every lane of the shop judged for an item, in the order of the configuration.

    Args:
        item: What to print, one of the order's.
        order: For its due time.
        shop: The configuration.
        lane_states: By DeviceID; a lane that is missing is idle with the roll it was configured with.
        now: With its offset.
        crew: Names of the people on shift; None where nobody keeps a list.
        stock: Rolls on the shelf now; None takes those that the shop was configured with.
        experience: What finished prints taught about time and ink.
    """
    shelf = shop.stock if stock is None else stock
    bench = _Bench(item, order, shop, lane_states, now, crew, shelf, experience)
    return tuple(bench.judged(press, lane) for press in shop.presses.values() for lane in press.lanes)


def choose(judged: Sequence[Judged]) -> Judged | None:
    """The lane to print on, or None where every lane says never.

    A piece in one is better than panels welded together, so a lane that can print it whole, be it after a
    change, comes before one that needs panels. Then the best answer wins; then the fewest things to wait
    for, the fewest minutes of change, the earliest finish, the least waste, and at last the DeviceID, so
    that the same question has the same answer. The count of things to wait for keeps a lane that is merely
    late before one that lacks the roll as well.
    """
    possible = [one for one in judged if one.verdict.answer is not Answer.NEVER]
    return min(possible, key=_by_merit, default=None)


def _by_merit(judged: Judged) -> tuple[bool, bool, Answer, int, float, float, float, str]:
    answers = [verdict.answer for verdict in judged.verdict.verdicts]
    waste = judged.layout.waste_percent if isinstance(judged.layout, Layout) else 100.0
    answer = max(answers)
    return (
        answer is Answer.NOT_UNTIL,
        isinstance(judged.layout, Layout) and bool(judged.layout.panels),
        answer,
        answers.count(Answer.NOT_UNTIL),
        judged.verdict.minutes,
        judged.finish_minutes,
        waste,
        judged.lane.device_id,
    )


class _Bench:
    """What is the same for every lane, looked up once for one item."""

    def __init__(
        self,
        item: Item,
        order: Order,
        shop: Shop,
        lane_states: Mapping[str, LaneState],
        now: datetime,
        crew: Set[str] | None,
        shelf: Sequence[Roll],
        experience: Experience,
    ) -> None:
        self._item = item
        self._due = order.due
        self._shop = shop
        self._now = now
        self._crew = crew
        self._shelf = shelf
        self._experience = experience
        self._states = {
            lane.device_id: lane_states.get(lane.device_id) or LaneState(roll=lane.roll)
            for press in shop.presses.values()
            for lane in press.lanes
        }
        self._substrate = shop.substrates.get(item.substrate)
        self._mode = shop.print_modes.get(item.print_mode)
        self._available = self._rolls_available()
        self._layouts: dict[tuple[Arrangement, tuple[float, ...]], Layout] = {}

    def judged(self, press: Press, lane: Lane) -> Judged:
        state = self._states[lane.device_id]
        choice = self._choice(lane, state)
        layout = self._layout(choice, lane)
        takes = None
        if self._mode and isinstance(layout, Layout):
            takes = estimate(layout, self._item, self._mode, press, self._experience)
        question = LaneQuestion(
            item=self._item,
            substrate=self._substrate,
            print_mode=self._mode,
            press=press,
            lane=lane,
            loaded=state.roll,
            roll=choice.roll,
            layout=layout,
            estimate=takes,
            running=state.running,
            neighbours=tuple(self._neighbour(other) for other in press.lanes if other is not lane),
            minutes_ahead=state.minutes_ahead,
            now=self._now,
            due=self._due,
            crew_on_shift=self._on_shift(press),
        )
        cautions = self._cautions(choice.roll, lane)
        return Judged(press, lane, choice.roll, layout, takes, judge(question), state.minutes_ahead, cautions)

    def _rolls_available(self) -> list[RollAt]:
        """Rolls of the substrate on the shelf, and on lanes with nothing to do."""
        wanted = self._item.substrate
        shelf = [RollAt(roll, None) for roll in self._shelf if roll.substrate == wanted]
        idle = [
            RollAt(state.roll, device_id)
            for device_id, state in self._states.items()
            if state.roll and state.roll.substrate == wanted and not state.running and not state.given
        ]
        return shelf + idle

    def _choice(self, lane: Lane, state: LaneState) -> RollChoice:
        if self._substrate is None:
            problem = LayoutProblem(
                "lanes.substrate-needed", {"rule": "width", "substrate": self._item.substrate}
            )
            return RollChoice(None, lane.width_mm, problem)
        others = [at for at in self._available if at.device_id != lane.device_id]
        return choose_roll(self._item, self._substrate, lane, state.roll, others)

    def _layout(self, choice: RollChoice, lane: Lane) -> Layout | LayoutProblem:
        """The layout of a choice; lanes of equal measures share one, as placements are many."""
        if isinstance(choice.arrangement, LayoutProblem):
            return choice.arrangement
        usable = usable_width_mm(lane, choice.width_mm)
        measures = (usable, choice.width_mm, lane.gap_mm, lane.leader_mm, lane.trailer_mm)
        key = (choice.arrangement, measures)
        if key not in self._layouts:
            self._layouts[key] = place(choice.arrangement, self._item, *measures)
        flaws = choice.roll.roll.flaws if choice.roll else ()
        return behind_flaws(self._layouts[key], flaws, lane.gap_mm)

    def _neighbour(self, lane: Lane) -> Neighbour:
        state = self._states[lane.device_id]
        running = self._catalogued(state.running.substrate) if state.running else None
        loaded = self._catalogued(state.roll.substrate) if state.roll else None
        return Neighbour(lane, state.roll, loaded, state.running, running)

    def _catalogued(self, substrate_id: str) -> Substrate | None:
        return self._shop.substrates.get(substrate_id)

    def _on_shift(self, press: Press) -> bool | None:
        if self._crew is None or not press.crew:
            return None
        return not self._crew.isdisjoint(press.crew)

    def _cautions(self, roll: RollAt | None, lane: Lane) -> tuple[Finding, ...]:
        if roll is None or roll.device_id == lane.device_id or self._substrate is None:
            return ()
        caution = lifting_caution(roll.roll, self._substrate, self._shop.settings.lifting_limit_kg)
        return (caution,) if caution else ()
