"""What every step needs: the shop, the store, the places, the clock."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Final, TypeVar

from ticketbridge.accept.artwork_table import PathRow
from ticketbridge.extract.beside import Beside, chunks_of
from ticketbridge.flow.copying import Copying
from ticketbridge.model.job import Job, Standing, queue_entry_id_in
from ticketbridge.model.lane_state import LaneState, RunningWork
from ticketbridge.model.learned import NOTHING_LEARNED, Experience
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.press_link import PressLink
from ticketbridge.model.queue_state import QueueState
from ticketbridge.model.share import LANE, SOURCE, Share, lease_name
from ticketbridge.model.shop import Shop, Source
from ticketbridge.model.stock import StockRoll, Whereabouts
from ticketbridge.model.subscription import Subscription
from ticketbridge.model.substrate import LayerStack, Roll
from ticketbridge.model.used import InkLevel
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import ask_each, resolved, share_of
from ticketbridge.spool.places import LanePlaces, ShopPlaces, SourcePlaces
from ticketbridge.store.records import LaneLoad
from ticketbridge.store.store import Store
from ticketbridge.store.transaction import Transaction

T = TypeVar("T")

DISK_THREADS: Final = 4
"""So many that wait for the disk keep a usual one busy."""


class ShopFaulty(Exception):
    """The shop folder cannot be used as it is now; the text is the first complaint."""


@dataclass(slots=True)
class Missing:
    """The artwork that a waiting ticket lacks, and how it looked when it was last looked for."""

    paths: tuple[Path, ...]
    looks: tuple[tuple[int, int] | None, ...] = ()
    since: datetime | None = None


@dataclass(slots=True)
class Pace:
    """How a channel that was opened by message is fed; this run's, as a new one begins with the state."""

    sent_at: datetime | None = None
    steps: int = 0
    observed: tuple[str, ...] | None = None


