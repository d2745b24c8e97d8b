"""The life of one ticket on the press: setup, printing, clearing up, return.

Every method may be called again after a kill: what the record or the print log already has is not done twice.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Final

from ticketbridge.press_sim import safe_xml
from ticketbridge.press_sim.answers import report, return_ticket
from ticketbridge.press_sim.carriage import CarriageMode, Span, advance_mm, steps_to_clear
from ticketbridge.press_sim.clock import Clock
from ticketbridge.press_sim.consumption import Used, used
from ticketbridge.press_sim.jmf import JobState, Subject, fault_signal, resource_signal, status_signal
from ticketbridge.press_sim.job_roll import JobRoll, roll_after
from ticketbridge.press_sim.lane_roll import LaneRoll
from ticketbridge.press_sim.placements import pieces_after, print_order
from ticketbridge.press_sim.print_log import PrintLog
from ticketbridge.press_sim.record import (
    CLEANUP,
    COMPLETED,
    IN_PROGRESS,
    JAM,
    OUT_OF_ROLL,
    SETUP,
    STOPPED,
    Phase,
    Record,
)
from ticketbridge.press_sim.returned import Run, completed_ticket, version_to_write
from ticketbridge.press_sim.settings import LaneSettings, PressSettings
from ticketbridge.press_sim.ticket import Ticket

QUIET_S: Final = 2.0
"""Shortest time between two reports of progress, so that a job of 500 pieces floods nobody."""

_SETUP_REPORT: Final = 1
_START_REPORT: Final = 2
"""The report of the n-th piece is number 2 + n, and three more for every fault before it: the notice, the
standstill, the going on. Resource, completed and idle follow the last piece. So every report has a number that
follows from the record alone, and the numbers rise."""

_REPORTS_OF_A_FAULT: Final = 3

_NOTICES: Final = {
    JAM: ("MediaJam", "The substrate has jammed on {lane}, and a piece is spoilt. Somebody must free it."),
    OUT_OF_ROLL: ("MediaOut", "The roll on {lane} has ended. Somebody must load another."),
}
"""``Event@EventID`` and the sentence of a fault's notice."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a job needs of the press."""

    press: PressSettings
    log: PrintLog
    clock: Clock
    roll: LaneRoll


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
            surroundings: The press, and the roll on the job's lane.
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
        self._lane_roll = surroundings.roll
        self._ticket = ticket
        self._record = record
        self._printed_at = printed_at
        self._order = print_order(ticket.placements)
        self._pieces_after = pieces_after(self._order)
        self._clear_steps = [
            steps_to_clear(placement.box.top, self._press.head_swath_mm, ticket.carriage_mode)
            for placement in self._order
        ]
        self._steps = self._steps_at_last
        self._roll = self._roll_found()
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

    @property
    def fault(self) -> str | None:
        """What the job stands for, or None while it moves."""
        return self._record.fault

    @property
    def _steps_at_last(self) -> int:
        """Steps made when the last printed placement came free."""
        return self._clear_steps[len(self._printed_at) - 1] if self._printed_at else 0

    def _roll_found(self) -> JobRoll:
        """The roll as the jobs before left it, and this job's own faults."""
        faults = self._record.faults
        left_mm = self._lane_roll.left_mm(self._ticket.media.length_mm)
        return roll_after(
            faults,
            [self._record.end_of(fault) is not None for fault in faults],
            JobRoll(self._order, self._ticket.leader_mm, left_mm),
            self._lane_roll.full_mm,
        )

    def begin(self) -> None:
        """Set up and start, or go on after a stop. The jobs before on this lane have used the roll by now."""
        self._roll = self._roll_found()
        if self._record.status is None:
            self._record.enter(SETUP, self._now())
        self._report(_SETUP_REPORT, self._setup_signal)
        if self._resumed and self._record.status == IN_PROGRESS and not self.printed:
            self._record.enter(STOPPED, self._last_at())
        if self._record.status in (SETUP, STOPPED) and self.fault is None:
            self._record.enter(IN_PROGRESS, self._now())
        self._report(_START_REPORT, self._start_signal)
        self._report_faults()
        if self.fault is None:
            self._report_progress()

    def report_now(self) -> bytes:
        """Where the job stands, as a Status signal, for somebody who asks."""
        pieces = self._pieces_after[len(self._printed_at)]
        if self.fault is not None:
            return self._stopped_signal(self._record.faults[-1], pieces, self._waste, 0)
        if self._record.status == SETUP:
            return self._setup_signal(0)
        return self._progress_signal(0, pieces) if pieces else self._start_signal(0)

    @property
    def steps_to_next(self) -> int:
        """Steps until the head has left the next placement behind."""
        return max(1, self._clear_steps[len(self._printed_at)] - self._steps)

    def step(self, steps: int, beside: Sequence[str] = ()) -> None:
        """The roll moves on: log what the head has left behind, then report it.

        Args:
            steps: How many steps at once; no more than ``steps_to_next``, or placements share a timestamp.
            beside: Serials of the jobs that make these steps on other lanes.
        """
        self._steps += steps
        first = last = len(self._printed_at)
        beyond = self._roll.first_beyond(first)
        while last < beyond and self._clear_steps[last] <= self._steps:
            last += 1
        if last > first:
            at = self._now()
            self._log.add(self.serial, self.lane.device_id, self._ticket, self._order[first:last], at, beside)
            self._printed_at.extend([at] * (last - first))
            self._report_progress()
        if last == beyond < len(self._order) and self._clear_steps[last] <= self._steps:
            tail_mm = max(0.0, self._roll.left_mm - self._roll.used_mm(last))
            self._stop_for(OUT_OF_ROLL, int(self._roll.begins_on_roll(last)), tail_mm)

    def jam(self) -> None:
        """The substrate jams: the piece in hand is spoilt and printed again."""
        lost_steps = self._steps - self._steps_at_last
        lost_mm = lost_steps * advance_mm(self._press.head_swath_mm, self._ticket.carriage_mode)
        self._stop_for(JAM, 1, lost_mm)
        self._roll.suffer(self._record.faults[-1])

    def go_on(self) -> None:
        """The jam is freed, or another roll is on."""
        if self.fault == OUT_OF_ROLL:
            self._lane_roll.load(f"{self.serial}-{len(self._record.faults)}")
            self._roll.renew(self._lane_roll.full_mm, len(self._printed_at))
        self._record.enter(IN_PROGRESS, self._now())
        self._report_faults()

    def _stop_for(self, details: str, waste: int, waste_mm: float) -> None:
        printed = len(self._printed_at)
        self._record.stop_for(details, self._now(), printed=printed, waste=waste, waste_mm=waste_mm)
        self._steps = self._steps_at_last
        self._report_faults()

    def finish(self) -> None:
        """Clear up, say what was used, and give the ticket back."""
        if self._record.status == IN_PROGRESS:
            self._record.enter(CLEANUP, self._now())
        self._lane_roll.use(self.serial, self._roll.used_mm(len(self._order)) + self._ticket.trailer_mm)
        last = self._progress_number(self._pieces_after[-1])
        self._report(last + 1, self._resource_signal)
        if self._record.status == CLEANUP:
            self._record.enter(COMPLETED, self._now())
        self._report(last + 2, self._completed_signal)
        return_ticket(self.lane.returned, self.serial, self._record, self._returned_ticket)
        self._report(last + 3, self._idle_signal)

    def _report(self, sequence: int, build: Callable[[int], bytes]) -> None:
        report(self.lane.status, self.serial, sequence, self._record, lambda: build(sequence))

    def _report_progress(self) -> None:
        pieces = self._pieces_after[len(self._printed_at)]
        last = pieces == self._pieces_after[-1]
        if pieces and (last or self._clock.steady_s() >= self._quiet_until_s):
            number = self._progress_number(pieces)
            self._report(number, lambda sequence: self._progress_signal(sequence, pieces))
            self._quiet_until_s = self._clock.steady_s() + QUIET_S

    def _progress_number(self, pieces: int) -> int:
        return _START_REPORT + pieces + _REPORTS_OF_A_FAULT * len(self._record.faults)

    def _report_faults(self) -> None:
        """What is not reported yet of every fault: the notice, the standstill and, where it is over, the going on."""
        for count, fault in enumerate(self._record.faults, 1):
            pieces = self._pieces_after[fault.printed]
            before = _START_REPORT + pieces + _REPORTS_OF_A_FAULT * (count - 1)
            waste = sum(one.waste for one in self._record.faults[:count])
            self._report(before + 1, partial(self._fault_notice, fault))
            self._report(before + 2, partial(self._stopped_signal, fault, pieces, waste))
            ended_at = self._record.end_of(fault)
            if ended_at is not None:
                self._report(before + 3, partial(self._going_on_signal, ended_at, pieces, waste))

    def _fault_notice(self, fault: Phase, sequence: int) -> bytes:
        event_id, sentence = _NOTICES[fault.details or ""]
        told = sentence.format(lane=self.lane.device_id)
        return fault_signal(self._subject, sequence, fault.at, event_id, told)

    def _stopped_signal(self, fault: Phase, pieces: int, waste: int, sequence: int) -> bytes:
        state = self._state(STOPPED, fault.details, fault.at, pieces, waste=waste)
        return status_signal(self._subject, sequence, fault.at, "Stopped", state)

    def _going_on_signal(self, at: str, pieces: int, waste: int, sequence: int) -> bytes:
        state = self._state(IN_PROGRESS, "Good", at, pieces, waste=waste)
        return status_signal(self._subject, sequence, at, "Running", state)

    def _setup_signal(self, sequence: int) -> bytes:
        at = self._record.since(SETUP)
        return status_signal(self._subject, sequence, at, "Setup", self._state(SETUP, "SizeChange", at, 0))

    def _start_signal(self, sequence: int) -> bytes:
        at = self._record.since(IN_PROGRESS)
        return status_signal(self._subject, sequence, at, "Running", self._state(IN_PROGRESS, "Good", at, 0))

    def _progress_signal(self, sequence: int, pieces: int) -> bytes:
        at = self._piece_time(pieces)
        began_at = self._record.since(IN_PROGRESS, at)
        state = self._state(IN_PROGRESS, "Good", began_at, pieces, waste=self._waste)
        return status_signal(self._subject, sequence, at, "Running", state)

    def _resource_signal(self, sequence: int) -> bytes:
        at = self._record.since(CLEANUP)
        return resource_signal(self._subject, sequence, at, self._ticket.media, self._used)

    def _completed_signal(self, sequence: int) -> bytes:
        at = self._record.since(COMPLETED)
        pieces = self._pieces_after[-1]
        state = self._state(COMPLETED, "JobCompletedSuccessfully", at, pieces, waste=self._waste, ended_at=at)
        return status_signal(self._subject, sequence, at, "Cleanup", state)

    def _idle_signal(self, sequence: int) -> bytes:
        return status_signal(self._subject, sequence, self._record.since(COMPLETED), "Idle", None)

    def _returned_ticket(self) -> bytes:
        root = safe_xml.read(self.path)
        run = Run(
            record=self._record,
            piece_times=tuple(self._piece_time(piece) for piece in range(1, self._pieces_after[-1] + 1)),
            used=self._used,
            lot_id=self._ticket.media.lot_id,
            operator=self._press.operator,
        )
        version = version_to_write(root, self._press.jdf_version)
        return completed_ticket(root, replace(self._subject, version=version), run)

    @property
    def _waste(self) -> int:
        return sum(fault.waste for fault in self._record.faults)

    @property
    def _used(self) -> Used:
        """Roll and ink of the whole job, with what its faults spoilt and the leader of every further roll."""
        faults = self._record.faults
        leaders_mm = self._ticket.leader_mm * sum(fault.details == OUT_OF_ROLL for fault in faults)
        return used(
            self._ticket,
            self._press.ink_ml_m2,
            waste_mm=leaders_mm + sum(fault.waste_mm for fault in faults),
            spoilt_share=self._waste / self._pieces_after[-1],
        )

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
        self,
        status: str,
        details: str | None,
        phase_started_at: str,
        pieces: int,
        *,
        waste: int = 0,
        ended_at: str | None = None,
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
            waste=waste,
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
