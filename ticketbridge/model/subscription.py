"""A channel that a partner opened by message: which signals it wants, where, and how often."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

SIGNALS: Final = ("QueueStatus", "Status", "Resource", "Notification")
"""``Query@Type`` of what can be subscribed to: what the bridge signals."""


SUBSCRIBED: Final = "jmf"
"""What the names of channels begin with that were opened by message."""


@dataclass(frozen=True, slots=True)
class Subscription:
    """One open channel.

    Attributes:
        channel_id: ``Query@ID``: signals carry it as ``refID``, and it ends the channel.
        sender_id: Who opened it.
        partner: Id of the configured sender.
        source: The source whose jobs it hears of.
        kind: ``Query@Type``.
        url: Where signals are posted.
        device_id: The lane; None hears of all.
        job_id: Only this job; None hears of all.
        job_part_id: Only this part.
        queue_entry_id: Only this entry.
        resources: ``ResourceQuParams@ResourceName``; empty means all.
        scope: ``ResourceQuParams@Scope``; None where the partner named none.
        classes: ``NotificationFilter@Classes``; empty means all.
        repeat_time_s: Also when nothing changed; None only on change.
        repeat_step: Every so many changes.
        observed: ``ObservationTarget@ObservationPath``: only when what it leads to has changed.
        reliable: Repeated until received, in order; else sent once.
        retry_for_ever: ``RetryPolicy``; else a message that failed is dropped when the next one is there.
        changes_only: A QueueStatus signal holds only the entries that changed.
    """

    channel_id: str
    sender_id: str
    partner: str
    source: str
    kind: str
    url: str
    device_id: str | None = None
    job_id: str | None = None
    job_part_id: str | None = None
    queue_entry_id: str | None = None
    resources: tuple[str, ...] = ()
    scope: str | None = None
    classes: tuple[str, ...] = ()
    repeat_time_s: float | None = None
    repeat_step: int | None = None
    observed: str | None = None
    reliable: bool = True
    retry_for_ever: bool = True
    changes_only: bool = False

    @property
    def channel(self) -> str:
        """Its name in the outbox: unique, since one partner gives an ID once."""
        return f"{SUBSCRIBED}.{self.partner}.{self.channel_id}"[:127]

    def as_json(self) -> dict[str, Any]:
        """Plain values for the store."""
        return asdict(self) | {"classes": list(self.classes), "resources": list(self.resources)}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "Subscription":
        """The reverse of ``as_json``."""
        lists = {name: tuple(data.get(name, ())) for name in ("classes", "resources")}
        return cls(**{**data, **lists})
