"""Which spot is which field: names and values weighed, the surest first; what is not sure enough stays a question."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from ticketbridge.extract.found import Found
from ticketbridge.model.reads import FileKind, Within
from ticketbridge.model.shop import Shop
from ticketbridge.model.spelling import Unit, folded
from ticketbridge.model.ticket_field import FORM_OF, NEEDED, OF_THE_ORDER, Form, TicketField
from ticketbridge.prove.draft.names import Named, fit, named
from ticketbridge.prove.draft.survey import Spot, Survey
from ticketbridge.prove.draft.values import NO, Judged, by_values, code_like, judged
from ticketbridge.prove.draft.words import UNIT_WORDS, notions_of, plain, tokens

F = TicketField
SURE_ENOUGH: Final = 0.55
"""A guess below is only asked about."""
WORTH_ASKING: Final = 0.3
CLOSE: Final = 0.08
"""A rival that comes so near is named."""
_PAIR: Final = re.compile(
    r"(?P<one>[^x\u00d7*]*\d[^x\u00d7*]*)(?P<sign>[xX\u00d7*])(?P<two>[^x\u00d7*]*\d.*)", re.IGNORECASE
)
_UNIT_AT_END: Final = re.compile(r"[\d\s](mm|cm|m|in|ft)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Guess:
    """One field at one spot.

    Attributes:
        field: The field.
        spot: The spot.
        sure: How sure, from 0 to 1.
        judged: What its values say.
        read: What its name says.
        why: In words.
        rivals: Other spots that are nearly as likely.
    """

    field: TicketField
    spot: Spot
    sure: float
    judged: Judged
    read: Named
    why: str
    rivals: tuple[Spot, ...] = ()


@dataclass(slots=True)
class Guesses:
    """All of them.

    Attributes:
        rows: Sure enough to be written as rows, by field.
        asked: Fields that are only asked about, each with what may be it, the likeliest first.
        left: Spots that nothing was made of.
    """

    rows: dict[TicketField, Guess] = field(default_factory=dict)
    asked: dict[TicketField, list[Guess]] = field(default_factory=dict)
    left: list[Spot] = field(default_factory=list)


def guesses(survey: Survey, shop: Shop) -> Guesses:
    """What is what.

    Args:
        survey: What the samples hold.
        shop: For the names of its substrates and print modes.
    """
    return _Weighing(survey, shop).decided()


class _Weighing:
    def __init__(self, survey: Survey, shop: Shop) -> None:
        self._survey = survey
        self._table = survey.kind.is_table
        self._known = _known_words(shop)
        self._spots = [one for spot in survey.spots for one in (spot, *_pieces(spot))]
        self._named = {id(spot): self._name(spot) for spot in self._spots}
        self._units = self._units_beside()
        self._orders: list[str | None] = []

    def decided(self) -> Guesses:
        wanted = [one for one in F if one not in self._survey.standard]
        weighed = list(self._weighed(wanted))
        self._orders = _order_numbers(weighed)
        if any(self._orders):
            weighed = list(self._weighed(wanted))
        weighed.sort(key=lambda one: -one.sure)
        found = Guesses()
        taken: dict[tuple[str, Within], set[int]] = {}
        for one in weighed:
            spot = (one.spot.at, one.spot.within)
            if one.field in found.rows or not _free(taken.get(spot), one.spot):
                continue
            if one.sure >= SURE_ENOUGH:
                found.rows[one.field] = self._with_rivals(one, weighed)
                taken.setdefault(spot, set()).add(one.spot.piece if one.spot.split_at else 0)
        for one in weighed:
            spot = (one.spot.at, one.spot.within)
            if one.field not in found.rows and one.sure >= WORTH_ASKING and spot not in taken:
                found.asked.setdefault(one.field, []).append(one)
        asked = {(one.spot.at, one.spot.within) for some in found.asked.values() for one in some}
        found.left = [
            spot
            for spot in self._survey.spots
            if (spot.at, spot.within) not in taken and (spot.at, spot.within) not in asked
        ]
        return found

    def _with_rivals(self, one: Guess, weighed: Sequence[Guess]) -> Guess:
        near = [
            other.spot
            for other in weighed
            if other.field is one.field and other.spot.at != one.spot.at and other.sure > one.sure - CLOSE
        ]
        better = {
            other.spot.at
            for other in weighed
            if other.spot in near and other.field is not one.field and other.sure >= one.sure
        }
        return replace(one, rivals=tuple(spot for spot in near if spot.at not in better)[:2])

    def _name(self, spot: Spot) -> Named:
        level: Within | None = spot.within
        if self._table or level is Within.FILE:
            level = None
        if level is Within.ORDER and len(self._survey.levels) == 2:  # a record is order and item at once
            level = self._single_level()
        return named(spot.name, spot.around, level)

    def _single_level(self) -> Within:
        """What records are where there is one kind of them: items where they are called so, else orders."""
        words = tokens(str(self._survey.layout.get("orders", ("", ""))[0]))
        called = notions_of(words[-1]) if words else frozenset()
        return Within.ITEM if "item" in called and "order" not in called else Within.ORDER

    def _weighed(self, wanted: Iterable[TicketField]) -> Iterator[Guess]:
        for one in wanted:
            for spot in self._spots:
                guess = self._guess(one, spot)
                if guess is not None and guess.sure >= WORTH_ASKING:
                    yield guess

    def _guess(self, field: TicketField, spot: Spot) -> Guess | None:
        read = self._named[id(spot)]
        by_name = fit(read, field)
        known = self._by_catalogue(field, spot)
        valued = max(by_values(field, spot.found), known)
        if not by_name and not valued:
            return None
        said = judged(field, spot.found, read.unit or self._units.get(id(spot)))
        if said is NO or not said.fits:
            return None
        if field is F.MAY_ROTATE and "upright" in read.notions:  # it says the opposite
            said = replace(said, wordy=True)
        sure = max(by_name * (0.6 + 0.4 * said.fits), valued)
        if by_name and valued:
            sure = min(1.0, sure + (0.15 if known else 0.1))
        sure *= self._standing(field, spot) * self._shared(field, spot) * _shape(field, spot)
        called = " / ".join((*spot.around[-1:], spot.name)) if spot.split_at is None else spot.at
        reasons = [f'"{called}" is a word for it' if by_name >= 0.5 else "", said.why]
        if known:
            reasons.append("the shop has things of such names")
        return Guess(field, spot, sure, said, read, "; ".join(one for one in reasons if one))

    def _by_catalogue(self, field: TicketField, spot: Spot) -> float:
        known = self._known.get(field)
        if not known:
            return 0.0
        texts = [folded(text) for text in spot.texts]
        return 0.8 if sum(text in known for text in texts) * 2 > len(texts) else 0.0

    def _standing(self, field: TicketField, spot: Spot) -> float:
        """What the level of a spot says: an order's value cannot stand at its items."""
        if spot.several and FORM_OF[field] is not Form.LIST:
            return 0.3
        if field in OF_THE_ORDER:
            at_order = spot.within is Within.ORDER
            return 1.0 if at_order else 0.8 if spot.within is Within.FILE else 0.0
        if spot.within is Within.FILE and Within.FILE is not self._survey.innermost:
            return 0.5
        needs_own = field in (F.JOB_PART_ID, F.DESCRIPTIVE_NAME)
        away = spot.within is Within.ORDER and self._survey.innermost is not Within.ORDER
        return (0.3 if needs_own else 0.85) if away else 1.0

    def _shared(self, field: TicketField, spot: Spot) -> float:
        """In tables: what an order's lines share is the order's, what differs between them is an item's."""
        if field is F.JOB_ID or len(self._survey.levels) > 2 or not any(self._orders):
            return 1.0
        by_order: dict[str, set[str | None]] = {}
        lines: dict[str, int] = {}
        for order, value in zip(self._orders, spot.values, strict=False):
            if order is not None:
                by_order.setdefault(order, set()).add(value.raw if value else None)
                lines[order] = lines.get(order, 0) + 1
        several = [order for order, count in lines.items() if count > 1]
        same = all(len(by_order[order]) == 1 for order in several)
        if field in OF_THE_ORDER:
            return 1.0 if same else 0.0
        if field in (F.DESCRIPTIVE_NAME, F.JOB_PART_ID) and several and same:
            return 0.6
        return 1.0

    def _units_beside(self) -> dict[int, Unit]:
        """For spots without a unit in their name the one unit that a value beside them always says."""
        said = [
            (spot, units.pop())
            for spot in self._survey.spots
            if "unit" in self._named[id(spot)].notions or spot.name.casefold() in ("u", "uom")
            if len(units := {UNIT_WORDS.get(plain(text)) for text in spot.texts}) == 1 and None not in units
        ]
        found: dict[int, Unit] = {}
        for unit_spot, unit in said:
            for spot in self._spots:
                inside = unit_spot.at.startswith(f"{spot.at}/")
                beside = unit_spot.around == spot.around[: len(unit_spot.around)]
                level = spot.within is unit_spot.within and (inside or beside)
                above = unit_spot.within in (Within.FILE, Within.ORDER) and not unit_spot.around
                if unit is not None and (level or above):
                    found.setdefault(id(spot), unit)
        return found


