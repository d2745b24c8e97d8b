"""The life of one ticket on the press: setup, printing, clearing up, return.

Every method may be called again after a kill: what the record or the print log already has is not done twice.
"""

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from ticketbridge.press_sim import safe_xml
from ticketbridge.press_sim.answers import report, return_ticket
from ticketbridge.press_sim.carriage import CarriageMode, Span, steps_to_clear
from ticketbridge.press_sim.clock import Clock
from ticketbridge.press_sim.consumption import used
from ticketbridge.press_sim.jmf import JobState, Subject, resource_signal, status_signal
from ticketbridge.press_sim.placements import pieces_after, print_order
from ticketbridge.press_sim.print_log import PrintLog
from ticketbridge.press_sim.record import CLEANUP, COMPLETED, IN_PROGRESS, SETUP, STOPPED, Record
from ticketbridge.press_sim.returned import Run, completed_ticket, version_to_write
from ticketbridge.press_sim.settings import LaneSettings, PressSettings
from ticketbridge.press_sim.ticket import Ticket

QUIET_S: Final = 2.0
"""Shortest time between two reports of progress, so that a job of 500 pieces floods nobody."""

_SETUP_REPORT: Final = 1
_START_REPORT: Final = 2
"""The report of the n-th piece is number 2 + n; resource, completed and idle follow the last piece."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a job needs of the press."""

    press: PressSettings
    log: PrintLog
    clock: Clock


