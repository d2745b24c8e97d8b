"""Whoever helps the press: wishes in the control folder, or the time that a standstill takes."""

import math
from collections.abc import Collection

from ticketbridge.press_sim.job import Job
from ticketbridge.press_sim.places import Places
from ticketbridge.press_sim.record import JAM
from ticketbridge.press_sim.settings import PressSettings


class Attendant:
    """Ends standstills, and brings a jam where somebody wishes one.

    A jam holds the carriage and so every lane; a lane that waits for a roll leaves the others to print.
    """

    def __init__(self, press: PressSettings, places: Places, clock_factor: float) -> None:
        self._press = press
        self._places = places
        self._factor = clock_factor
        self._until_s: dict[str, float] = {}

    def attend(self, jobs: Collection[Job], now_s: float) -> None:
        """Look after the running jobs once."""
        for job in jobs:
            if job.fault is not None:
                self._help(job, job.fault, now_s)
        moving = [job for job in jobs if job.fault is None and not job.printed]
        if moving and self._places.jam_wanted():
            min(moving, key=lambda job: job.serial).jam()

    @staticmethod
    def moving(jobs: Collection[Job]) -> list[Job]:
        """The jobs that the carriage prints now."""
        if any(job.fault == JAM for job in jobs):
            return []
        return [job for job in jobs if job.fault is None]

    def _help(self, job: Job, fault: str, now_s: float) -> None:
        until_s = self._until_s.setdefault(job.serial, now_s + self._lasts_s(fault))
        if now_s >= until_s or (fault != JAM and self._places.roll_loaded(job.lane)):
            del self._until_s[job.serial]
            job.go_on()

    def _lasts_s(self, fault: str) -> float:
        seconds = self._press.jam_s if fault == JAM else self._press.roll_change_s
        if seconds is None:
            return math.inf
        return seconds / self._factor if self._factor else 0.0