def _known_words(shop: Shop) -> Mapping[TicketField, frozenset[str]]:
    """What the shop's things are called, by the field that may name them."""
    brands = {text for one in shop.substrates.values() for text in (one.id, one.name)}
    brands |= {
        row.stock_brand for mapping in shop.mappings.values() for row in mapping.substrates if row.stock_brand
    }
    modes = {text for one in shop.print_modes.values() for text in (one.id, one.name)}
    return {
        F.STOCK_BRAND: frozenset(folded(text) for text in brands),
        F.PRINT_MODE_NAME: frozenset(folded(text) for text in modes),
    }


def _order_numbers(weighed: Sequence[Guess]) -> list[str | None]:
    best = max((one for one in weighed if one.field is F.JOB_ID), key=lambda one: one.sure, default=None)
    return [value.raw if value else None for value in best.spot.values] if best else []


def _free(taken: set[int] | None, spot: Spot) -> bool:
    """Whether a spot, or this piece of it, is still to be had."""
    if taken is None:
        return True
    return spot.split_at is not None and 0 not in taken and spot.piece not in taken


def _shape(field: TicketField, spot: Spot) -> float:
    """What only some fields ask: names are not codes, an order's number is not always the same."""
    texts = spot.texts
    if field is F.CUSTOMER_ID:
        return 1.0 if code_like(texts) else 0.5
    if field is F.CUSTOMER_NAME:
        return 0.5 if code_like(texts) else 1.0
    if field is F.JOB_ID and len(texts) == 1 and len(spot.found) > 3:
        return 0.6
    if field is F.PRODUCT_ID and not code_like(texts):
        return 0.5
    if field is F.JOB_PART_ID and not code_like(texts) and not all(text.isdigit() for text in texts):
        return 0.5
    if field is F.HEM and all(folded(text) in ("yes", "no", "ja", "nein", "true", "false") for text in texts):
        return 0.4
    if field is F.ARTWORK_PAGE and any(text == "0" for text in texts):
        return 1.0
    return 0.7 if field is F.ARTWORK_PAGE else 1.0