class Job:
    """One taken ticket that can be printed."""

    def __init__(
        self,
        surroundings: Surroundings,
        lane: LaneSettings,
        path: Path,
        ticket: Ticket,
        record: Record,
        printed_at: list[str],
    ) -> None:
        """Take up a job where the record and the print log say it stands.

        Args:
            surroundings: The press.
            lane: The lane that has the ticket.
            path: The taken ticket; its name is the serial.
            ticket: What it says.
            record: What was done so far.
            printed_at: Timestamps of the placements already in the print log.
        """
        self.serial = path.stem
        self.lane = lane
        self.path = path
        self._press = surroundings.press
        self._log = surroundings.log
        self._clock = surroundings.clock
        self._ticket = ticket
        self._record = record
        self._printed_at = printed_at
        self._order = print_order(ticket.placements)
        self._pieces_after = pieces_after(self._order)
        self._clear_steps = [
            steps_to_clear(placement.box.top, self._press.head_swath_mm, ticket.carriage_mode)
            for placement in self._order
        ]
        self._steps = self._clear_steps[len(printed_at) - 1] if printed_at else 0
        self._resumed = record.status is not None
        self._quiet_until_s = 0.0

    @property
    def carriage_mode(self) -> CarriageMode:
        """What another lane must share to run beside it."""
        return self._ticket.carriage_mode

    @property
    def span(self) -> Span:
        """From the left to the right edge of its image, on the beam."""
        boxes = [placement.box for placement in self._order]
        left_mm = self.lane.left_mm
        return Span(left_mm + min(box.left for box in boxes), left_mm + max(box.right for box in boxes))

    @property
    def printed(self) -> bool:
        """Whether nothing is left to print."""
        return len(self._printed_at) == len(self._order)

    def begin(self) -> None:
        """Set up and start, or go on after a stop."""
        if self._record.status is None:
            self._record.enter(SETUP, self._now())
        self._report(_SETUP_REPORT, self._setup_signal)
        if self._resumed and self._record.status == IN_PROGRESS and not self.printed:
            self._record.enter(STOPPED, self._last_at())
        if self._record.status in (SETUP, STOPPED):
            self._record.enter(IN_PROGRESS, self._now())
        self._report(_START_REPORT, self._start_signal)
        self._report_progress()

    @property
    def steps_to_next(self) -> int:
        """Steps until the head has left the next placement behind."""
        return max(1, self._clear_steps[len(self._printed_at)] - self._steps)

    def step(self, steps: int) -> None:
        """The roll moves on: log what the head has left behind, then report it.

        Args:
            steps: How many steps at once; no more than ``steps_to_next``, or placements share a timestamp.
        """
        self._steps += steps
        first = len(self._printed_at)
        last = first
        while last < len(self._order) and self._clear_steps[last] <= self._steps:
            last += 1
        if last > first:
            at = self._now()
            self._log.add(self.serial, self.lane.device_id, self._ticket, self._order[first:last], at)
            self._printed_at.extend([at] * (last - first))
            self._report_progress()

    def finish(self) -> None:
        """Clear up, say what was used, and give the ticket back."""
        if self._record.status == IN_PROGRESS:
            self._record.enter(CLEANUP, self._now())
        pieces = self._pieces_after[-1]
        self._report(pieces + 3, self._resource_signal)
        if self._record.status == CLEANUP:
            self._record.enter(COMPLETED, self._now())
        self._report(pieces + 4, self._completed_signal)
        return_ticket(self.lane.returned, self.serial, self._record, self._returned_ticket)
        self._report(pieces + 5, self._idle_signal)

    def _report(self, sequence: int, build: Callable[[int], bytes]) -> None:
        report(self.lane.status, self.serial, sequence, self._record, lambda: build(sequence))

    def _report_progress(self) -> None:
        pieces = self._pieces_after[len(self._printed_at)]
        last = pieces == self._pieces_after[-1]
        if pieces and (last or self._clock.steady_s() >= self._quiet_until_s):
            self._report(_START_REPORT + pieces, self._progress_signal)
            self._quiet_until_s = self._clock.steady_s() + QUIET_S

    def _setup_signal(self, sequence: int) -> bytes:
        at = self._record.since(SETUP)
        return status_signal(self._subject, sequence, at, "Setup", self._state(SETUP, "SizeChange", at, 0))

    def _start_signal(self, sequence: int) -> bytes:
        at = self._record.since(IN_PROGRESS)
        return status_signal(self._subject, sequence, at, "Running", self._state(IN_PROGRESS, "Good", at, 0))

    def _progress_signal(self, sequence: int) -> bytes:
        pieces = sequence - _START_REPORT
        at = self._piece_time(pieces)
        state = self._state(IN_PROGRESS, "Good", self._record.since(IN_PROGRESS, at), pieces)
        return status_signal(self._subject, sequence, at, "Running", state)

    def _resource_signal(self, sequence: int) -> bytes:
        at = self._record.since(CLEANUP)
        taken = used(self._ticket, self._press.ink_ml_m2)
        return resource_signal(self._subject, sequence, at, self._ticket.media, taken)

    def _completed_signal(self, sequence: int) -> bytes:
        at = self._record.since(COMPLETED)
        state = self._state(COMPLETED, "JobCompletedSuccessfully", at, self._pieces_after[-1], ended_at=at)
        return status_signal(self._subject, sequence, at, "Cleanup", state)

    def _idle_signal(self, sequence: int) -> bytes:
        return status_signal(self._subject, sequence, self._record.since(COMPLETED), "Idle", None)

    def _returned_ticket(self) -> bytes:
        root = safe_xml.read(self.path)
        run = Run(
            record=self._record,
            piece_times=tuple(self._piece_time(piece) for piece in range(1, self._pieces_after[-1] + 1)),
            used=used(self._ticket, self._press.ink_ml_m2),
            lot_id=self._ticket.media.lot_id,
            operator=self._press.operator,
        )
        version = version_to_write(root, self._press.jdf_version)
        return completed_ticket(root, replace(self._subject, version=version), run)

    @property
    def _subject(self) -> Subject:
        return Subject(
            sender_id=self._press.sender_id,
            version=self._press.jdf_version,
            device_id=self.lane.device_id,
            serial=self.serial,
            job_id=self._ticket.job_id,
            job_part_id=self._ticket.job_part_id,
        )

    def _state(
        self, status: str, details: str, phase_started_at: str, pieces: int, ended_at: str | None = None
    ) -> JobState:
        total = self._pieces_after[-1]
        return JobState(
            status=status,
            details=details,
            started_at=self._record.phases[0].at,
            phase_started_at=phase_started_at,
            ended_at=ended_at,
            pieces=pieces,
            pieces_planned=self._ticket.amount if self._ticket.amount is not None else total,
            percent=100 * pieces / total,
        )

    def _piece_time(self, pieces: int) -> str:
        """When the job had so many pieces for the first time."""
        return self._printed_at[bisect_left(self._pieces_after, pieces) - 1]

    def _last_at(self) -> str:
        return max([phase.at for phase in self._record.phases] + self._printed_at[-1:])

    def _now(self) -> str:
        """The time, but never before what is already on record, should the wall clock be set back."""
        now = self._clock.timestamp()
        return max(now, self._last_at()) if self._record.phases else now
