"""What child processes do for the flow: take files, read and map them, write and check tickets.

It stands apart from who asks for it, as a child loads all that a module imports, and needs no store.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from ticketbridge.accept.claim import Claimed
from ticketbridge.accept.read import Content, Setting, read
from ticketbridge.extract.beside import Once
from ticketbridge.flow.meaning import Meaning, meaning_of
from ticketbridge.flow.taking import Taken, take_one
from ticketbridge.hand_over.write import write_checked
from ticketbridge.jdf.schema_catalogue import schema
from ticketbridge.model.finding import Finding
from ticketbridge.model.shop import Shop
from ticketbridge.model.submission import Submission

Orders = tuple[Meaning, ...]
"""All orders of a file."""


class Found(NamedTuple):
    """What a child found in a file: as it was taken, without its bytes, and its orders."""

    content: Content
    fault: Finding | None
    submission: Submission | None
    orders: Orders


def get_ready() -> None:
    """Load what reading, writing and checking takes, a third of a second, before the first ticket comes."""
    schema("JDF")
    write_checked([])


def orders_in(taken: Taken, kept: Path, setting: Setting, shop: Shop) -> Orders:
    """Read and map every order of a file; one that cannot be read has none.

    Args:
        taken: The file.
        kept: The folder where artwork that came alone lies from now on, for the press to open it.
        setting: What it is read by.
        shop: What it is mapped by.
    """
    if taken.fault is not None:
        return ()
    file, path = taken.claimed.original_name, taken.claimed.path
    found = read(taken.content, file, kept / path.name, setting)
    return tuple(meaning_of(one, file, shop, setting.source) for one in found)


def found_in_several(
    files: Sequence[Claimed], limit_bytes: int, kept: Path, by: Once[tuple[Setting, Shop]]
) -> list[Found | None]:
    """Take several files of one source, and read and map their orders; None for one that is not there any more.

    Raises:
        OSError: The disk is at fault, and not a single file.
    """
    return [_found_in(one, limit_bytes, kept, *by.value) for one in files]


def _found_in(file: Claimed, limit_bytes: int, kept: Path, setting: Setting, shop: Shop) -> Found | None:
    taken = take_one(file, limit_bytes)
    if taken is None:
        return None
    orders = orders_in(taken, kept, setting, shop)
    return Found(taken.content._replace(data=b""), taken.fault, taken.submission, orders)
