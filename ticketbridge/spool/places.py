"""The places of a shop folder by name, so that no path is put together anywhere else."""

from dataclasses import dataclass
from pathlib import Path

CLAIM_SEPARATOR = "~"
MOST_NAME_BYTES = 255
"""Of a name in a folder (NAME_MAX of every file system that is used for this)."""
LONGEST_ENDING = 20
"""Bytes that we ever add to the name of a claimed file."""


@dataclass(frozen=True, slots=True)
class SourcePlaces:
    """The folders of one source. A ticket's state is the folder it lies in."""

    folder: Path

    @property
    def drop(self) -> Path:
        """Where the MIS or the operator drops."""
        return self.folder / "drop"

    @property
    def claimed(self) -> Path:
        """Taken, and not yet in the store."""
        return self.folder / "claimed"

    @property
    def waiting(self) -> Path:
        """Taken, and waiting for artwork; not yet in the store."""
        return self.folder / "waiting"

    @property
    def accepted(self) -> Path:
        """Became one job or more."""
        return self.folder / "accepted"

    @property
    def artwork(self) -> Path:
        """Artwork that came alone and became a job; the press opens it here."""
        return self.folder / "artwork"

    @property
    def repeated(self) -> Path:
        """The same content again: already a job."""
        return self.folder / "repeated"

    @property
    def refused(self) -> Path:
        """Refused, with its findings beside it."""
        return self.folder / "refused"

    @property
    def status(self) -> Path:
        """JMF signals for the MIS, one file each."""
        return self.folder / "status"

    @property
    def returned(self) -> Path:
        """Tickets that came back from the press, with audits."""
        return self.folder / "returned"

    def all(self) -> tuple[Path, ...]:
        """Every folder of the source."""
        return (
            self.drop, self.claimed, self.waiting, self.accepted, self.artwork, self.repeated, self.refused,
            self.status, self.returned,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class LanePlaces:
    """The folders between the bridge and one lane of a press."""

    folder: Path

    @property
    def tickets(self) -> Path:
        """Tickets for the press."""
        return self.folder / "in"

    @property
    def status(self) -> Path:
        """JMF signals of the press."""
        return self.folder / "status"

    @property
    def returned(self) -> Path:
        """Tickets that the press gives back."""
        return self.folder / "returned"

    @property
    def followed(self) -> Path:
        """What the press said and the store has."""
        return self.folder / "followed"

    @property
    def artwork(self) -> Path:
        """Copies of artwork for the press, each under the hash of its content."""
        return self.folder / "artwork"

    def all(self) -> tuple[Path, ...]:
        """Every folder of the lane."""
        return (self.tickets, self.status, self.returned, self.followed, self.artwork)


@dataclass(frozen=True, slots=True)
class ShopPlaces:
    """The shop folder."""

    folder: Path

    @property
    def state(self) -> Path:
        """The store, the lock and nothing else."""
        return self.folder / "state"

    @property
    def database(self) -> Path:
        """The SQLite store."""
        return self.state / "bridge.sqlite"

    @property
    def kept_mappings(self) -> Path:
        """Every version of a mapping that went live."""
        return self.state / "mappings"

    @property
    def requests(self) -> Path:
        """What people ask by command, one file each."""
        return self.state / "requests"

    @property
    def replies(self) -> Path:
        """What the bridge answered, under the same names."""
        return self.state / "replies"

    @property
    def exchanges(self) -> Path:
        """The last messages to and from each partner, for people."""
        return self.state / "exchanges"

    @property
    def archive(self) -> Path:
        """What was put away: one archive for each month and kind."""
        return self.folder / "archive"

    @property
    def lock(self) -> Path:
        """Held by the one bridge that runs on this folder."""
        return self.state / "bridge.lock"

    def source(self, folder: str) -> SourcePlaces:
        """The folders of a source."""
        return SourcePlaces(self.folder / folder)

    def lane(self, folder: str) -> LanePlaces:
        """The folders of a lane."""
        return LanePlaces(self.folder / folder)


def claimed_name(claim_id: str, original_name: str) -> str:
    """The fresh name of a claimed file: our own id, then the name it came with, cut to what a folder takes.

    Room is left for what we add to it: the ending of the note beside it, a temporary name, one more attempt.
    """
    room = MOST_NAME_BYTES - LONGEST_ENDING - len(claim_id) - len(CLAIM_SEPARATOR)
    raw = original_name.encode("utf-8", "surrogateescape")
    kept = raw if len(raw) <= room else raw[-room:]
    return f"{claim_id}{CLAIM_SEPARATOR}{kept.decode('utf-8', 'surrogateescape')}"


def claim_of(name: str) -> tuple[str, str]:
    """The claim id and the original name of a claimed file."""
    claim_id, _, original_name = name.partition(CLAIM_SEPARATOR)
    return claim_id, original_name
