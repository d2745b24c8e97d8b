"""Whether a disk after a power cut keeps the promises: an independent judge that imports nothing of the bridge.

It knows the folders and the tables as the documents describe them, and what people and partners had seen before the
cut: files shown as accepted, positive answers, tickets at a press, messages in a status folder.
"""

import hashlib
import json
import re
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any, Final

from lxml import etree

from tests.processes.power.lossy_disk import File, Folder, Image, LossyDisk
from tests.processes.power.system_calls import Moment

SOURCES: Final = "shop/hotfolders"
DROP: Final = f"{SOURCES}/mis/drop"
TAKEN: Final = "taken"
STORE: Final = "shop/state/bridge.sqlite"
PLACES: Final = frozenset({"drop", "claimed", "waiting", "accepted", "repeated", "refused"})
SETTLED: Final = frozenset({"accepted", "repeated", "refused"})
ENTRY: Final = re.compile(rb'<QueueEntry QueueEntryID="(Q\d+)" JobID="([^"]+)"')
LANE: Final = re.compile(
    r"shop/lanes/[^/]+/in/(?:\.ticketbridge-(?P<held>Q\d+)(?:\.[^.]+)?\.tmp|(?P<given>Q\d+)\.jdf)"
)


@dataclass
class Seen:
    """What others had seen of the bridge when the power went."""

    accepted: set[str] = field(default_factory=set)
    """Claims whose files lay in ``accepted``."""
    answered: dict[str, str] = field(default_factory=dict)
    """JobIDs by queue entry, of positive answers."""
    given: set[str] = field(default_factory=set)
    """Queue entries whose tickets a press could see."""
    told: dict[str, int] = field(default_factory=dict)
    """The highest number of a message by source."""
    dropped: dict[str, bytes] = field(default_factory=dict)
    """Files that the order desk had made durable itself, by name."""

    def note(self, moment: Moment, disk: LossyDisk) -> None:
        """What this moment showed."""
        call = moment.call
        if not moment.ends:
            return
        if call.name == "sendto" and b'ReturnCode="0"' in call.data:
            self.answered |= {name.decode(): job.decode() for name, job in ENTRY.findall(call.data)}
        if call.name.startswith("rename"):
            self._note_name(PurePosixPath(call.paths[1]))
        if call.is_sync and call.paths[0] == DROP:
            self._note_dropped(disk)

    def _note_name(self, path: PurePosixPath) -> None:
        if path.parent.name == "accepted" and "~" in path.name:
            self.accepted.add(path.name.partition("~")[0])
        lane = LANE.fullmatch(str(path))
        if lane is not None and lane["given"]:
            self.given.add(lane["given"])
        if path.parent.name == "status" and path.is_relative_to(SOURCES) and path.stem.isdigit():
            source = path.parts[2]
            self.told[source] = max(self.told.get(source, 0), int(path.stem))

    def _note_dropped(self, disk: LossyDisk) -> None:
        folder = disk.at(DROP)
        assert isinstance(folder, Folder)
        for name, node in folder.kept.items():
            if isinstance(node, File) and name.startswith("order-") and node.kept == node.now:
                self.dropped[name] = node.kept


@dataclass(frozen=True)
class Stored:
    """What the store says, by its tables."""

    sound: bool
    intakes: dict[str, dict[str, Any]]
    jobs: dict[str, dict[str, Any]]
    deliveries: dict[str, dict[str, Any]]
    channels: dict[str, dict[str, Any]]
    messages: list[dict[str, Any]]


