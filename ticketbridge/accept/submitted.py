"""Tickets that came by message: laid among the claimed files with what the message said of them.

They go the way of dropped files from there on. What the message said lies beside the ticket, durable before the
ticket shows, so that a crash between the two and the positive answer neither forgets that an entry was to be
held nor takes a changed ticket for a revision. Our own name of such a file says how it came.
"""

import json
from pathlib import Path
from typing import Final

from ticketbridge.accept.claim import Claimed, run_of, split_attempts
from ticketbridge.model.submission import Submission
from ticketbridge.spool import durable

SUBMITTED: Final = "sub"
"""What the run in a claim id begins with where a message brought the ticket."""
RESUBMITTED: Final = "res"
"""The same for one that takes the place of a ticket in the queue."""
_MOST_BYTES: Final = 100_000


def is_submitted(claim_id: str) -> bool:
    """Whether a message brought it, of either kind."""
    return run_of(claim_id).startswith((SUBMITTED, RESUBMITTED))


def is_resubmitted(claim_id: str) -> bool:
    """Whether it takes the place of a ticket in the queue."""
    return run_of(claim_id).startswith(RESUBMITTED)


def bridge_run_of(claim_id: str) -> str:
    """Which run of a bridge made this claim, however the file came."""
    return run_of(claim_id).removeprefix(SUBMITTED).removeprefix(RESUBMITTED)


def lay_down(claimed: Claimed, ticket: bytes, submission: Submission) -> None:
    """Put a ticket where claimed files lie; who syncs the claimed files makes it durable.

    Raises:
        OSError: The disk does not take it.
    """
    durable.write_and_sync(_beside(claimed), json.dumps(submission.as_json()).encode())
    durable.sync_folder(
        claimed.path.parent
    )  # its name too: nothing says which of two names a power cut leaves
    durable.show_new(claimed.path, ticket)


def submission_of(claimed: Claimed) -> Submission | None:
    """What the message said of a ticket; None where it was dropped.

    Raises:
        OSError: It should be there, and is not.
    """
    if not is_submitted(claimed.claim_id):
        return None
    return Submission.from_json(json.loads(durable.read(_beside(claimed), _MOST_BYTES)))


def forget_submission(claimed: Claimed) -> None:
    """The store knows it by now."""
    if is_submitted(claimed.claim_id):
        durable.remove_note(_beside(claimed))


def note_beside(ticket: Path, claim_id: str) -> Path:
    """Where a ticket that lies claimed has what its message said: attempts are counted in its name, not in this."""
    return ticket.with_name(f".{split_attempts(claim_id)[0]}.said.json")


def _beside(claimed: Claimed) -> Path:
    return note_beside(claimed.path, claimed.claim_id)
