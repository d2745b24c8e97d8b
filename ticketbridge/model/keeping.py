"""For how long files and messages stay where they are, and when they go into an archive. None is thrown away."""

from datetime import UTC, datetime, timedelta
from enum import StrEnum

from ticketbridge.model.substrate import FromOutside, Positive


class Kind(StrEnum):
    """What is kept; the word stands in the name of its archives."""

    TICKETS = "tickets"
    """What was dropped: in ``accepted``, ``repeated`` and ``refused``."""
    ARTWORK = "artwork"
    """What lies in ``artwork`` of a source."""
    PRESS_FILES = "press-files"
    """What presses wrote: in ``followed`` of the lanes."""
    RETURNED = "returned"
    """Finished tickets that nobody took out of ``returned``."""
    MESSAGES = "messages"
    """Messages that were sent: in the outbox of the store, and in ``status`` where nobody took them."""


class Keeping(FromOutside):
    """``keeping`` in ``shop.yaml``: after so many days something goes into an archive; without a number it never does.

    The days count from the end of the month in which it was last needed, so that a month goes as a whole.
    """

    tickets_days: Positive | None = 3650
    """Dropped files, from the end of their last job on. What belongs to an unfinished job stays."""
    artwork_days: Positive | None = 1095
    """Files in ``artwork`` of a source, from the end of their last job on. A job that is to be printed again after
    that needs its artwork back from the archive."""
    press_files_days: Positive | None = 1095
    """What presses wrote, in ``followed`` of the lanes."""
    returned_days: Positive | None = 3650
    """Finished tickets that the MIS has not taken out of ``returned``."""
    messages_days: Positive | None = 1095
    """Messages that were sent, in the store and in ``status``; unsent ones and dead letters stay."""
    received_days: Positive | None = 400
    """IDs of what presses and commands sent, by which the same again is known. They go into no archive and are
    forgotten: what was said stands in the history."""

    def days_of(self, kind: Kind) -> float | None:
        """How long this kind stays."""
        return {
            Kind.TICKETS: self.tickets_days,
            Kind.ARTWORK: self.artwork_days,
            Kind.PRESS_FILES: self.press_files_days,
            Kind.RETURNED: self.returned_days,
            Kind.MESSAGES: self.messages_days,
        }[kind]

    def archived_before(self, kind: Kind, now: datetime) -> datetime | None:
        """The beginning of the oldest month that stays where it is; None where everything stays."""
        return _begin_of_month_before(self.days_of(kind), now)

    def forgotten_before(self, now: datetime) -> datetime | None:
        """Before when IDs of received messages are forgotten; None where none is."""
        return _begin_of_month_before(self.received_days, now)

    def may_go(self, kind: Kind, needed_until: datetime | None, now: datetime) -> bool:
        """Whether something may go into an archive.

        Args:
            kind: What it is.
            needed_until: When it was last needed; None where it still is.
            now: Now.
        """
        before = self.archived_before(kind, now)
        return before is not None and needed_until is not None and needed_until.astimezone(UTC) < before


def month_of(moment: datetime) -> str:
    """The month that something belongs to, in UTC, such as ``2026-11``."""
    return f"{moment.astimezone(UTC):%Y-%m}"


def _begin_of_month_before(days: float | None, now: datetime) -> datetime | None:
    if days is None:
        return None
    try:
        moment = now.astimezone(UTC) - timedelta(days=days)
    except OverflowError:  # longer ago than there are dates
        return None
    return moment.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
