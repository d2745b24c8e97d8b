"""The state of a whole queue, in the standard's words (``Queue@Status``)."""

from dataclasses import dataclass, replace
from enum import StrEnum


class QueueMessage(StrEnum):
    """``Command@Type`` of the messages that concern a whole queue."""

    OPEN = "OpenQueue"
    CLOSE = "CloseQueue"
    HOLD = "HoldQueue"
    RESUME = "ResumeQueue"


@dataclass(frozen=True, slots=True)
class QueueState:
    """What was said of a queue.

    Attributes:
        closed: It takes no new entries.
        held: It starts none.
    """

    closed: bool = False
    held: bool = False

    def after(self, message: QueueMessage) -> "QueueState":
        """Open and Close, Hold and Resume act independently: closed and held together is Blocked."""
        if message in (QueueMessage.OPEN, QueueMessage.CLOSE):
            return replace(self, closed=message is QueueMessage.CLOSE)
        return replace(self, held=message is QueueMessage.HOLD)

    def status(self, *, running: bool, full: bool) -> str:
        """``Queue@Status``: what was said goes before what is."""
        if self.closed:
            return "Blocked" if self.held else "Closed"
        if self.held:
            return "Held"
        if full:
            return "Full"
        return "Running" if running else "Waiting"


OPEN = QueueState()
"""A queue of which nothing was said: it takes entries and starts them."""
