"""The judge of a stream: what the subscriber wrote down, held against the folders and the presses' own logs.

Imports nothing of the bridge. A document's number is that of its message IDs, ``S00000012-0``: within one channel the
numbers run 1, 2, 3 ... A document that comes again must carry the number and the bytes that it had, so that the
subscriber can tell; one that is new must be the next.
"""

import base64
import json
import re
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from email import message_from_bytes
from itertools import groupby, pairwise
from pathlib import Path

from lxml import etree

from tests.processes.checker import JDF
from tests.processes.checker import faults as faults_of_house

NUMBER = re.compile(rb'\bID="[A-Z](\d{8})-0"')
WAY = ("Waiting", "Running", "PendingReturn", "Completed")
"""What a queue entry that nobody holds or stops goes through, each once."""
POSTED_TO_THE_DEAD = {"Running", "PendingReturn"}
"""What may stay untold of a press that speaks JMF: what it posts while the bridge is dead is heard by nobody, and the
bridge that comes again finds the entry further on. A press that writes files has no such excuse."""


@dataclass(frozen=True)
class Post:
    """What the subscriber got: at which of its addresses, and what."""

    path: str
    content_type: str
    body: bytes

    @property
    def number(self) -> int:
        match = NUMBER.search(self.body)
        assert match is not None, self.body
        return int(match[1])


def read_journal(journal: Path) -> list[Post]:
    rows = [json.loads(line) for line in journal.read_bytes().splitlines()]
    return [Post(row["path"], row["type"], base64.b64decode(row["body"])) for row in rows]


def faults(
    house: Path, dropped: Sequence[str], submitted: dict[str, str], *, speaking: Sequence[str] = ()
) -> list[str]:
    """Everything that breaks a promise; empty where all is well.

    Args:
        house: The folder with the shop and the journal.
        dropped: Names of all files that were dropped.
        submitted: Queue entries by JobID, as submissions were answered.
        speaking: Presses that speak JMF, as their logs name them.
    """
    posts = read_journal(house / "journal.jsonl")
    mis = house / "shop" / "hotfolders" / "mis"
    channels = {path: [post for post in posts if post.path == path] for path in {post.path for post in posts}}
    found = faults_of_house(house, list(dropped))
    for path, channel in sorted(channels.items()):
        found += [f"{path}: {fault}" for fault in out_of_order(channel)]
    told = first_arrivals(channels.get("/all", []))
    found += not_as_in_folder(told, mis / "status")
    entries = {path.stem: _job_id(path.read_bytes()) for path in mis.joinpath("returned").glob("*.jdf")}
    messages = [one for post in told for one in etree.fromstring(post.body)]
    heard = {job_id for press in speaking for job_id in printed_by(house, press)}
    for entry, job_id in sorted(entries.items()):
        untold = POSTED_TO_THE_DEAD if job_id in heard else set[str]()
        found += [f"{job_id}: {fault}" for fault in story(entry, messages, untold)]
    found += submissions(submitted, entries, first_arrivals(channels.get("/returns", [])))
    found += lost_and_doubled(mis, dropped, submitted)
    return found


def out_of_order(channel: Sequence[Post]) -> list[str]:
    """New documents are numbered 1, 2, 3 ..., and what comes again is what it was."""
    found, bodies = [], dict[int, bytes]()
    for post in channel:
        if post.number in bodies:
            if bodies[post.number] != post.body:
                found.append(f"document {post.number} came again and says something else")
        elif post.number != len(bodies) + 1:
            found.append(f"document {post.number} came when {len(bodies) + 1} was next")
        bodies.setdefault(post.number, post.body)
    return found


def first_arrivals(channel: Sequence[Post]) -> list[Post]:
    """Each document once, as a subscriber sees them that drops those whose ID it knows."""
    seen = dict[int, Post]()
    for post in channel:
        seen.setdefault(post.number, post)
    return list(seen.values())