def _pieces(spot: Spot) -> list[Spot]:
    """Width and height where a text has both; the pieces of a word and a number."""
    pairs = [_PAIR.fullmatch(one.raw) for one in spot.found]
    if pairs and all(pairs) and len({pair["sign"] for pair in pairs if pair}) == 1 and pairs[0]:
        sign = pairs[0]["sign"]
        units = {found[1].casefold() if (found := _UNIT_AT_END.search(one.raw)) else "" for one in spot.found}
        unit = units.pop() if len(units) == 1 else ""
        name = " ".join(
            word for word in tokens(spot.name) if not notions_of(word) & _SIDES and not _BOTH.match(word)
        )
        sides = ("height", "width") if _height_first(spot.name) else ("width", "height")
        return [
            _piece(spot, sign, place, f"{name} {side} {unit}".strip())
            for place, side in enumerate(sides, start=1)
        ]
    if spot.found and all(re.fullmatch(r"[^\d\s]+ [\d.,]+", one.raw) for one in spot.found):
        return [_piece(spot, " ", place, spot.name) for place in (1, 2)]
    return []


_SIDES: Final = frozenset({"width", "height"})
_BOTH: Final = re.compile(r"[bwh]x[bwhl]?$")


def _height_first(name: str) -> bool:
    """Whether a name such as ``Size (H x W)`` says that the height comes first; width first is common practice."""
    parts = re.findall(r"[a-z]+", plain(name).replace("x", " "))
    sides = [notions & _SIDES for part in parts if (notions := notions_of(part)) & _SIDES]
    return bool(sides) and sides[0] == {"height"} and {"width"} in sides


def _piece(spot: Spot, sign: str, place: int, name: str) -> Spot:
    values = tuple(
        Found(text, one.path, one.line)
        if one is not None and (text := one.raw.split(sign)[place - 1].strip())
        else None
        for one in spot.values
    )
    return replace(spot, name=name, values=values, split_at=sign, piece=place)


def needed_but_unknown(found: Guesses, kind: FileKind) -> list[TicketField]:
    """Fields that no order can be made without and that no row gives."""
    return [] if kind is FileKind.JDF else [one for one in NEEDED if one not in found.rows]
