"""Channels that others opened by a Query with a Subscription; they outlive a restart."""

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from ticketbridge.press_sim import durable


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel.

    Attributes:
        channel_id: ID of the Query, which signals repeat as ``refID``.
        kind: ``Query@Type``.
        url: Where signals are posted.
        device_id: The lane, or empty for all.
        mode: ``Subscription@ChannelMode``.
    """

    channel_id: str
    kind: str
    url: str
    device_id: str
    mode: str


class Channels:
    """The open channels, in one file."""

    def __init__(self, path: Path) -> None:
        self._path = path
        rows = json.loads(path.read_bytes()) if path.exists() else []
        self._open = [Channel(**row) for row in rows]

    def open(self, channel: Channel) -> None:
        """Open one; the same type for the same lane to the same URL again replaces the old one."""
        self.keep([*(one for one in self._open if not _same(one, channel)), channel])

    def close(self, channel_id: str, url: str) -> None:
        """Close one by its ID, or all to a URL."""
        self.keep([one for one in self._open if not (one.channel_id == channel_id or one.url == url)])

    def keep(self, channels: list[Channel]) -> None:
        """These are the open ones now."""
        durable.write(self._path, json.dumps([asdict(one) for one in channels]).encode())
        self._open = channels

    def for_signal(self, kind: str, device_id: str) -> list[Channel]:
        """Who wants to hear it."""
        return [one for one in self._open if one.kind == kind and one.device_id in ("", device_id)]


def _same(one: Channel, other: Channel) -> bool:
    return (one.kind, one.url, one.device_id) == (other.kind, other.url, other.device_id)