def not_as_in_folder(told: Sequence[Post], status: Path) -> list[str]:
    """The status folder is a subscriber of its own: both were told the same, to the last document."""
    lies = [path.read_bytes() for path in sorted(status.glob("*.jmf"))]
    if len(lies) != len(told):
        return [f"{len(told)} documents were told, and {len(lies)} lie in the status folder"]
    pairs = zip(told, lies, strict=True)
    return [f"{post.number} was told otherwise" for post, file in pairs if _said(post.body) != _said(file)]


def story(entry: str, messages: Sequence[etree._Element], untold: Collection[str] = ()) -> list[str]:
    """What was told of one finished job: taken once, each state once and in order, amounts growing, given back once."""
    mine = [one for message in messages for one in message.iter() if one.get("QueueEntryID") == entry]
    states = [str(one.get("Status")) for one in mine if one.tag == f"{JDF}QueueEntry"]
    amounts = [float(one.get("Amount") or 0) for one in mine if one.tag == f"{JDF}JobPhase"]
    events = [one for message in messages for one in message.iter(f"{JDF}Event")]
    accepted = [one.get("EventValue") for one in events if one.get("EventID") == "TicketAccepted"].count(
        entry
    )
    back = [place for place, one in enumerate(mine) if one.tag == f"{JDF}ReturnQueueEntryParams"]
    found = []
    if accepted != 1:
        found.append(f"told {accepted} times that it was taken")
    told = [state for state, _ in groupby(states)]
    if told != [state for state in WAY if state in told or state not in untold]:
        found.append(f"its states were told as {states}")
    if any(less > more for less, more in pairwise(amounts)):
        found.append(f"its amounts were told as {amounts}")
    if len(back) != 1:
        found.append(f"told {len(back)} times that its ticket is back")
    elif "Completed" not in [one.get("Status") for one in mine[: back[0]] if one.tag == f"{JDF}QueueEntry"]:
        found.append("told that its ticket is back before it was completed")
    return found


def printed_by(house: Path, press: str) -> set[str]:
    """JobIDs in the log of a press."""
    lines = (house / "shop" / "simulated-press" / press / "print-log.jsonl").read_bytes().splitlines()
    return {json.loads(line)["job_id"] for line in lines}


def submissions(submitted: dict[str, str], entries: dict[str, str], returns: Sequence[Post]) -> list[str]:
    """An answered queue entry is that job, and its ticket came back to where the submission said, once."""
    found = [
        f"{job_id} was answered as {entry}, which is {entries.get(entry)}"
        for job_id, entry in submitted.items()
        if entries.get(entry) != job_id
    ]
    back = Counter(_job_id(_ticket(post)) for post in returns)
    found += [f"{job_id} came back {back[job_id]} times" for job_id in submitted if back[job_id] != 1]
    return found + [
        f"{job_id} came back and was never submitted" for job_id in back.keys() - submitted.keys()
    ]


def lost_and_doubled(mis: Path, dropped: Sequence[str], submitted: dict[str, str]) -> list[str]:
    """Every ticket was taken once and none refused, all being good. What was submitted again may lie among the repeated."""
    taken = Counter(_job_id(path.read_bytes()) for path in mis.joinpath("accepted").glob("*.jdf"))
    wanted = {name.removesuffix(".jdf") for name in dropped} | set(submitted)
    found = [f"{job_id} was taken {taken[job_id]} times" for job_id in sorted(wanted) if taken[job_id] != 1]
    refused = [path.name for path in mis.joinpath("refused").glob("*.jdf")]
    left = [path.name for place in ("claimed", "waiting") for path in mis.joinpath(place).glob("*.jdf")]
    return [
        *found,
        *(f"{name} was refused" for name in refused),
        *(f"{name} was left lying" for name in left),
    ]


def _said(body: bytes) -> list[bytes]:
    """The messages of a document, without its head."""
    return [etree.tostring(one, method="c14n", with_tail=False) for one in etree.fromstring(body)]


def _ticket(post: Post) -> bytes:
    mail = message_from_bytes(f"Content-Type: {post.content_type}\r\n\r\n".encode() + post.body)
    return bytes(mail.get_payload()[1].get_payload(decode=True))  # type: ignore[index, union-attr, arg-type]


def _job_id(ticket: bytes) -> str:
    return str(etree.fromstring(ticket).get("JobID"))