class Judge:
    """Judges images of one shop.

    Args:
        work: A folder to open databases in.
        house: Where the shop lay, for the addresses in its orders.
    """

    def __init__(self, work: Path, house: Path) -> None:
        self._work = work
        self._house = house
        self._stored: dict[tuple[bytes, ...], Stored] = {}

    def faults(self, image: Image, seen: Seen, *, recovered: bool = False) -> Iterator[str]:
        """Every promise that this disk breaks.

        Args:
            image: What is on the disk.
            seen: What had been seen before.
            recovered: The bridge was started on it, and has put right what it could.
        """
        stored = self.stored(image)
        if not stored.sound:
            yield "the store is not sound"
            return
        tickets = [PurePosixPath(path) for path in image.files if _is_ticket(PurePosixPath(path))]
        yield from _kept_as_seen(stored, seen)
        yield from _lie_where_named(stored, tickets, image, recovered=recovered)
        yield from _in_one_place(tickets)
        yield from _dropped_are_there(seen, tickets, image)
        yield from _submissions_are_whole(stored, tickets, image)
        yield from _reach_the_press_once(stored, image, recovered=recovered)
        yield from _one_job_each(stored)
        yield from _messages_are_there(stored, image)
        yield from self._artwork_is_there(stored, image)

    def stored(self, image: Image) -> Stored:
        """What the store says on this disk."""
        parts = tuple(image.files.get(f"{STORE}{ending}", b"") for ending in ("", "-wal", "-journal"))
        if parts not in self._stored:
            self._stored[parts] = self._open(parts)
        return self._stored[parts]

    def _open(self, parts: tuple[bytes, ...]) -> Stored:
        for ending, data in zip(("", "-wal", "-journal"), parts, strict=True):
            file = self._work / f"store{ending}"
            file.unlink(missing_ok=True)
            if data:
                file.write_bytes(data)
        (self._work / "store-shm").unlink(missing_ok=True)
        with closing(sqlite3.connect(self._work / "store")) as store:
            store.row_factory = sqlite3.Row
            try:
                sound = store.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
                tables = {
                    name: [dict(row) for row in store.execute(f"SELECT * FROM {name}")]
                    for name in ("intake", "job", "delivery", "channel", "message")
                }
            except sqlite3.DatabaseError:
                return Stored(sound=False, intakes={}, jobs={}, deliveries={}, channels={}, messages=[])
        return Stored(
            sound,
            {row["claim_id"]: row for row in tables["intake"]},
            {row["queue_entry_id"]: row for row in tables["job"]},
            {row["queue_entry_id"]: row for row in tables["delivery"]},
            {row["channel"]: row for row in tables["channel"]},
            tables["message"],
        )

    def _artwork_is_there(self, stored: Stored, image: Image) -> Iterator[str]:
        for name, job in stored.jobs.items():
            for url in re.findall(r'"file://([^"]+)"', json.dumps(json.loads(job["job_order"]))):
                path = str(PurePosixPath(url).relative_to(self._house))
                if not image.files.get(path, b"").rstrip().endswith(b"%%EOF"):
                    yield f"{name}: its artwork {path} is not whole"


def _kept_as_seen(stored: Stored, seen: Seen) -> Iterator[str]:
    claims = {job["claim_id"] for job in stored.jobs.values()}
    for claim in seen.accepted:
        if claim not in stored.intakes or claim not in claims:
            yield f"{claim} was seen in accepted, and the store knows nothing of it"
    for name, job_id in seen.answered.items():
        if name not in stored.jobs or stored.jobs[name]["job_id"] != job_id:
            yield f"{name} was the answer for {job_id}, and the store does not have it"
    for name in seen.given:
        if name not in stored.deliveries:
            yield f"{name} was shown to a press, and the store knows of no such delivery"
    for source, number in seen.told.items():
        channel = stored.channels.get(f"{source}.folder", {"last_seq": 0})
        if channel["last_seq"] < number:
            yield f"message {number} of {source} was seen, and the store would give its number away again"


def _lie_where_named(
    stored: Stored, tickets: list[PurePosixPath], image: Image, *, recovered: bool
) -> Iterator[str]:
    by_claim: dict[str, list[PurePosixPath]] = {}
    for path in tickets:
        by_claim.setdefault(path.name.partition("~")[0], []).append(path)
    for claim, intake in stored.intakes.items():
        lies = by_claim.get(claim, [])
        allowed = {intake["place"]} if recovered else {intake["place"], "claimed"}
        if len(lies) != 1 or lies[0].parent.name not in allowed:
            places = sorted(path.parent.name for path in lies)
            yield f"the file of {claim} is to lie in {intake['place']} and lies in {places}"
        elif hashlib.sha256(image.files[str(lies[0])]).hexdigest() != intake["sha256"]:
            yield f"the file of {claim} is not what was taken in"
    for path in tickets:
        claim = path.name.partition("~")[0]
        if path.parent.name in SETTLED and claim not in stored.intakes:
            yield f"{path} lies there and the store knows nothing of it"
        if recovered and path.parent.name == "claimed":
            yield f"{path} was left lying"