@dataclass(slots=True)
class Bridge:
    """One running bridge. Used by one thread, the one that moves jobs."""

    shop: Shop
    store: Store
    places: ShopPlaces
    now: Callable[[], datetime]
    disk: Executor
    """Threads that wait for the disk, so that many files are synced at once."""
    agent_version: str
    notice: Callable[..., None]
    """Writes a line to the log: an event's name and its facts."""
    reload: Callable[[], Shop] | None = None
    """Reads the shop folder anew; raises ``ShopFaulty`` where it has faults. None where nobody reloads."""
    mapping_numbers: dict[tuple[str, str], int] = field(default_factory=dict)
    """Numbers of versions of mappings, by the mapping's id and the hash of its files."""
    unfinished_lanes: set[str] = field(default_factory=set)
    """Lanes with deliveries that must be settled from the evidence before anything else is given to them."""
    unfinished_sources: set[str] = field(default_factory=set)
    """Sources whose claimed files could not be looked at when the bridge started."""
    hanging: frozenset[str] = frozenset()
    """Shares that did not answer when last looked at; what they serve is set aside until they do."""
    put_off: dict[str, str] = field(default_factory=dict)
    """What cannot go on before a share answers, by source, or by the path of what a press wrote: which share."""
    strayed: bool = False
    """Whether a share hung in the middle of a step: what the step left half done must be put right from evidence."""
    missing: dict[str, Missing] = field(default_factory=dict)
    """What this run knows of tickets that wait for artwork, by claim; the folder ``waiting`` is the truth."""
    share: Share = field(default_factory=Share)
    """What of the shop this bridge serves."""
    experience: Experience = NOTHING_LEARNED
    """What finished prints taught about time and ink."""
    actuals_are_new: bool = True
    """Whether prints have ended that nothing was learned from yet."""
    plan_is_old: bool = True
    """Whether something has changed since the bridge last planned by itself."""
    queues: dict[str, QueueState] = field(init=False)
    """Queues that were closed or held; the store remembers."""
    subscriptions: list[Subscription] = field(init=False)
    """Open channels; the store remembers."""
    paces: dict[str, Pace] = field(default_factory=dict)
    """How the open channels are fed."""
    inks: dict[str, tuple[InkLevel, ...]] = field(default_factory=dict)
    """What the presses said of their inks in this run, by lane."""
    awaited: dict[str, Callable[[Any], None]] = field(default_factory=dict)
    """Who waits for the outcome of a submitted ticket, by its claim without attempts. Told after the commit."""

    beside: Beside = field(default_factory=Beside)
    """Child processes that read and write tickets; none where nobody said how many."""
    copying: Copying = field(default_factory=Copying)
    """Copies of artwork beside lanes."""
    numbers: Iterator[int] = field(init=False)
    sources: dict[str, Source] = field(init=False)
    lanes: dict[str, tuple[Press, Lane]] = field(init=False)

    def on_disk(self, folder: Path, works: Sequence[Callable[[], T]]) -> list[T]:
        """What each piece of work on a folder gives; several at a time, as each waits for the disk.

        Raises:
            ShareHangs: The folder's share does not answer.
        """
        if share_of(folder):
            return ask_each(folder, works)
        return [given for some in self.disk.map(_each, chunks_of(works, DISK_THREADS)) for given in some]

    def __post_init__(self) -> None:
        self.numbers = self.store.numbers()
        self.read_queues()
        self.use(self.shop)

    def read_queues(self) -> None:
        """Go by the queues and subscriptions as the store has them; another bridge may have changed them."""
        with self.store.reading() as tx:
            self.queues, self.subscriptions = tx.queue_states(), tx.subscriptions()

    def use(self, shop: Shop) -> None:
        """Go by this shop from now on."""
        self.shop = shop
        self.sources = {source.id: source for source in shop.settings.sources}
        self.lanes = shop.lanes()

    @property
    def my_sources(self) -> list[str]:
        """The sources that this bridge serves."""
        return [source_id for source_id in self.sources if self.share.has(SOURCE, source_id)]

    @property
    def my_lanes(self) -> list[str]:
        """The lanes that this bridge serves."""
        return [device_id for device_id in self.lanes if self.share.has(LANE, device_id)]

    def lane_is_gone(self, device_id: str, error: Exception) -> None:
        """A lane's folder cannot be used; told once, and asked again by ``rescue_lane``."""
        if not isinstance(error, ShareHangs) and device_id not in self.unfinished_lanes:
            folder = str(self.lane_places(device_id).tickets)
            self.notice("lane.not-ready", device_id=device_id, folder=folder, reason=str(error))
        self.unfinished_lanes.add(device_id)
        self.plan_is_old = True

    def source_is_gone(self, source_id: str, error: Exception) -> None:
        """A source's folder cannot be used; told once, and asked again by ``rescue_claims``."""
        if not isinstance(error, ShareHangs) and source_id not in self.unfinished_sources:
            self.notice("source.not-ready", source_id=source_id, reason=str(error))
        self.unfinished_sources.add(source_id)

    def put_off_source(self, source_id: str, error: ShareHangs) -> None:
        """Files of a source lie claimed that cannot be taken in before a share answers, its own or another."""
        self.source_is_gone(source_id, error)
        self.put_off[source_id] = error.share

    def lane_hangs(self, device_id: str) -> bool:
        """Whether the share of a lane does not answer."""
        return lease_name(LANE, device_id) in self.hanging

    def is_put_off(self, name: str) -> bool:
        """Whether this waits for a share that still does not answer."""
        return self.put_off.get(name) in self.hanging

    def source_places(self, source_id: str) -> SourcePlaces:
        """The folders of a source."""
        return self.places.source(self.sources[source_id].folder)

    def lane_places(self, device_id: str) -> LanePlaces:
        """The folders of a lane."""
        return self.places.lane(self.lanes[device_id][1].folder)

    def link(self, device_id: str) -> PressLink | None:
        """How the press of a lane is reached by message; None where its tickets go into the lane's folder."""
        found = self.lanes.get(device_id)
        return None if found is None else found[0].jmf

    def artwork_roots(self, source_id: str) -> tuple[Path, ...]:
        """Folders that artwork of this source may lie in, resolved."""
        return artwork_roots(self.places, self.sources[source_id])


def _each(works: Sequence[Callable[[], T]]) -> list[T]:
    return [work() for work in works]


def artwork_roots(places: ShopPlaces, source: Source) -> tuple[Path, ...]:
    """Where artwork is dropped and kept, and what the shop allows besides; relative ones count from the shop folder."""
    return tuple(resolved(root) for root in artwork_folders(places, source))


