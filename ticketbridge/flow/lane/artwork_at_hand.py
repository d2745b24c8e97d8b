"""The artwork of a job about to be handed over: still the file that was accepted, and where its press opens it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ticketbridge.accept.artwork import hash_of
from ticketbridge.accept.artwork_table import PathRow, url_for_press
from ticketbridge.decide.release import queue_order
from ticketbridge.flow.bridge import Bridge
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import Job, Standing
from ticketbridge.model.job_states import FINAL
from ticketbridge.model.order import Artwork
from ticketbridge.model.press import ArtworkAt
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import ask, resolved
from ticketbridge.store.transaction import Transaction

COPIED_AHEAD = 2
"""Jobs next in line at a lane whose artwork is copied before their turn comes, so that the press need not wait."""


@dataclass(frozen=True, slots=True)
class AtHand:
    """Jobs whose artwork may be opened, and jobs whose artwork is no longer what was accepted.

    Jobs in neither wait: their artwork is being copied, or its share is away.
    """

    good: tuple[Job, ...]
    spoilt: tuple[tuple[str, Finding], ...]


def artwork_at_hand(bridge: Bridge, jobs: Sequence[Job], just_read: Iterable[str] = ()) -> AtHand:
    """Sort jobs by their artwork.

    Args:
        bridge: The bridge.
        jobs: What may be handed over otherwise.
        just_read: Queue entries whose artwork was looked at a moment ago, and may lie where it will be moved from.
    """
    fresh = set(just_read)
    good, spoilt = [], []
    for job in jobs:
        try:
            is_fresh = job.queue_entry_id in fresh
            if _copy_of(bridge, job) is None if is_fresh else _is_there(bridge, job):
                good.append(job)
        except (durable.ContentDiffers, FileNotFoundError) as error:
            finding = _finding(job, error)
            if finding is not None:
                spoilt.append((job.queue_entry_id, finding))
        except ShareHangs:
            continue  # told once for the share, and not for each of its jobs
        except (OSError, durable.PlaceNotReady) as error:
            bridge.notice("artwork.not-now", queue_entry_id=job.queue_entry_id, reason=str(error))
    return AtHand(tuple(good), tuple(spoilt))


def url_at_press(bridge: Bridge, job: Job) -> str | None:
    """Where the press opens the artwork of a job; None where it has none."""
    target = _copy_of(bridge, job)
    if target is None:
        return job.item.artwork.url if job.item.artwork else None
    lane = bridge.lanes[job.device_id][1]
    rows = (PathRow("", target.parent, lane.artwork_at_press),) if lane.artwork_at_press else ()
    return url_for_press(target, rows)


def next_in_line(bridge: Bridge, tx: Transaction, waiting: Sequence[Standing]) -> list[Job]:
    """Jobs whose turn has not come yet, but whose artwork is to be copied already."""
    jobs = []
    for device_id in bridge.my_lanes:
        if _copies(bridge, device_id):
            line = sorted((job for job in waiting if job.device_id == device_id), key=queue_order)
            names = [job.queue_entry_id for job in line[:COPIED_AHEAD]]
            jobs += [tx.job(name) for name in names if name not in bridge.copying.users]
    return jobs


def leave_copies(bridge: Bridge) -> None:
    """Jobs that have ended need their copies no more. Those of a lane that was given up are another bridge's by now."""
    users = bridge.copying.users
    copying = [device_id for device_id in bridge.my_lanes if users and _copies(bridge, device_id)]
    mine = {bridge.lane_places(device_id).artwork.resolve() for device_id in copying}
    for name in [name for name, copy in users.items() if copy.parent not in mine]:
        del users[name]
    if not users:
        return
    with bridge.store.reading() as tx:
        ended = [name for name in users if tx.standing(name).state in FINAL]
    for name in ended:
        bridge.copying.leave(name)


def sweep_copies(bridge: Bridge) -> None:
    """At a start: which jobs use which copies, and away with the others."""
    copying = [name for name in bridge.my_lanes if _copies(bridge, name) and not bridge.lane_hangs(name)]
    if not copying:
        return
    with bridge.store.transaction() as tx:
        for standing in tx.open_jobs():
            job = tx.job(standing.queue_entry_id)
            target = _copy_of(bridge, job) if job.device_id in copying else None
            if target is not None:
                bridge.copying.users[standing.queue_entry_id] = target
    for device_id in copying:
        bridge.copying.sweep(bridge.lane_places(device_id).artwork)


def _copies(bridge: Bridge, device_id: str) -> bool:
    return bridge.lanes[device_id][0].artwork is ArtworkAt.BESIDE_THE_LANE


def _copy_of(bridge: Bridge, job: Job) -> Path | None:
    """Where the copy of a job's artwork lies or will lie; None where the press opens the file where it is."""
    artwork = job.item.artwork
    if artwork is None or artwork.path is None or artwork.sha256 is None:
        return None
    if job.device_id not in bridge.lanes or not _copies(bridge, job.device_id):
        return None
    folder = resolved(bridge.lane_places(job.device_id).artwork)
    return folder / f"{artwork.sha256}{Path(artwork.path).suffix.lower()}"


def _is_there(bridge: Bridge, job: Job) -> bool:
    artwork = job.item.artwork
    if artwork is None or artwork.path is None or artwork.sha256 is None:
        return True  # taken in before the bridge kept account of it
    target = _copy_of(bridge, job)
    if target is None:
        ask(Path(artwork.path), lambda: _require_unchanged(artwork))
        return True
    source = Path(artwork.path)
    return bridge.copying.have(job.queue_entry_id, source, artwork.sha256, target, bridge.now())


def _require_unchanged(artwork: Artwork) -> None:
    """Size and time are enough where both are as they were; else the content is hashed once more.

    Raises:
        FileNotFoundError: It is gone.
        ContentDiffers: It is another file.
    """
    assert artwork.path is not None  # noqa: S101  the caller has looked
    path = Path(artwork.path)
    status = path.stat()
    if (status.st_size, status.st_mtime_ns) == (artwork.size_bytes, artwork.modified_ns):
        return
    if hash_of(path) != artwork.sha256:
        raise durable.ContentDiffers(str(path))


def _finding(job: Job, error: Exception) -> Finding | None:
    """Why the job must not go; None where the folder of the artwork is away as a whole, which is no fault of the job."""
    assert job.item.artwork is not None  # noqa: S101
    path = Path(str(job.item.artwork.path))
    facts = {"queue_entry_id": job.queue_entry_id, "path": str(path)}
    if isinstance(error, durable.ContentDiffers):
        return Finding("artwork.changed", facts=facts)
    try:
        gone = ask(path, lambda: path.parent.is_dir() and not path.exists())
    except ShareHangs:
        return None
    return Finding("artwork.gone", facts=facts) if gone else None