def _in_one_place(tickets: list[PurePosixPath]) -> Iterator[str]:
    names = Counter(path.name.partition("~")[2] or path.name for path in tickets)
    for name, count in names.items():
        if count > 1:
            yield f"{name} lies in {count} places"


def _dropped_are_there(seen: Seen, tickets: list[PurePosixPath], image: Image) -> Iterator[str]:
    lie = {path.name.partition("~")[2] or path.name: image.files[str(path)] for path in tickets}
    for name, data in seen.dropped.items():
        if lie.get(name) != data:
            yield f"{name} was dropped, durably, and is not there whole"


def _submissions_are_whole(stored: Stored, tickets: list[PurePosixPath], image: Image) -> Iterator[str]:
    """What a message said of a ticket, such as that it is to be held, lies beside it until the store knows it."""
    for path in tickets:
        claim = path.name.partition("~")[0]
        if path.parent.name == "claimed" and "-sub" in claim and claim not in stored.intakes:
            said = path.with_name(f".{claim.rpartition('-')[0]}.said.json")
            if _is_whole(image.files[str(path)], "JDF") and not _is_json(image.files.get(str(said), b"")):
                yield f"{path} lies there without what its message said"


def _reach_the_press_once(stored: Stored, image: Image, *, recovered: bool) -> Iterator[str]:
    held: Counter[str] = Counter()
    given: Counter[str] = Counter()
    whole: dict[str, bool] = {}
    for path, data in image.files.items():
        lane, name = LANE.fullmatch(path), PurePosixPath(path)
        if lane is not None and lane["held"]:
            held[lane["held"]] += 1
            whole[lane["held"]] = _is_whole(data, lane["held"])
        elif (lane is not None and lane["given"]) or name.parent.name == TAKEN:
            given[name.stem] += 1
            whole[name.stem] = _is_whole(data, name.stem)
    for name in stored.deliveries:
        if held[name] + given[name] != 1:
            yield f"{name} is with the press {given[name]} times, and {held[name]} times about to be"
        elif not whole[name]:
            yield f"the ticket of {name} is not whole"
        elif recovered and held[name]:
            yield f"{name} was not handed over"
    for name in given.keys() - stored.deliveries.keys():
        yield f"{name} is with the press, and the store knows of no such delivery"


def _one_job_each(stored: Stored) -> Iterator[str]:
    for job_id, count in Counter(job["job_id"] for job in stored.jobs.values()).items():
        if count > 1:
            yield f"{job_id} became {count} jobs"


def _messages_are_there(stored: Stored, image: Image) -> Iterator[str]:
    for message in stored.messages:
        channel = stored.channels[message["channel"]]
        source, _, way = message["channel"].partition(".")
        path = f"{SOURCES}/{source}/status/{message['file_name']}"
        sent = way == "folder" and message["seq"] <= channel["sent_up_to"]
        if sent and image.files.get(path) != message["body"]:
            yield f"message {message['file_name']} of {source} counts as sent and is not there whole"


def _is_ticket(path: PurePosixPath) -> bool:
    """A ticket at a source that is shown to people, whole or not."""
    shown = path.suffix == ".jdf" and not path.name.startswith(".")
    return shown and path.is_relative_to(SOURCES) and len(path.parts) == 5 and path.parts[3] in PLACES


def _is_whole(data: bytes, name: str) -> bool:
    try:
        etree.fromstring(data)
    except etree.XMLSyntaxError:
        return False
    return name.encode() in data


def _is_json(data: bytes) -> bool:
    try:
        json.loads(data)
    except ValueError:
        return False
    return True
