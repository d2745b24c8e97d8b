"""The shop: everything that is configured, checked and frozen."""

from datetime import datetime
from enum import StrEnum
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import Field

from ticketbridge.model.artwork_path import ArtworkPath
from ticketbridge.model.jmf_partner import JmfEndpoint
from ticketbridge.model.keeping import Keeping
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.shift import Shift
from ticketbridge.model.standing_ticket import StandingTicket
from ticketbridge.model.substrate import (
    FromOutside,
    Identifier,
    NotNegative,
    Positive,
    PrintMode,
    Roll,
    Substrate,
)


class Watch(FromOutside):
    """How a drop folder is watched."""

    events: bool = True
    """Ask the kernel for events; leave it off for network shares, which send none. The scan goes on either way."""
    scan_s: Positive = 5
    """A timed look at the whole folder is the truth; events only wake it early."""
    quiet_s: NotNegative = 2
    """A file that no event vouches for must keep size and time this long."""
    patience_s: Positive = 30
    """A file whose end is still missing after this long without a change is refused."""


class IfSomeAreBad(StrEnum):
    """What becomes of the others where one of several is refused."""

    TAKE_THE_GOOD = "take the good"
    TAKE_NONE = "take none"


class Source(FromOutside):
    """Where tickets come from: one hot folder, and where its answers go."""

    id: Identifier
    name: str = ""
    folder: str
    """Relative to the shop folder. Below it lie ``drop``, ``claimed``, ``waiting``, ``accepted``, ``artwork``,
    ``repeated``, ``refused``, ``status`` and ``returned``."""
    mapping: Identifier
    """Which mapping reads its files and translates their words: the name of a file in ``mappings``, without
    ``.yaml``."""
    artwork_roots: tuple[str, ...] = ()
    """Folders besides the drop folder that artwork may lie in, relative to the shop folder or absolute."""
    artwork_patience_s: NotNegative = 0
    """A ticket whose artwork is not there yet waits so long for it in the folder ``waiting``; 0 refuses it at
    once."""
    artwork_paths: tuple[ArtworkPath, ...] = ()
    """What the MIS's paths to artwork mean here and at the press; the first row that fits wins. Without a row
    that fits, paths of shares, drives and other machines are refused."""
    bad_items: IfSomeAreBad = IfSomeAreBad.TAKE_NONE
    """What becomes of an order with several items when some of them cannot be printed. "take the good" prints the
    others and tells of the refused ones by their JobPartID; a corrected item is dropped later, alone or with the
    whole order, as what was taken is not printed twice."""
    bad_lines: IfSomeAreBad = IfSomeAreBad.TAKE_THE_GOOD
    """What becomes of a file with several orders when some of them are refused. The refused lines lie in a note
    beside the file; the corrected file may be dropped again whole, as what was taken is not printed twice."""
    standing_ticket: StandingTicket | None = None
    """What a PDF means that is dropped alone; without it PDFs in the drop folder wait for a ticket that names
    them. Where it is given, artwork for tickets belongs into a folder inside the drop folder."""
    watch: Watch = Watch()
    status_url: Annotated[str, Field(pattern=r"^https?://")] | None = None
    """Where JMF signals are posted, besides the status folder."""
    sender_id: str | None = None
    """``JMF@SenderID`` to use toward this source; default is the shop's."""
    jdf_version: str = "1.7"
    """Version of the JMF written for this source."""


class Limits(FromOutside):
    """What a single ticket may ask of the machine."""

    ticket_bytes: Annotated[int, Field(gt=0)] = 16 * 1024 * 1024
    """Largest file taken for a ticket."""
    elements: Annotated[int, Field(gt=0)] = 200_000
    attributes_per_element: Annotated[int, Field(gt=0)] = 256
    depth: Annotated[int, Field(gt=0, le=256)] = 100
    """Levels of nesting."""
    lines_per_file: Annotated[int, Field(gt=0)] = 1000
    """Order lines in one file."""
    reading_s: Positive = 10
    """How long the rows of a mapping may take to read one file."""


