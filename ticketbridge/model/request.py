"""What a person asks of the bridge by command, and what it answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from ticketbridge.model.finding import Finding


class Wish(StrEnum):
    """What can be asked."""

    HOLD = "hold"
    RESUME = "resume"
    CANCEL = "cancel"
    ABORT = "abort"
    DUE = "due"
    PRIORITY = "priority"
    RETRY = "retry"
    PRINT_AGAIN = "print-again"
    PLAN = "plan"
    ROLL_RECEIVE = "roll-receive"
    ROLL_LOAD = "roll-load"
    ROLL_UNLOAD = "roll-unload"
    ROLL_CHANGE = "roll-change"
    ROLL_MEASURE = "roll-measure"
    ROLL_FLAW = "roll-flaw"
    DELIVERED = "delivered"
    SEND_AGAIN = "send-again"
    MESSAGE_RESEND = "message-resend"
    MESSAGE_SKIP = "message-skip"
    LANE_HOLD = "lane-hold"
    LANE_RESUME = "lane-resume"


@dataclass(frozen=True, slots=True)
class Request:
    """One wish.

    Attributes:
        wish: What.
        who: The account that asks; it stands in the history.
        args: What it concerns: ``queue_entry_id``, ``due``, ``names``...
    """

    wish: Wish
    who: str
    args: Mapping[str, Any] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """Plain values for a file."""
        return {"wish": self.wish.value, "who": self.who, "args": dict(self.args)}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "Request":
        """The reverse of ``as_json``."""
        return cls(Wish(data["wish"]), str(data["who"]), dict(data["args"]))


@dataclass(frozen=True, slots=True)
class Reply:
    """The answer: findings in words or, where they refuse, why not."""

    done: bool
    findings: tuple[Finding, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain values for a file."""
        return {"done": self.done, "findings": [finding.as_json() for finding in self.findings]}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "Reply":
        """The reverse of ``as_json``."""
        return cls(bool(data["done"]), tuple(Finding.from_json(one) for one in data["findings"]))
