"""The press: takes tickets, lets lanes run side by side where their modes agree, moves the carriage."""

import os
import threading
from collections import deque
from collections.abc import Sequence
from contextlib import suppress
from operator import attrgetter, itemgetter
from pathlib import Path
from typing import Final

from ticketbridge.press_sim import durable, safe_xml
from ticketbridge.press_sim.attendant import Attendant
from ticketbridge.press_sim.carriage import step_s
from ticketbridge.press_sim.clock import SLICE_S, Clock
from ticketbridge.press_sim.desk import Desk
from ticketbridge.press_sim.http.entries import Entries, Entry
from ticketbridge.press_sim.job import Job, Surroundings
from ticketbridge.press_sim.lane_roll import LaneRoll
from ticketbridge.press_sim.places import Places
from ticketbridge.press_sim.print_log import PrintLog
from ticketbridge.press_sim.record import Record
from ticketbridge.press_sim.refusal import sentence_for_people, set_aside
from ticketbridge.press_sim.settings import LaneSettings, PressSettings
from ticketbridge.press_sim.ticket import check_fits_a_roll, read_ticket
from ticketbridge.press_sim.values import Unprintable

HELD: Final = "Held"
REMOVED: Final = "Removed"

POLL_S: Final = SLICE_S
"""How often the lanes' folders are looked at, in real time."""


