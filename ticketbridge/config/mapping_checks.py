"""What a mapping must be beyond its model: expressions that can be read, tables that exist, defaults that fit.

Everything that would refuse ticket after ticket later is found when the file is loaded.
"""

from collections.abc import Collection, Iterator, Mapping
from typing import Any, Final

from pydantic import ValidationError

from ticketbridge.config.complaints import hint, listed, quoted
from ticketbridge.config.document import Document, KeyPath
from ticketbridge.extract.apart import APART, TookTooLong
from ticketbridge.extract.expressions import ExpressionWrong, check, may_hang
from ticketbridge.extract.spelled import ValueUnreadable, plain_value
from ticketbridge.model.finding import Finding
from ticketbridge.model.lookup import LookupTable
from ticketbridge.model.reads import FieldRow, Reads, Within
from ticketbridge.model.ticket_field import WORDS_OF, TicketField

COMPILE_S: Final = 5.0
"""Time for one expression; a sound one takes milliseconds."""


def mapping_findings(
    document: Document, names: Collection[str], tables: Mapping[str, LookupTable]
) -> Iterator[Finding]:
    """Everything about a mapping's own ``reads`` that its model cannot say.

    Args:
        document: The mapping file.
        names: The tables that its rows may name.
        tables: Those of them that are right by themselves, with their rows.
    """
    raw = document.data.get("reads") if isinstance(document.data, dict) else None
    if not isinstance(raw, dict):
        return
    yield from _rows(document, raw, names, tables)
    try:
        reads = Reads.model_validate(raw)
    except ValidationError:
        return  # the model's own complaints say it all
    if not reads.kind.is_table:
        yield from _expressions(document, reads)


def _rows(
    document: Document, raw: Mapping[str, Any], names: Collection[str], tables: Mapping[str, LookupTable]
) -> Iterator[Finding]:
    for path, value in document.find(("reads", "fields", "*")):
        try:
            row = FieldRow.model_validate(value)
        except ValidationError:
            continue
        if row.table is not None and row.table not in names:
            facts = {"kind": "table", "name": quoted(row.table), "home": "the block tables of this file"}
            advice = {
                "known": listed(names),
                "hint": hint(row.table, names, "Add the table, or correct the name."),
            }
            yield Finding("config.reference-unknown", document.place((*path, "table")), facts | advice)
        elif row.table is not None and row.table in tables:
            yield from _means(document, path, row.field, row.table, tables[row.table])
        if row.default is not None:
            default = str(row.default).lower() if isinstance(row.default, bool) else str(row.default)
            if why := _unfit(row.field, default):
                facts = {"field": row.field.value, "found": quoted(row.default), "allowed": why}
                yield Finding("config.default-unfit", document.place((*path, "default")), facts)
        for key, level in ((Within.PART, "parts"), (Within.ITEM, "items")):
            if row.within is key and raw.get(level) is None:
                why = f"reads has no {level}, so nothing can be counted from one"
                yield Finding("config.contradiction", document.place((*path, "within")), {"why": why})


def _means(
    document: Document, path: KeyPath, field: TicketField, name: str, table: LookupTable
) -> Iterator[Finding]:
    """The first row of a table whose meaning the field cannot take; a table of the wrong kind has it in all."""
    for number, row in enumerate(table.rows, start=1):
        if why := _unfit(field, row.means):
            facts = {
                "table": name,
                "row": f'row {number}, which says "{row.says}"',
                "means": row.means,
                "field": field.value,
                "allowed": why,
            }
            yield Finding("config.table-unfit", document.place((*path, "table")), facts)
            return


def _unfit(field: TicketField, text: str) -> str | None:
    """What the text should be instead; None where it fits the field."""
    words = WORDS_OF.get(field)
    if words is not None and text not in words:
        return "one of " + ", ".join(words)
    try:
        plain_value(field, text, "UTC")
    except ValueUnreadable as error:
        return error.allowed
    return None


def _expressions(document: Document, reads: Reads) -> Iterator[Finding]:
    for path, at in _places(reads):
        place = document.place(("reads", *path))
        try:
            if may_hang(at):
                APART.call(COMPILE_S, check, at, reads.kind, reads.namespaces)
            else:
                check(at, reads.kind, reads.namespaces)
        except ExpressionWrong as error:
            yield Finding("config.expression", place, {"at": at, "reason": str(error)})
        except TookTooLong as error:
            yield Finding("config.expression-endless", place, {"at": at, "limit": error.limit})


def _places(reads: Reads) -> Iterator[tuple[KeyPath, str]]:
    for key in ("orders", "items", "parts"):
        if (at := getattr(reads, key)) is not None:
            yield (key,), at
    for index, row in enumerate(reads.fields):
        if row.at is not None:
            yield ("fields", index, "at"), row.at
        if row.only_when is not None:
            yield ("fields", index, "only_when", "at"), row.only_when.at


def tables_of(data: Mapping[str, Any]) -> dict[str, LookupTable]:
    """The tables of a mapping, as far as they are right by themselves."""
    found: dict[str, LookupTable] = {}
    blocks = data.get("tables")
    for name, block in blocks.items() if isinstance(blocks, dict) else ():
        try:
            found[name] = LookupTable.model_validate(block)
        except ValidationError:
            continue  # the model's own complaints say it all
    return found
