"""The draft as an administrator gets it: a mapping file with its reasons, and its questions, in comments."""

import json
import re
from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Any, Final

from ticketbridge.model.codes import printable
from ticketbridge.model.reads import FileKind
from ticketbridge.model.shop import Shop
from ticketbridge.model.spelling import DateFormat, DecimalSign, Separator
from ticketbridge.model.ticket_field import OF_THE_ORDER, TicketField
from ticketbridge.prove.draft.guesses import Guess, Guesses, needed_but_unknown
from ticketbridge.prove.draft.meanings import SURE, Meaning
from ticketbridge.prove.draft.rows import DraftRow, Usual, row_of, rows_by_the_standard, shown, usual
from ticketbridge.prove.draft.survey import Survey
from ticketbridge.prove.draft.values import are_files
from ticketbridge.vocabulary.names import JDF_NAMESPACE

F = TicketField
WIDTH: Final = 110
_PLAIN: Final = re.compile(r"[A-Za-zÀ-ÿ/](?:[\wÀ-ÿ./ -]|:(?=\w))*(?<! )|\d+(?:\.\d+)?")
_NOT_PLAIN: Final = frozenset(
    ["yes", "no", "true", "false", "on", "off", "null", "y", "n", "nan", "inf", "~"]
)
_FIELDS: Final = [field.value for field in F]
_NOWHERE: Final = "where-is-it"
_PRESENT: Final = {
    FileKind.XML: _NOWHERE,
    FileKind.JSON: f"/{_NOWHERE}",
}
_FIRST_LINE: Final = "# yaml-language-server: $schema=../editor/mapping.schema.json"


def draft_text(
    survey: Survey, found: Guesses, shop: Shop, based_on: str | None, samples: Sequence[str]
) -> str:
    """The mapping file.

    Args:
        survey: What the samples hold.
        found: What is what.
        shop: For the names in it.
        based_on: The mapping that the draft builds upon.
        samples: The names of the samples.
    """
    separates = survey.layout.get("separator", ("", ""))[0] == Separator.COMMA.value
    whole = usual(found, comma_separates=separates)
    rows = [row_of(found.rows[field], survey, shop, whole) for field in F if field in found.rows]
    written, unreadable = [row for row in rows if row.readable], [row for row in rows if not row.readable]
    written = sorted(
        (*written, *rows_by_the_standard(survey, shop)), key=lambda row: _FIELDS.index(row.keys["field"])
    )
    lines = [_FIRST_LINE, *_head(samples)]
    lines += (
        [f"based_on: {based_on}"] if based_on else ["# ask: which mapping has the tables of print modes?"]
    )
    fields = [
        *_fields(written, survey, found, shop, whole),
        *_questions(unreadable, survey, found, shop, whole),
    ]
    if any(line.lstrip().startswith("- ") for line in fields):
        lines += ["", "reads:", *_layout(survey, whole), "  fields:", *fields]
    else:
        lines += [
            "",
            "# The standard's own reading gives everything in these tickets: no rows are needed.",
            *fields,
        ]
    lines += _tables([*written])
    used = " ".join(str(row.keys) for row in written)
    left = [one for one in found.left if one.at not in used]
    if left:
        lines += [
            "",
            *_comment("", "Nothing was made of " + "; ".join(f'"{one.at}" ({shown(one)})' for one in left)),
        ]
    return "\n".join(lines) + "\n"


def _head(samples: Sequence[str]) -> Iterator[str]:
    names = ", ".join(samples[:MOST_NAMED]) + (" and others" if len(samples) > MOST_NAMED else "")
    yield from _comment("", f"Drafted from {names}. Every row is a guess: the figure above it says how sure it is, of "
                            "100, and why. Look through all of them; what is to be answered begins with ask.")  # fmt: skip


MOST_NAMED: Final = 3


def _layout(survey: Survey, whole: Usual) -> Iterator[str]:
    yield f"  kind: {survey.kind.value}"
    for key, (value, why) in survey.layout.items():
        yield from _comment("  ", why)
        if isinstance(value, dict):
            yield f"  {key}:"
            yield from (f"    {prefix}: {scalar(uri)}" for prefix, uri in value.items())
        else:
            yield f"  {key}: {scalar(value)}"
    if survey.kind is FileKind.JDF:
        yield from ("  namespaces:", f"    jdf: {JDF_NAMESPACE}")
    if whole.decimal_sign is not DecimalSign.POINT:
        yield f"  decimal_sign: {whole.decimal_sign.value}"
    if whole.date_format is not DateFormat.YEAR_FIRST:
        yield f"  date_format: {whole.date_format.value}"