class Simulator:
    """One press at work. Only one may work on a folder; whoever makes it holds the lock."""

    def __init__(self, press: PressSettings, places: Places, clock: Clock, clock_factor: float) -> None:
        """Take up the work where it was left.

        Args:
            press: The press.
            places: Its folders, already made.
            clock: Real time.
            clock_factor: How many times faster than a real press; 0 waits for nothing at all.
        """
        self._press = press
        self._places = places
        self._clock = clock
        self._factor = clock_factor
        self._log = PrintLog(places.print_log)
        self._waiting: dict[str, deque[Job]] = {lane.device_id: deque() for lane in press.lanes}
        self._running: dict[str, Job] = {}
        self._step_ends_s: float | None = None
        self._attendant = Attendant(press, places, clock_factor)
        self._rolls = {
            lane.device_id: LaneRoll(places.roll(lane), lane.roll_length_mm) for lane in press.lanes
        }
        self._held: dict[str, Job] = {}
        self.entries = Entries(places.entries)
        self.desk = Desk()
        left = {lane.device_id: places.taken_tickets(lane) for lane in press.lanes}
        printed_at = self._log.printed_at([path.stem for paths in left.values() for path in paths])
        for lane in press.lanes:
            for path in left[lane.device_id]:
                self._examine(lane, path, printed_at[path.stem])
        for entry in self.entries:
            if entry.status == HELD:
                self._put_aside(entry)

    @property
    def idle(self) -> bool:
        """Whether there is nothing to print."""
        return not self._running and not any(self._waiting.values())

    def work(self, stop: threading.Event, until_idle_s: float | None = None) -> None:
        """Work until told to stop, or until there was nothing to do for so many seconds of real time."""
        next_look_s = idle_since_s = self._clock.steady_s()
        while not stop.is_set():
            now_s = self._clock.steady_s()
            if now_s >= next_look_s:
                self.take_tickets()
                next_look_s = now_s + POLL_S
            served = self.desk.serve()
            self.start_jobs()
            self._attendant.attend(list(self._running.values()), now_s)
            self.move_on(now_s)
            if served or not self.idle:
                idle_since_s = now_s
            elif until_idle_s is not None and now_s - idle_since_s >= until_idle_s:
                return
            wake_s = next_look_s if self._step_ends_s is None else min(next_look_s, self._step_ends_s)
            if wake_s > (now_s := self._clock.steady_s()):
                self._clock.wait(stop, wake_s - now_s)

    def take_tickets(self) -> None:
        """Take every ticket in the lanes' folders, by one rename each, and look whether it can be printed."""
        found = [(time_ns, path, lane) for lane in self._press.lanes for time_ns, path in _tickets(lane.drop)]
        for _, path, lane in sorted(found, key=itemgetter(0)):
            taken = self._places.fresh_ticket(lane)
            try:
                durable.move(path, taken)
            except FileNotFoundError:
                continue
            self._places.use_serial()
            self._examine(lane, taken, [])

    def submit(
        self, lane: LaneSettings, ticket: bytes, job: tuple[str, str], return_jmf: str | None
    ) -> Entry:
        """Take a ticket by message: its entry first, then the ticket, both on disk when this returns."""
        taken = self._places.fresh_ticket(lane)
        entry = Entry(taken.stem, lane.device_id, *job, return_jmf, self._clock.timestamp())
        self._places.use_serial()
        self.entries.keep(entry)
        durable.write(taken, ticket)
        self._examine(lane, taken, [])
        return entry

    def running(self, lane: LaneSettings) -> Job | None:
        """What the lane prints now."""
        return self._running.get(lane.device_id)

    def status(self, entry: Entry) -> str:
        """``QueueEntry@Status``: what was said of it, else where its ticket lies."""
        if entry.status:
            return entry.status
        job = self._running.get(entry.device_id)
        if job is not None and job.serial == entry.serial:
            return "Running"
        name = f"{entry.serial}.jdf"
        if (self._places.done / name).exists():
            return "Completed"
        return "Aborted" if (self._places.set_aside / name).exists() else "Waiting"

    def change(self, deed: str, entry: Entry) -> int:
        """Hold, resume or remove an entry. Returns the ReturnCode."""
        status = self.status(entry)
        if status == "Running":
            return 106
        if status in ("Completed", "Aborted", REMOVED):
            return 114
        if (deed, status) in (("hold", HELD), ("resume", "Waiting")):
            return 113
        if deed == "resume":
            self.entries.mark(entry.serial, "")
            self._waiting[entry.device_id].append(self._held.pop(entry.serial))
            return 0
        if status != HELD:
            self._put_aside(entry)
        if deed == "hold":
            self.entries.mark(entry.serial, HELD)
            return 0
        self.entries.mark(entry.serial, REMOVED)
        job = self._held.pop(entry.serial)
        durable.move(job.path, self._places.set_aside / job.path.name)
        return 0

    def _put_aside(self, entry: Entry) -> None:
        """Out of the line, so that it does not start."""
        line = self._waiting[entry.device_id]
        for job in [job for job in line if job.serial == entry.serial]:
            line.remove(job)
            self._held[job.serial] = job

    def start_jobs(self) -> None:
        """Start what may run now: the oldest ticket, and beside it the heads of other lanes in the same mode.

        A lane whose head has another mode waits until the carriage is free; nothing younger goes before it.
        """
        heads = [jobs[0] for name, jobs in self._waiting.items() if jobs and name not in self._running]
        for job in sorted(heads, key=attrgetter("serial")):
            if any(job.carriage_mode != other.carriage_mode for other in self._running.values()):
                return
            name = job.lane.device_id
            self._running[name] = self._waiting[name].popleft()
            job.begin()
            if job.printed:
                self._finish(job)

    def move_on(self, now_s: float) -> None:
        """Let the running lanes make the steps that are due, one carriage for all of them."""
        jobs = self._attendant.moving(self._running.values())
        if not jobs:
            self._step_ends_s = None
        elif self._step_ends_s is None:
            self._step_ends_s = now_s + self._step_s(jobs)
        elif self._step_ends_s <= now_s:
            steps = 1 if self._factor else min(job.steps_to_next for job in jobs)
            for job in jobs:
                job.step(steps, [other.serial for other in jobs if other is not job])
                if job.printed:
                    self._finish(job)
            moving = self._attendant.moving(self._running.values())
            self._step_ends_s = self._step_ends_s + self._step_s(moving) if moving else None

    def _step_s(self, jobs: Sequence[Job]) -> float:
        if self._factor == 0:
            return 0.0
        return step_s(self._press, jobs[0].carriage_mode, [job.span for job in jobs]) / self._factor

    def _finish(self, job: Job) -> None:
        job.finish()
        durable.move(job.path, self._places.done / job.path.name)
        del self._running[job.lane.device_id]

    def _examine(self, lane: LaneSettings, path: Path, printed_at: list[str]) -> None:
        record = Record(self._places.record(path.stem))
        if not record.taken_at:
            record.mark_taken(self._clock.timestamp())
        if record.refusal is None:
            roll = self._rolls[lane.device_id]
            try:
                ticket = read_ticket(safe_xml.read(path), lane.device_id, self._press.jdf_version)
                check_fits_a_roll(ticket, roll.full_mm)
            except (safe_xml.NotReadable, Unprintable) as problem:
                record.refuse(sentence_for_people(str(problem)), self._clock.timestamp())
            else:
                surroundings = Surroundings(self._press, self._log, self._clock, roll)
                self._waiting[lane.device_id].append(
                    Job(surroundings, lane, path, ticket, record, printed_at)
                )
        if record.refusal is not None:
            set_aside(self._press, lane, path, record, self._places.set_aside)


def _tickets(folder: Path) -> list[tuple[int, Path]]:
    """Tickets in a lane's folder with their time in ns; one still being written has a dot name or .tmp."""
    found = []
    with os.scandir(folder) as entries:
        for entry in entries:
            if _is_ticket_name(entry.name) and entry.is_file(follow_symlinks=False):
                with suppress(FileNotFoundError):
                    found.append((entry.stat(follow_symlinks=False).st_mtime_ns, folder / entry.name))
    return sorted(found)


def _is_ticket_name(name: str) -> bool:
    return name.lower().endswith(".jdf") and not name.startswith(".")
