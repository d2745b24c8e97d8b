"""Tickets that came before their artwork: they lie in ``waiting`` until it is there, or their patience is over.

The store does not know them yet; the folder is the whole truth, as it is for ``claimed``, and the time since
when a ticket waits stands in its claimed name. So a restart goes on where the last run stopped. What this run
remembers of the missing files only spares it reading tickets again and again.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from ticketbridge.accept.claim import Claimed, Claimer
from ticketbridge.flow.bridge import Bridge, Missing
from ticketbridge.flow.reporting import report
from ticketbridge.model.codes import severity_of
from ticketbridge.model.finding import Finding, Severity
from ticketbridge.model.shop import Source
from ticketbridge.report.compose import trouble
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.spool.gates import ask_of_any

MOST_AT_ONCE = 64


def missing_artwork(findings: tuple[Finding, ...]) -> tuple[Path, ...]:
    """The files that an order lacks, where it lacks nothing else; else nothing."""
    errors = [finding for finding in findings if severity_of(finding) is Severity.ERROR]
    if any(finding.code != "artwork.missing" for finding in errors):
        return ()
    return tuple(Path(str(finding.facts["path"])) for finding in errors)


def missing_artwork_by_part(findings: tuple[Finding, ...]) -> tuple[Path, ...]:
    """The files that those items lack which lack nothing else, where the good ones of an order are taken alone."""
    parts = dict.fromkeys(finding.place.part for finding in findings)
    return tuple(
        path
        for part in parts
        for path in missing_artwork(tuple(finding for finding in findings if finding.place.part == part))
    )


def may_wait(bridge: Bridge, claimed: Claimed) -> bool:
    """Whether the patience of its source is not over for this file."""
    return bridge.now() < _until(bridge.sources[claimed.source_id], claimed)


def put_to_wait(bridge: Bridge, claimed: Claimed, missing: tuple[Path, ...]) -> None:
    """Move a claimed file to ``waiting``; it is durable already. The MIS is told once, however often it is looked at."""
    bridge.store.prove()  # nothing need be written about it, so nothing else would tell that another has it now
    target = bridge.source_places(claimed.source_id).waiting / claimed.path.name
    durable.move(claimed.path, target)
    bridge.missing[claimed.claim_id] = Missing(missing)
    bridge.notice(
        "intake.waits",
        file=claimed.original_name,
        artwork=[str(path) for path in missing],
        folder=str(target.parent),
    )
    now = bridge.now()
    until = _until(bridge.sources[claimed.source_id], claimed)
    text = (
        f"{claimed.original_name} waits until its artwork is there, and is refused at "
        f"{until.isoformat(sep=' ', timespec='minutes')} without it: {', '.join(path.name for path in missing)}"
    )
    with bridge.store.transaction() as tx:
        if tx.is_new_message("waits", claimed.claim_id, now):
            report(bridge, tx, claimed.source_id, [trouble(None, "Warning", "TicketWaits", text, now)])


def wake(bridge: Bridge) -> list[Claimed]:
    """Claim anew what waited: its artwork is there and stands still, or its patience is over."""
    woken: list[Claimed] = []
    for source_id in bridge.my_sources:
        places = bridge.source_places(source_id)
        for claimed in _waiting(bridge, source_id):
            if len(woken) < MOST_AT_ONCE and _is_due(bridge, claimed):
                target = places.claimed / claimed.path.name
                try:
                    durable.move(claimed.path, target)
                except ShareHangs:  # where it lies then is seen when the share answers again
                    break
                bridge.missing.pop(claimed.claim_id, None)
                woken.append(Claimed(source_id, claimed.claim_id, claimed.original_name, target, waited=True))
    return woken


def _waiting(bridge: Bridge, source_id: str) -> Iterator[Claimed]:
    places = bridge.source_places(source_id)
    try:
        yield from Claimer(source_id, places).found_in(places.waiting)
    except OSError:  # a share that is away stops nobody else; the source's own loop tells of it
        return


def _is_due(bridge: Bridge, claimed: Claimed) -> bool:
    missing = bridge.missing.get(claimed.claim_id)
    if missing is None or not may_wait(bridge, claimed):
        return True
    now, looks = bridge.now(), tuple(_look(path) for path in missing.paths)
    if None in looks or looks != missing.looks:
        missing.looks, missing.since = looks, now
        return False
    quiet_s = bridge.sources[claimed.source_id].watch.quiet_s
    return missing.since is not None and now - missing.since >= timedelta(seconds=quiet_s)


def _look(path: Path) -> tuple[int, int] | None:
    try:
        status = ask_of_any(path, path.stat)
    except OSError:
        return None
    return status.st_size, status.st_mtime_ns


def _until(source: Source, claimed: Claimed) -> datetime:
    """When the patience is over; by the wall clock, as no other one outlives a restart."""
    since = datetime.strptime(claimed.claim_id[:15], "%Y%m%dT%H%M%S").replace(tzinfo=UTC)
    return since + timedelta(seconds=source.artwork_patience_s)