def _fields(
    rows: Sequence[DraftRow], survey: Survey, found: Guesses, shop: Shop, whole: Usual
) -> Iterator[str]:
    of_order = False
    for row in rows:
        if of_order and row.keys["field"] not in OF_THE_ORDER:
            yield ""
        of_order = row.keys["field"] in OF_THE_ORDER
        yield from _row(row)
    artwork = found.rows.get(F.ARTWORK_URL)
    if artwork and F.ARTWORK_MIME_TYPE not in found.rows and are_files(artwork.spot.texts, ".pdf"):
        why = "every name of a file ends in .pdf"
        yield from _row(DraftRow({"field": "artwork_mime_type", "default": "application/pdf"}, 0.95, why))
    for field in needed_but_unknown(found, survey.kind):
        yield from _needed(field, survey, found, shop, whole)


def _needed(field: TicketField, survey: Survey, found: Guesses, shop: Shop, whole: Usual) -> Iterator[str]:
    """A row for what no order can be made without, though nothing surely gives it."""
    if found.asked.get(field):
        row = row_of(found.asked[field][0], survey, shop, whole)
        if row.readable:
            row.questions.append("no order can be made without it, and nothing surely gives it. Is it this?")
            yield from _row(row)
            return
    yield from _comment(
        "    ", f"ask: where does {field} stand? Nothing looks like it; no order can be made without it."
    )
    at = {"default": 1} if field is F.QUANTITY else {"at": _PRESENT.get(survey.kind, _NOWHERE)}
    yield f"    - {_flow({'field': field.value, **at})}"


def _questions(
    unreadable: Sequence[DraftRow], survey: Survey, found: Guesses, shop: Shop, whole: Usual
) -> Iterator[str]:
    """Rows that are not written, in comments, to be uncommented by a person."""
    for row in unreadable:
        yield from (
            "",
            *_comment(
                "    ", f"ask: what do the words of {row.keys['field']} mean? {'; '.join(row.questions)}"
            ),
        )
        words = ", ".join(scalar(one.says) for one in row.table[:12])
        yield from (*_comment("    ", f"Write a table for them: {words}"), f"    # - {_flow(row.keys)}")
    needed = needed_but_unknown(found, survey.kind)
    for field, some in found.asked.items():
        if field in needed:
            continue
        may_be = [f'"{one.spot.at}" ({shown(one.spot)}; {_percent(one)})' for one in some[:3]]
        yield from ("", *_comment("    ", f"ask: is {field} given by {' or '.join(may_be)}?"))
        yield f"    # - {_flow(row_of(some[0], survey, shop, whole).keys)}"


def _row(row: DraftRow) -> Iterator[str]:
    yield from _comment("    ", f"{row.sure * 100:.0f}: {row.why or 'its name'}")
    for question in row.questions:
        yield from _comment("    ", f"ask: {question}")
    yield f"    - {_flow(row.keys)}"


def _tables(rows: Sequence[DraftRow]) -> Iterator[str]:
    with_table = [row for row in rows if row.table]
    if not with_table:
        return
    yield from ("", "tables:")
    for row in with_table:
        yield f"  {row.keys['table']}:"
        yield from _comment("    ", f"what {row.keys['field']} says in the samples, and what that means")
        yield "    rows:"
        for one in sorted(row.table, key=lambda one: one.means is None):
            yield _table_row(one)


def _table_row(one: Meaning) -> str:
    if one.means is None:
        return f"      # ask: - {{says: {scalar(one.says, text=True)}, means: ...}}"
    question = "" if one.sure >= SURE else "  # ask: is it?"
    return f"      - {{says: {scalar(one.says, text=True)}, means: {scalar(one.means, text=True)}}}{question}"


def _flow(keys: dict[str, Any]) -> str:
    return "{" + ", ".join(f"{key}: {scalar(value)}" for key, value in keys.items()) + "}"


def scalar(value: Any, *, text: bool = False) -> str:
    """A value in YAML; quoted where it could be taken for something else."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return str(value)
    if isinstance(value, dict):
        return _flow(value)
    if isinstance(value, list):
        return f"[{', '.join(scalar(one, text=True) for one in value)}]"
    said = printable(str(value))
    number = said[:1].isdigit() and text
    return (
        said
        if _PLAIN.fullmatch(said) and said.casefold() not in _NOT_PLAIN and not number
        else json.dumps(said, ensure_ascii=False)
    )


def _percent(one: Guess) -> str:
    return f"{one.sure * 100:.0f} of 100"


def _comment(indent: str, text: str) -> Iterator[str]:
    yield from (f"{indent}# {line}" for line in wrap(printable(text), WIDTH - len(indent)))
