"""Claimed files to the folder that the store names, with what there is to say about them beside it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.accept.submitted import forget_submission
from ticketbridge.flow.bridge import Bridge
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.model.codes import refuses, remedy, sentence, severity_of
from ticketbridge.model.finding import Finding, Severity
from ticketbridge.report.return_ticket import mark_refused
from ticketbridge.spool import durable
from ticketbridge.spool.gates import ask
from ticketbridge.spool.places import SourcePlaces

ACCEPTED: Final = "accepted"
ARTWORK: Final = "artwork"
REPEATED: Final = "repeated"
REFUSED: Final = "refused"
NOTE_ENDING: Final = ".findings.txt"
"""Of the note beside a file, which begins with the file's own name."""


def move_out(bridge: Bridge, claimed: Claimed, place: str, findings: Sequence[Finding]) -> None:
    """Move a claimed file to the folder that the store names; beside it, what was refused and why.

    Raises:
        ShareHangs: The share does not answer. The store knows where the file belongs, and ``rescue`` moves it.
    """
    ask(claimed.path, lambda: _move_out(bridge, claimed, place, findings))


def _move_out(bridge: Bridge, claimed: Claimed, place: str, findings: Sequence[Finding]) -> None:
    places = bridge.source_places(claimed.source_id)
    folder = _folder(places, place)
    if place == ACCEPTED and refuses(findings) and kind_of(claimed.original_name) is Kind.TICKET:
        _return_refused_items(bridge, claimed, places, findings)
    if place == REFUSED or refuses(findings):
        text = explanation(claimed.original_name, place, findings)
        note = folder / f"{claimed.path.name}{NOTE_ENDING}"
        durable.write_unsynced(note, text.encode("utf-8", "backslashreplace"))
    durable.move(claimed.path, folder / claimed.path.name)
    forget_submission(claimed)


def reasons_by_part(findings: Sequence[Finding]) -> dict[str, str]:
    """Why items were refused of an order whose others were taken: by JobPartID, in words."""
    errors = [one for one in findings if one.place.part and severity_of(one) is Severity.ERROR]
    parts = dict.fromkeys(str(one.place.part) for one in errors)
    return {
        part: " ".join(f"{sentence(one)} {remedy(one)}" for one in errors if one.place.part == part)
        for part in parts
    }


def _return_refused_items(
    bridge: Bridge, claimed: Claimed, places: SourcePlaces, findings: Sequence[Finding]
) -> None:
    """The MIS's ticket with the refused items Aborted, before the file moves on; a crash makes it once more."""
    limits = bridge.shop.settings.limits
    original = parse(durable.read(claimed.path, limits.ticket_bytes), limits, claimed.original_name)
    mark_refused(original, reasons_by_part(findings), bridge.now(), bridge.agent_version)
    durable.require_ready(places.returned)
    returned = places.returned / f"{claimed.claim_id}.refused.jdf"
    durable.show_new(returned, as_bytes(original))
    durable.sync_file(returned)
    durable.sync_folder(places.returned)


def _folder(places: SourcePlaces, place: str) -> Path:
    return {
        ACCEPTED: places.accepted,
        ARTWORK: places.artwork,
        REPEATED: places.repeated,
        REFUSED: places.refused,
    }[place]


def explanation(file_name: str, place: str, findings: Sequence[Finding]) -> str:
    """The findings for the person who dropped the file: what, where, what to do."""
    if place == REFUSED:
        lines = [f"{file_name} was refused.", ""]
    else:
        lines = [
            f"{file_name} was taken in, but not all of it. What stands below was refused.",
            "Correct it and drop the whole file again: what was taken is not printed twice.",
            "",
        ]
    for finding in findings:
        where = f" ({finding.place})" if str(finding.place) else ""
        lines += [
            f"{severity_of(finding)} {finding.code}{where}",
            f"  {sentence(finding)}",
            f"  What to do: {remedy(finding)}",
            "",
        ]
    return "\n".join(lines)
