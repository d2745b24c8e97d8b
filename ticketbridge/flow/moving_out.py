"""Claimed files to the folder that the store names, with what there is to say about them beside it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.submitted import forget_submission
from ticketbridge.flow.bridge import Bridge
from ticketbridge.model.codes import refuses, remedy, sentence, severity_of
from ticketbridge.model.finding import Finding
from ticketbridge.spool import durable
from ticketbridge.spool.places import SourcePlaces

ACCEPTED: Final = "accepted"
ARTWORK: Final = "artwork"
REPEATED: Final = "repeated"
REFUSED: Final = "refused"


def move_out(bridge: Bridge, claimed: Claimed, place: str, findings: Sequence[Finding]) -> None:
    """Move a claimed file to the folder that the store names; beside it, what was refused and why."""
    folder = _folder(bridge.source_places(claimed.source_id), place)
    if place == REFUSED or refuses(findings):
        text = explanation(claimed.original_name, place, findings)
        note = folder / f"{claimed.path.name}.findings.txt"
        durable.write_unsynced(note, text.encode("utf-8", "backslashreplace"))
    durable.move(claimed.path, folder / claimed.path.name)
    forget_submission(claimed)


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
