"""Handing a ticket to a lane exactly once: intention and evidence.

First the ticket lies in the lane's folder under a temporary name, durable; then the intention is committed
to the store; then one rename. The temporary name is the evidence ever after: still there means not
delivered, gone means delivered. The press need not help: it may take the file at once and remember nothing.
"""

import os
from dataclasses import dataclass
from pathlib import Path

from ticketbridge.spool import durable
from ticketbridge.spool.gates import ask
from ticketbridge.spool.places import LanePlaces

TEMPORARY_BEGINNING = ".ticketbridge-"
TEMPORARY_ENDING = ".tmp"


@dataclass(frozen=True, slots=True)
class Hold:
    """A ticket that lies ready in its lane under a temporary name."""

    queue_entry_id: str
    device_id: str
    tickets: Path
    temporary_name: str
    final_name: str
    jobs: tuple[str, ...]
    """The queue entries that it prints: the one it is named after, or the members of a gang run."""


def hold_for(
    queue_entry_id: str, device_id: str, lane: LanePlaces, writer: str = "", members: tuple[str, ...] = ()
) -> Hold:
    """The names of a delivery. They are ours alone, so a leftover of a crash may be written over.

    Args:
        queue_entry_id: The job.
        device_id: The lane.
        lane: Its folders.
        writer: Which of several bridges writes. One that lost the lane without noticing yet can so never write
            over, or bring back, the file of the one that serves it now.
        members: The jobs of a gang run, which is named after none of them.
    """
    beginning = f"{TEMPORARY_BEGINNING}{queue_entry_id}"
    temporary_name = f"{beginning}.{writer}{TEMPORARY_ENDING}" if writer else f"{beginning}{TEMPORARY_ENDING}"
    jobs = members or (queue_entry_id,)
    return Hold(queue_entry_id, device_id, lane.tickets, temporary_name, f"{queue_entry_id}.jdf", jobs)


def place(hold: Hold, ticket: bytes) -> None:
    """Put the ticket there, content durable. ``sync_folder`` on its folder makes the name durable too.

    Raises:
        PlaceNotReady: The lane's folder is not there.
    """

    def both() -> None:
        durable.require_ready(hold.tickets)
        durable.write_and_sync(hold.tickets / hold.temporary_name, ticket)

    ask(hold.tickets, both)


def hand_over(hold: Hold) -> bool:
    """The one rename. True where this call delivered it, False where the evidence says it was delivered before.

    A rename that failed may have worked all the same (network file systems), so the answer is read from the
    temporary name and not from the error.

    Raises:
        PlaceNotReady: The folder is not there, so there is no evidence: ask again later.
        OSError: The rename failed and the temporary file is still there.
        ShareHangs: The share does not answer. The rename may happen yet: ask when it answers again.
    """
    return ask(hold.tickets, lambda: _rename(hold))


def _rename(hold: Hold) -> bool:
    durable.require_ready(hold.tickets)
    temporary = hold.tickets / hold.temporary_name
    if not temporary.exists():
        return False
    try:
        durable.move(temporary, hold.tickets / hold.final_name)
    except OSError:
        if temporary.exists():
            raise
    return True


def leftovers(lane: LanePlaces) -> list[str]:
    """Names of the temporary files that lie in the lane.

    Raises:
        PlaceNotReady: The lane's folder is not there.
    """
    durable.require_ready(lane.tickets)
    names = sorted(ask(lane.tickets, lambda: os.listdir(lane.tickets)))
    return [
        name for name in names if name.startswith(TEMPORARY_BEGINNING) and name.endswith(TEMPORARY_ENDING)
    ]


def queue_entry_of(temporary_name: str) -> str:
    """The job whose ticket lies under that name."""
    return temporary_name.removeprefix(TEMPORARY_BEGINNING).partition(".")[0]


def withdraw(lane: LanePlaces, temporary_name: str) -> None:
    """Take away a temporary file that no committed intention speaks of: a crash came between the two."""
    durable.remove_note(lane.tickets / temporary_name)
