"""A guess as a row of ``reads.fields``, with the table that it needs and what is to be asked about it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from ticketbridge.model.reads import FileKind, Within
from ticketbridge.model.shop import Shop
from ticketbridge.model.spelling import DateFormat, DecimalSign, Unit, folded
from ticketbridge.model.ticket_field import FORM_OF, OF_THE_ORDER, WORDS_OF, Form, TicketField
from ticketbridge.prove.draft.guesses import Guess, Guesses
from ticketbridge.prove.draft.meanings import NO, YES, Meaning, meanings
from ticketbridge.prove.draft.names import named
from ticketbridge.prove.draft.survey import Spot, Survey
from ticketbridge.prove.draft.words import plain, tokens

F = TicketField
MOST_SHOWN: Final = 4
_USUAL_UNIT: Final = {
    Form.LENGTH: Unit.MM,
    Form.WITH_EDGES: Unit.MM,
    Form.THICKNESS: Unit.UM,
    Form.WEIGHT: Unit.G_M2,
}
_SUBSTRATE_FIELDS: Final = frozenset({F.STOCK_BRAND, F.PRODUCT_ID, F.STOCK_TYPE})


@dataclass(slots=True)
class DraftRow:
    """One row.

    Attributes:
        keys: Its keys, in the order in which they are written.
        sure: How sure, from 0 to 1.
        why: In words.
        questions: What is to be asked before it can be relied on.
        table: Proposals for the rows of its table; none where it needs no table.
    """

    keys: dict[str, Any]
    sure: float
    why: str
    questions: list[str] = field(default_factory=list)
    table: list[Meaning] = field(default_factory=list)

    @property
    def readable(self) -> bool:
        """Whether it can be read as it is: a row that needs a table has at least one row in it."""
        return not self.table or any(one.means is not None for one in self.table)


@dataclass(frozen=True, slots=True)
class Usual:
    """What rows need not say, because the whole file is so."""

    decimal_sign: DecimalSign
    date_format: DateFormat


def usual(found: Guesses, *, comma_separates: bool) -> Usual:
    """What most rows agree on."""
    signs = [one.judged.decimal_sign for one in found.rows.values() if one.judged.decimal_sign]
    comma = signs.count(DecimalSign.COMMA) > len(signs) / 2 and not comma_separates
    dates = [one.judged.date_format for one in found.rows.values() if one.judged.date_format]
    return Usual(
        DecimalSign.COMMA if comma else DecimalSign.POINT, dates[0] if dates else DateFormat.YEAR_FIRST
    )


def row_of(guess: Guess, survey: Survey, shop: Shop, whole: Usual) -> DraftRow:
    """A guess as a row."""
    spot, said = guess.spot, guess.judged
    keys: dict[str, Any] = {"field": guess.field.value, "at": spot.at}
    if spot.within is not _counted_from(guess.field, survey):
        keys["within"] = spot.within.value
    if spot.split_at is not None:
        keys |= {"split_at": spot.split_at, "piece": spot.piece}
    row = DraftRow(keys, guess.sure, guess.why)
    if said.unit is not None and said.unit is not _USUAL_UNIT.get(FORM_OF[guess.field]):
        keys["unit"] = said.unit.value
    if said.decimal_sign not in (None, whole.decimal_sign):
        keys["decimal_sign"] = said.decimal_sign
    if said.date_format not in (None, whole.date_format):
        keys["date_format"] = said.date_format
    if said.others:
        row.questions.append(f"or is it {' or '.join(said.others)}? The values do not tell.")
    row.questions += [f'or does "{rival.at}" give it ({shown(rival)})?' for rival in guess.rivals]
    if guess.field is F.JOB_ID:
        keys["required"] = True
    _edges(guess, survey, row)
    if guess.field is F.PATTERN_MATCH and _only_says_half_drop(spot):
        row.keys = {"field": guess.field.value, "default": "half-drop", "only_when": _when(row.keys, spot)}
        return row
    if said.wordy or guess.field in _SUBSTRATE_FIELDS or guess.field is F.PRINT_MODE_NAME:
        _table(row, guess.field, spot.texts, shop, guess.read.notions | guess.read.around)
    return row


def rows_by_the_standard(survey: Survey, shop: Shop) -> list[DraftRow]:
    """For JDF: tables for names of substrates that the shop does not know by them."""
    known = {folded(one) for one in shop.substrates}
    for mapping in shop.mappings.values():
        known |= (
            {
                folded(text)
                for row in mapping.substrates
                for text in (row.product_id, row.stock_brand, row.stock_type)
                if text
            }
            if mapping.reads is None and not mapping.tables
            else set()
        )
    made = []
    for one in sorted(_SUBSTRATE_FIELDS & survey.standard.keys()):
        texts = list(dict.fromkeys(value.raw for value in survey.standard[one] if value))
        strange = [text for text in texts if folded(text) not in known]
        row = DraftRow(
            {"field": one.value}, 0.8, "the standard's reading gives names that the shop does not know"
        )
        if strange:
            _table(row, one, strange, shop, frozenset())
            row.keys["no_row"] = "keep"
            made += [row] if row.readable else []
    return made


def _counted_from(field: TicketField, survey: Survey) -> Within:
    return Within.ORDER if field in OF_THE_ORDER else survey.innermost


def _table(
    row: DraftRow, field: TicketField, texts: Sequence[str], shop: Shop, notions: frozenset[str]
) -> None:
    different = list({folded(text): text for text in reversed(texts)}.values())[::-1]
    row.table = meanings(field, different, shop, notions=notions)
    row.keys["table"] = field.value.replace("_", "-")
    if field in WORDS_OF and not row.readable:
        row.questions.append(f"what do its words mean: {', '.join(WORDS_OF[field])}?")


def _only_says_half_drop(spot: Spot) -> bool:
    """Whether it says yes or no to a half drop, and nothing of any other match."""
    words = {plain(text) for text in spot.texts}
    return (
        bool(words & YES)
        and words <= YES | NO
        and bool({"half", "halb", "halber", "versetzt"} & set(tokens(spot.name)))
    )


def _when(keys: dict[str, Any], spot: Spot) -> dict[str, Any]:
    said = [text for text in spot.texts if plain(text) in YES]
    return {key: value for key, value in keys.items() if key in ("at", "within")} | {"says": said}


def _edges(guess: Guess, survey: Survey, row: DraftRow) -> None:
    """In XML, a width and the edges that stand beside it are one value."""
    if FORM_OF[guess.field] is not Form.WITH_EDGES or survey.kind not in (FileKind.XML, FileKind.JDF):
        return
    spot = guess.spot
    parent = spot.at.rpartition("/")[0]
    for other in survey.spots:
        beside = other.within is spot.within and other.at.rpartition("/")[0] == parent and other.at != spot.at
        if beside and parent and "edges" in named(other.name, (), None).notions:
            row.keys["at"] = f"concat({spot.at}, ' ', {other.at})"
            row.why += f"; the edges stand beside it at {other.at}"
            return


def shown(spot: Spot) -> str:
    """A few of a spot's values."""
    texts = spot.texts
    more = ", ..." if len(texts) > MOST_SHOWN else ""
    return ", ".join(text[:30] for text in texts[:MOST_SHOWN]) + more
