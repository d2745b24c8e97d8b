"""What child processes do for the flow: read and map, write and check.

It stands apart from who asks for it, as a child loads all that a module imports, and needs no store.
"""

from collections.abc import Sequence
from pathlib import Path

from ticketbridge.accept.read import Content, Setting, read
from ticketbridge.extract.beside import Once
from ticketbridge.flow.meaning import Meaning, meaning_of
from ticketbridge.hand_over.write import write_checked
from ticketbridge.jdf.schema_catalogue import schema
from ticketbridge.model.shop import Shop

Orders = tuple[Meaning, ...]
"""All orders of a file."""


def get_ready() -> None:
    """Load what reading, writing and checking takes, a third of a second, before the first ticket comes."""
    schema("JDF")
    write_checked([])


def orders_in(content: Content, file: str, kept_at: Path, setting: Setting, shop: Shop) -> Orders:
    """Read and map every order of a file.

    Args:
        content: The file.
        file: Its name.
        kept_at: Where a PDF lies from now on, for the press to open it.
        setting: What it is read by.
        shop: What it is mapped by.
    """
    found = read(content, file, kept_at, setting)
    return tuple(meaning_of(one, file, shop, setting.source) for one in found)


def orders_in_several(
    files: Sequence[tuple[Content, str, Path] | None], by: Once[tuple[Setting, Shop]]
) -> list[Orders]:
    """The same for several files of one source, each with its name and place; None has no orders."""
    return [() if file is None else orders_in(*file, *by.value) for file in files]
