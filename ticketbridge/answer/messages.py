"""The messages of one JMF document, and which of them the bridge knows."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf

QUERIES: Final = (
    "KnownMessages",
    "KnownDevices",
    "KnownSubscriptions",
    "SubmissionMethods",
    "QueueStatus",
    "Status",
    "Resource",
    "FlushQueue",
    "Notification",
)
"""``Query@Type`` of what is answered."""

COMMANDS: Final = (
    "SubmitQueueEntry",
    "ResubmitQueueEntry",
    "HoldQueueEntry",
    "ResumeQueueEntry",
    "SuspendQueueEntry",
    "AbortQueueEntry",
    "RemoveQueueEntry",
    "SetQueueEntryPriority",
    "SetQueueEntryPosition",
    "OpenQueue",
    "CloseQueue",
    "HoldQueue",
    "ResumeQueue",
    "FlushQueue",
    "StopPersistentChannel",
)
"""``Command@Type`` of what is done."""

KNOWN: Final[Mapping[str, tuple[str, ...]]] = {"Query": QUERIES, "Command": COMMANDS}
"""What is known of each family that is answered; of ``Registration`` nothing is."""

FROM_A_PRESS: Final = ("Signal", "Acknowledge")
"""Families that a press sends of its own accord."""

_ASKING: Final = tuple(jdf(family) for family in ("Query", "Command", "Registration"))


@dataclass(frozen=True, slots=True)
class Message:
    """One message that wants an answer.

    Attributes:
        family: ``Query``, ``Command`` or ``Registration``.
        kind: ``@Type``.
        message_id: ``@ID``, which the Response repeats as ``@refID``.
        element: The message itself.
    """

    family: str
    kind: str
    message_id: str
    element: Element

    @property
    def known(self) -> bool:
        """Whether the bridge does what it asks."""
        return self.kind in KNOWN.get(self.family, ())


def messages_of(root: Element) -> list[Message]:
    """Every message of a JMF document that wants an answer, in order."""
    return [
        Message(local_name(element), element.get("Type", ""), element.get("ID", ""), element)
        for element in root.iterchildren(*_ASKING)
    ]