class PlanBy(StrEnum):
    """Who puts a plan into force."""

    HAND = "by hand"
    """A person looks at it and accepts it: ``ticketbridge plan accept``."""
    ITSELF = "by itself"
    """The bridge plans whenever a job, a roll or the state of a lane has changed and there is nothing else to do."""


class Settings(FromOutside):
    """``shop.yaml``."""

    name: str
    sender_id: Identifier
    """``JMF@SenderID`` of the bridge."""
    time_zone: str = "UTC"
    """Times in messages carry the offset of this zone; area and city, such as Europe/Lisbon."""
    store: Annotated[str, Field(pattern=r"^postgresql://([^:@/?]+@)?[^@]*$")] | None = None
    """The PostgreSQL database that several bridges share, such as postgresql://bridge@db.example/harbourlight; without
    it one bridge keeps everything in the folder state. No password belongs here: deploy/README.md tells where."""
    keep_free_mb: NotNegative = 200
    """While a disk that the bridge keeps tickets on has less than this many megabytes free, nothing more is taken
    out of the drop folders, so that what is in work can go on and be reported."""
    lifting_limit_kg: Positive = 25
    """Rolls heavier than this get a caution. 25 kg is a common guideline figure for one person lifting close to
    the body at elbow height (UK HSE L23); set what your local code and your trained people say."""
    roll_difference_percent: Positive = 5
    """A roll whose measured length differs from its account by more than this share of the longer one is told
    to whoever measured it; a person decides which is right."""
    plan: PlanBy = PlanBy.HAND
    """Whether the order of the waiting jobs, and their lanes, are planned by the bridge itself or by hand."""
    partner_wait_minutes: NotNegative = 0
    """A job for a narrow lane waits so long, from its arrival on, for one that prints beside it on the other lane;
    0 waits for nobody. It never waits longer than its due time allows, nor where no partner can come."""
    signal_give_up_days: Positive = 5
    """A message that nobody takes is tried again for so long."""
    keeping: Keeping = Keeping()
    """For how long things stay where they are before they go into an archive, month by month."""
    shifts: tuple[Shift, ...] = ()
    """Who is on shift when, so that a job can be warned of for which nobody trained on the press is there; without
    it nobody's absence is known."""
    limits: Limits = Limits()
    sources: tuple[Source, ...] = Field(min_length=1)
    jmf: JmfEndpoint | None = None
    """JMF by HTTP; without it the bridge listens to folders alone."""

    def on_shift(self, now: datetime) -> frozenset[str] | None:
        """Names of the people on shift; None where the shop has no plan of shifts."""
        if not self.shifts:
            return None
        local = now.astimezone(ZoneInfo(self.time_zone))
        return frozenset(name for shift in self.shifts if shift.runs_at(local) for name in shift.people)


class Shop(FromOutside):
    """The whole shop."""

    settings: Settings
    substrates: dict[Identifier, Substrate]
    print_modes: dict[Identifier, PrintMode]
    presses: dict[Identifier, Press]
    mappings: dict[Identifier, Mapping]
    mapping_hashes: dict[Identifier, str] = Field(default={})
    """SHA-256 of the files that each mapping is made of: its version."""
    stock: tuple[Roll, ...] = ()
    """Rolls on the shelf."""

    def knows(self, substrate: str, print_mode: str) -> bool:
        """Whether the catalogue has both, and the one allows the other."""
        known = self.substrates.get(substrate)
        return known is not None and print_mode in known.print_modes and print_mode in self.print_modes

    def lanes(self) -> dict[str, tuple[Press, Lane]]:
        """Every lane with its press, by the lane's DeviceID."""
        return {lane.device_id: (press, lane) for press in self.presses.values() for lane in press.lanes}
