"""The press's own folders and the serial numbers it gives out."""

import fcntl
from pathlib import Path
from typing import IO, Self

from ticketbridge.press_sim import durable
from ticketbridge.press_sim.settings import LaneSettings, PressSettings, SettingsProblem


class AlreadyRunning(Exception):
    """Another simulated press works on this folder."""


class Places:
    """Everything under the press's folder that the press writes for itself.

    Attributes:
        print_log: What was printed.
        done: Tickets that were printed and returned.
        set_aside: Tickets that were refused, each with its reason.
        entries: The queue as JMF sees it.
        channels: Who subscribed to what.
        mischief: Where misbehaviour is asked for.
    """

    def __init__(self, folder: Path, press: PressSettings) -> None:
        """Make the folders that are missing, and lock them for this process.

        Raises:
            AlreadyRunning: Another process holds the lock.
            SettingsProblem: A lane's folder lies on another file system, or a lane with work left is gone.
        """
        self.print_log = folder / "print-log.jsonl"
        self._state = folder / "state"
        self.done = self._state / "done"
        self.set_aside = self._state / "set-aside"
        self._jobs = self._state / "jobs"
        self._taken = self._state / "taken"
        self._serial = self._state / "next-serial"
        self._press_id = press.press_id
        self._rolls = self._state / "rolls"
        self._control = folder / "control"
        self.entries = self._state / "entries"
        self.channels = self._state / "channels.json"
        self.mischief = self._control / "http"
        self._state.mkdir(parents=True, exist_ok=True)
        self._lock = _lock(self._state / "lock", folder)
        for own in (self.done, self.set_aside, self._jobs, self._rolls, self._control):
            own.mkdir(exist_ok=True)
        for lane in press.lanes:
            (self._taken / lane.device_id).mkdir(parents=True, exist_ok=True)
            (self._control / lane.device_id).mkdir(exist_ok=True)
            for shared in (lane.drop, lane.status, lane.returned):
                shared.mkdir(parents=True, exist_ok=True)
            self._check_one_file_system(lane)
        self._check_lanes_with_work(press)
        self._number = int(self._serial.read_text()) if self._serial.exists() else 1

    def record(self, serial: str) -> Path:
        """Where the record of a job is kept."""
        return self._jobs / f"{serial}.jsonl"

    def roll(self, lane: LaneSettings) -> Path:
        """Where the account of a lane's roll is kept."""
        return self._rolls / f"{lane.device_id}.jsonl"

    def jam_wanted(self) -> bool:
        """Whether somebody put a file ``jam`` into the control folder; it is taken away."""
        return _taken_away(self._control / "jam")

    def roll_loaded(self, lane: LaneSettings) -> bool:
        """Whether somebody put a file ``roll-loaded`` into the lane's control folder; it is taken away."""
        return _taken_away(self._control / lane.device_id / "roll-loaded")

    def taken_tickets(self, lane: LaneSettings) -> list[Path]:
        """Tickets taken for a lane and not finished, oldest first."""
        return sorted((self._taken / lane.device_id).glob("*.jdf"))

    def fresh_ticket(self, lane: LaneSettings) -> Path:
        """A name that no ticket had before, for the next one of this lane.

        The number after it is on disk before the name is used, so no serial is given twice.
        """
        durable.write(self._serial, str(self._number + 1).encode())
        return self._taken / lane.device_id / f"{self._press_id}-{self._number:08d}.jdf"

    def use_serial(self) -> None:
        """The last fresh name is in use."""
        self._number += 1

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        """Give the folder free for another process."""
        self._lock.close()

    def _check_one_file_system(self, lane: LaneSettings) -> None:
        if lane.drop.stat().st_dev != self._state.stat().st_dev:
            raise SettingsProblem(
                f"{lane.drop} and {self._state} are on different file systems, so a ticket cannot be taken by"
                " one rename. Put the press's folder beside the lane's."
            )

    def _check_lanes_with_work(self, press: PressSettings) -> None:
        known = {lane.device_id for lane in press.lanes}
        for folder in self._taken.iterdir():
            if folder.name not in known and any(folder.iterdir()):
                raise SettingsProblem(
                    f"{folder} holds tickets of a lane that press.yaml does not name. Name it again until"
                    " they are printed, or take them out."
                )


def _taken_away(path: Path) -> bool:
    """A wish counts once: a kill right after this loses it, and whoever wished it sees that and wishes again."""
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    return True


def _lock(path: Path, folder: Path) -> IO[str]:
    file = path.open("a")
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        file.close()
        raise AlreadyRunning(
            f"{folder}: another simulated press works on this folder. Stop it first, or use another folder."
        ) from None
    return file
