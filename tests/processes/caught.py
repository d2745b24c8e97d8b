"""Bridges that are stopped in the middle of their work: at the moment when something of it shows in a folder.

A signal at a random moment nearly always meets a bridge that waits. These watch a folder closely, stop all bridges as
soon as a new name shows there, ask the database whose work it is, and let the others go on.
"""

import contextlib
import os
import re
import signal
import time
from dataclasses import dataclass

from tests.databases import run_sql
from tests.processes.programs import Program
from tests.processes.stream import House

LOOK_S = 0.0005
OF_RUN = "SELECT pid FROM bridge WHERE bridge_id LIKE '%-' || :found"
OF_LANE = """
SELECT b.pid FROM job j JOIN lease l ON l.name = 'lane ' || j.device_id JOIN bridge b ON b.bridge_id = l.bridge_id
WHERE j.queue_entry_id = :found
"""


@dataclass(frozen=True)
class Moment:
    """Something that a bridge does with a file.

    Attributes:
        what: What it does.
        folders: Where it shows, below the shop folder.
        name: What the file's new name looks like, with the part that tells whose work it is.
        whose: What to ask the database for the process.
    """

    what: str
    folders: str
    name: re.Pattern[str]
    whose: str


CLAIMS = Moment(
    "claims", "hotfolders/mis/claimed", re.compile(r"^\d+T\d+-(?:sub|res)?([0-9a-f]{8})-\d+-1~"), OF_RUN
)
"""A ticket was claimed, dropped or submitted; what becomes of it is not yet committed. Only at its first attempt: the
third end of a bridge that has it in hand sets it aside, as promised, and that is doubted elsewhere."""
HANDS_OVER = Moment(
    "hands over", "lanes/*/in", re.compile(r"^\.ticketbridge-Q\d+\..+-([0-9a-f]{8})\.tmp$"), OF_RUN
)
"""A ticket lies at its lane under its temporary name; the intention is not yet committed."""
GIVES_BACK = Moment("gives back", "hotfolders/mis/returned", re.compile(r"^(Q\d+)\.jdf$"), OF_LANE)
"""A finished ticket lies ready for the MIS; that the job is completed is not yet committed."""
MOMENTS = (CLAIMS, HANDS_OVER, GIVES_BACK)


@dataclass(frozen=True)
class Hit:
    """A bridge that stands still now, and what showed whose work it is."""

    bridge: Program
    what: str


def caught(house: House, address: str, moment: Moment, within_s: float) -> Hit | None:
    """The bridge that was stopped in it; None where there was no such moment for so long."""
    found = _shows(house, moment, within_s)
    if found is None:
        return None
    pids = set[object]()
    with contextlib.suppress(Exception):  # the database may just be coming up
        pids = {pid for (pid,) in run_sql(address, moment.whose, found=found)}
    victim = next((one for one in house.bridges if one.process and one.process.pid in pids), None)
    for bridge in house.bridges:
        if bridge is not victim:
            bridge.send(signal.SIGCONT)
    return victim and Hit(victim, found)


def _shows(house: House, moment: Moment, within_s: float) -> str | None:
    """What a new name tells; all bridges are stopped by then."""
    folders = sorted(house.shop.glob(moment.folders))
    seen = {folder: set(os.listdir(folder)) for folder in folders}
    until_s = time.monotonic() + within_s
    while time.monotonic() < until_s:
        for folder in folders:
            names = set(os.listdir(folder))
            new = [match[1] for name in names - seen[folder] if (match := moment.name.search(name))]
            if new:
                for bridge in house.bridges:
                    bridge.send(signal.SIGSTOP)
                return new[0]
            seen[folder] = names
        time.sleep(LOOK_S)
    return None
