"""What the press has to say, put into the lane's folders: reports once or again, the ticket exactly once."""

from collections.abc import Callable
from pathlib import Path

from ticketbridge.press_sim import durable
from ticketbridge.press_sim.record import Record


def report(folder: Path, serial: str, sequence: int, record: Record, build: Callable[[], bytes]) -> None:
    """Write a JMF into the status folder unless the record says that it, or a later one, lies there already.

    A kill between the file and the record makes it appear again: the same name, the same bytes.
    """
    if sequence > record.reported:
        durable.write(folder / f"{serial}-{sequence:06d}.jmf", build())
        record.mark_reported(sequence)


def return_ticket(folder: Path, serial: str, record: Record, build: Callable[[], bytes]) -> None:
    """Write the returned ticket exactly once, whenever the press is killed and however fast it is fetched.

    First the whole file under its temporary name, then the record of the intention, then one rename. So once
    the intention is recorded, a temporary file still there means not delivered, and gone means delivered.
    """
    target = folder / f"{serial}.jdf"
    if not record.returning:
        durable.stage(target, build())
        record.mark_returning()
    if durable.temporary_for(target).exists():
        durable.publish(target)