def artwork_folders(places: ShopPlaces, source: Source) -> tuple[Path, ...]:
    """The same as they are configured, with their links."""
    allowed = [*source.artwork_roots, *(row.here for row in source.artwork_paths)]
    mine = places.source(source.folder)
    return (mine.drop, mine.artwork, *(places.folder / root for root in allowed))


def artwork_rows(places: ShopPlaces, source: Source) -> tuple[PathRow, ...]:
    """The source's table of artwork paths with its folders resolved."""
    return tuple(
        PathRow(row.mis, resolved(places.folder / row.here), row.press) for row in source.artwork_paths
    )


def lane_states(shop: Shop, rolls: Mapping[str, Roll], loads: Sequence[LaneLoad]) -> dict[str, LaneState]:
    """What the rules need to know of each lane: its work, the minutes ahead, its roll as its queue will leave it."""
    states = {}
    for device_id in shop.lanes():
        mine = [load for load in loads if load.device_id == device_id]
        given = [load for load in mine if load.given]
        work = tuple(
            RunningWork(load.print_mode, LayerStack(load.layer_stack), load.substrate) for load in given
        )
        states[device_id] = LaneState(
            roll=_after(rolls.get(device_id), mine),
            running=work[0] if work else None,
            minutes_ahead=sum(load.print_s for load in mine) / 60,
            given=sum(load.tickets for load in given),
            given_work=work,
        )
    return states


def _after(roll: Roll | None, queue: Sequence[LaneLoad]) -> Roll | None:
    """The roll with what is left when the queue is printed."""
    if roll is None:
        return None
    return shortened(roll, sum(load.roll_length_mm for load in queue if load.substrate == roll.substrate))


def shortened(roll: Roll, length_mm: float) -> Roll:
    """The roll with that much less on it."""
    return roll.used(length_mm)


@dataclass(frozen=True, slots=True)
class World:
    """What a decision goes by, as the store has it now."""

    states: dict[str, LaneState]
    stock: Sequence[StockRoll]
    planned: Mapping[tuple[str, int], float] = field(default_factory=dict)
    """By lot and number: the length of a roll on the shelf, in mm, that jobs which have not begun will take off it."""

    @property
    def shelf(self) -> tuple[Roll, ...]:
        """The rolls on the shelf, as they will be when the jobs laid out on them are printed."""
        rolls = (one.roll for one in self.stock if one.where is Whereabouts.SHELF)
        return tuple(shortened(roll, self.planned.get(roll.identity, 0.0)) for roll in rolls)


def read_world(bridge: Bridge, tx: Transaction) -> World:
    """The lanes and the rolls; each is read once, because decisions are made by the dozen."""
    stock = tx.stock()
    on_the_shelf = {one.roll.lot for one in stock if one.where is Whereabouts.SHELF}
    states = lane_states(bridge.shop, rolls_on_lanes(stock), tx.lane_loads())
    return World(states, stock, tx.planned_on_rolls(on_the_shelf))


def planned_on(shelf: Sequence[Roll], job: Job) -> tuple[Roll, ...]:
    """The shelf with one more job laid out on it, for the judgement of the next."""
    mine = job.roll and job.roll.identity
    return tuple(
        shortened(roll, job.estimate.roll_length_mm) if roll.identity == mine else roll for roll in shelf
    )


def rolls_on_lanes(stock: Sequence[StockRoll]) -> dict[str, Roll]:
    """The roll on each lane, by the lane's DeviceID."""
    return {one.device_id: one.roll for one in stock if one.device_id is not None}


def job_at(bridge: Bridge, tx: Transaction, device_id: str, press_part: str) -> Standing | None:
    """The job that a press speaks of by its JobPartID; None where it was never given it.

    By message a press speaks for all of its lanes at one address, and not every message names the lane.
    """
    name = queue_entry_id_in(press_part)
    if bridge.link(device_id) is None:
        return tx.job_at_lane(device_id, name)
    job, press = tx.find_standing(name), bridge.lanes[device_id][0]
    mine = job is not None and job.given and job.device_id in [lane.device_id for lane in press.lanes]
    return job if mine else None
