"""What a message said about the ticket that it submits: everything that does not stand in the ticket itself."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Submission:
    """One SubmitQueueEntry or ResubmitQueueEntry.

    Attributes:
        sender_id: ``JMF@SenderID``.
        message_id: ``Command@ID``.
        device_id: The lane that it was addressed to; None leaves the choice to the bridge.
        priority: 0 to 100; None leaves the ticket's own.
        hold: Whether the entry is to be held from the start.
        resubmits: The queue entry whose ticket it replaces; None for a new one.
        return_jmf: Where a ReturnQueueEntry is to be posted, as the message says it; not yet checked.
        return_url: Where the finished ticket is to be put; not yet checked.
    """

    sender_id: str
    message_id: str
    device_id: str | None = None
    priority: int | None = None
    hold: bool = False
    resubmits: str | None = None
    return_jmf: str | None = None
    return_url: str | None = None

    def as_json(self) -> dict[str, Any]:
        """Plain values for a file and for the store."""
        return asdict(self)

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "Submission":
        """The reverse of ``as_json``."""
        return cls(**data)
