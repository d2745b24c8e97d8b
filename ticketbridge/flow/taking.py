"""A claimed file, read and made durable where it lies: in this process or in a child, and nothing of it is decided."""

import errno
from dataclasses import dataclass
from typing import Final

from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.read import Content, content_of
from ticketbridge.accept.submitted import submission_of
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.submission import Submission

FILE_FAULTS: Final = frozenset({errno.EACCES, errno.EPERM, errno.ELOOP, errno.EISDIR, errno.ENXIO})
"""What a single file can be at fault for: no right to read it, a link or a special file in its place."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A claimed file, read and durable where it lies."""

    claimed: Claimed
    content: Content
    fault: Finding | None = None
    """Why it cannot be read."""
    submission: Submission | None = None
    """What the message said that brought it; None where it was dropped."""


def take_one(claimed: Claimed, limit_bytes: int) -> Taken | None:
    """The file's content, or why it cannot be read; None where it was taken in already.

    Args:
        claimed: The file.
        limit_bytes: Largest ticket.

    Raises:
        OSError: The disk is at fault, which is nobody's ticket's.
    """
    try:
        content = content_of(claimed.path, claimed.original_name, limit_bytes)
        return Taken(claimed, content, submission=submission_of(claimed))
    except FileNotFoundError:
        return None
    except OSError as error:
        if error.errno not in FILE_FAULTS:
            raise
        finding = Finding("intake.unreadable", Place(claimed.original_name), {"reason": error.strerror})
        return Taken(claimed, Content(b"", ""), finding)
