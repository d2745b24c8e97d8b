"""Writes what is made from the code, README tables and editors' schemas: ``python -m ticketbridge.config.reference``.

``schemas/README.md`` gets every key of every file, ``hotfolders/README.md`` the folders and every finding
code. A table stands between two comments, and a test compares it with what this program would write.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final

import ticketbridge
from ticketbridge.config.editors import EDITOR_FOLDER, editor_schemas
from ticketbridge.config.explain import Key, keys
from ticketbridge.config.files import FILES, MAPPING_MODEL, MAPPINGS_FOLDER
from ticketbridge.config.folders import LANE_FOLDERS, SOURCE_FOLDERS
from ticketbridge.model.codes import CODES
from ticketbridge.model.finding import Code
from ticketbridge.model.queue_messages import TABLE, Cell, EntryMessage, Stand
from ticketbridge.model.return_codes import ReturnCode
from ticketbridge.model.ticket import ITEM_FIELDS, ORDER_FIELDS
from ticketbridge.model.ticket_field import FORM_OF, OF_THE_ORDER, UNITS_OF, WORDS_OF, TicketField

CHECKOUT: Final = Path(ticketbridge.__file__).parent.parent


def with_tables(text: str, tables: Mapping[str, str]) -> str:
    """The text of a README with each table put between its two comments.

    Raises:
        ValueError: A table has no place in the text.
    """
    for name, table in tables.items():
        begin, end = f"<!-- {name}: generated, begin -->", f"<!-- {name}: generated, end -->"
        if begin not in text or end not in text:
            raise ValueError(f"the comments {begin} and {end} must stand in the text")
        before, _, rest = text.partition(begin)
        after = rest.partition(end)[2]
        text = f"{before}{begin}\n{table}\n{end}{after}"
    return text


def tables_by_file() -> dict[str, dict[str, str]]:
    """Every generated table, by README (relative to the checkout) and name."""
    return {
        "schemas/README.md": {
            "keys": key_tables(),
            "messages": message_table(),
            "fields": field_table(),
        },
        "hotfolders/README.md": {
            "source folders": folder_table(SOURCE_FOLDERS),
            "lane folders": folder_table(LANE_FOLDERS),
            "codes": code_table(CODES.values()),
        },
    }


def key_tables() -> str:
    """One table for each file of a shop."""
    files = {**FILES, f"{MAPPINGS_FOLDER}/<id>.yaml": MAPPING_MODEL}
    return "\n\n".join(f"### `{file}`\n\n{_key_table(keys(model))}" for file, model in files.items())


def message_table() -> str:
    """What comes of each message to a queue entry, by where the entry stands."""
    head = ("the entry is", *(f"`{message}`" for message in EntryMessage))
    return _table(
        head,
        (
            (stand.value, *(_cell_in_words(stand, row[message]) for message in EntryMessage))
            for stand, row in TABLE.items()
        ),
    )


def _cell_in_words(stand: Stand, cell: Cell) -> str:
    if isinstance(cell, ReturnCode):
        return f"refused, {cell.value}"
    return "done" if cell.value == stand.value else cell.value


def field_table() -> str:
    """What rows of a mapping can fill: whose value it is, the form of its text, and the units it may be counted in."""
    rows = (
        (
            f"`{field.value}`",
            "order" if field in OF_THE_ORDER else "item",
            "one of " + ", ".join(WORDS_OF[field]) if field in WORDS_OF else FORM_OF[field].value,
            ", ".join(sorted(UNITS_OF.get(FORM_OF[field], ()))),
            {**ITEM_FIELDS, **ORDER_FIELDS}[field.ticket_name],
        )
        for field in TicketField
    )
    return _table(("field", "of the", "must be", "units", "JDF has it in"), rows)


def folder_table(folders: Mapping[str, str]) -> str:
    """The folders and what they are for."""
    return _table(
        ("folder", "what lies there"), ((f"`{name}`", purpose) for name, purpose in folders.items())
    )


def code_table(codes: Iterable[Code]) -> str:
    """Every code with its sentence and its remedy, sorted."""
    rows = (
        (f"`{row.code}`", row.severity, row.sentence, row.remedy)
        for row in sorted(codes, key=lambda row: row.code)
    )
    return _table(("code", "severity", "what it says", "what to do"), rows)


def main() -> None:
    """Writes the tables into the README files of this checkout, and the schemas for editors."""
    for name, tables in tables_by_file().items():
        file = CHECKOUT / name
        file.write_text(with_tables(file.read_text(encoding="utf-8"), tables), encoding="utf-8")
    for name, text in editor_schemas().items():
        (CHECKOUT / "schemas" / EDITOR_FOLDER / name).write_text(text, encoding="utf-8")


def _key_table(rows: Iterable[Key]) -> str:
    return _table(
        ("key", "allowed", "default", "meaning"),
        (
            (f"`{key.name}`", key.allowed, "must be given" if key.default is None else key.default, key.about)
            for key in rows
        ),
    )


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join("| " + " | ".join(_cell(text) for text in line) + " |" for line in lines)


def _cell(text: str) -> str:
    return text.replace("``", "`").replace("|", "\\|")


if __name__ == "__main__":
    main()
