"""What happened: one row of the append-only history."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

BRIDGE = "bridge"
"""Who, where nobody else did it."""

ROLL_USED = "roll used"
"""What happened when length was taken off a roll's account for a job; the fact ``length_m`` says how much."""

RESTORED = "restored"
"""The store was brought back from a backup; the fact ``last_number`` says up to where numbers of jobs are taken."""


@dataclass(frozen=True, slots=True)
class Event:
    """What, when, who, why.

    Attributes:
        what: A step of ``job_states`` or another plain word.
        at: When.
        queue_entry_id: The job, where it concerns one.
        who: The bridge, a press's DeviceID, a person.
        facts: Why, and with which numbers.
    """

    what: str
    at: datetime
    queue_entry_id: str | None = None
    who: str = BRIDGE
    facts: Mapping[str, Any] = field(default_factory=dict)
