"""Which substrate of the catalogue a ticket means."""

from collections.abc import Iterable, Iterator, Mapping
from math import inf, isfinite
from typing import Final

from ticketbridge.decide.map_values import Gathered, decided_by, same_words
from ticketbridge.model.mapping import SubstrateRow
from ticketbridge.model.origin import Origin
from ticketbridge.model.substrate import Substrate
from ticketbridge.model.ticket import Read

_NAMED_BY: Final = ("product_id", "stock_brand", "stock_type")
"""What may hold the id of a substrate of the catalogue; the surest first."""
_WORDS: Final = ("product_id", "stock_brand", "stock_type", "media_type", "media_type_details", "opacity")
_RANGES: Final = {
    "thickness_um": ("thickness_low_um", "thickness_high_um"),
    "weight_g_m2": ("weight_low_g_m2", "weight_high_g_m2"),
}
"""A wish, with the lower and the upper end of what the ticket accepts around it."""

SAME_WIDTH_MM: Final = 10.0
"""Rolls of one kind differ by a few millimetres from maker to maker (common practice)."""


def map_substrate(
    item: Gathered, table: tuple[SubstrateRow, ...], catalogue: Mapping[str, Substrate]
) -> Substrate | None:
    """Put the item's substrate, or a finding.

    A product id, stock brand or type that is the id of a substrate is that substrate. Else the first row of the table
    whose every condition holds: words are compared without regard to case, a number must lie in the row's
    range, and where the ticket gives a range only, the two must overlap. A substrate outside the range
    of thickness or weight that the ticket accepts is taken with a warning.
    """
    named = _named(item.said, catalogue)
    found = named or _first_fitting(item.said, table)
    if named is None:
        _must_be_a_roll(item)
    if found is None:
        _say_what_came_nearest(item, table)
        return None
    substrate_id, origin = found
    item.put("substrate", substrate_id, origin)
    substrate = catalogue[substrate_id]  # a shop with a row that names another one does not load
    _compare(item, substrate)
    _compare_width(item, substrate)
    return substrate


def _named(said: Mapping[str, Read], catalogue: Mapping[str, Substrate]) -> tuple[str, Origin] | None:
    for field in _NAMED_BY:
        if (read := said.get(field)) and (name := str(read.value).strip()) in catalogue:
            return name, Origin.of(read)
    return None


def _must_be_a_roll(item: Gathered) -> None:
    """Only the id of one of our own substrates is as clear as a word about rolls (default of ``Media@MediaUnit``)."""
    unit = item.said.get("media_unit")
    if unit is not None and unit.value == "Sheet":
        item.complain("mapping.no-roll", "media_unit")


def _first_fitting(said: Mapping[str, Read], table: tuple[SubstrateRow, ...]) -> tuple[str, Origin] | None:
    for number, row in enumerate(table, start=1):
        conditions = dict(_conditions(row, said))
        if all(conditions.values()):
            return row.substrate, decided_by(f"substrates row {number}", said, _behind(conditions, said))
    return None


def _behind(conditions: Iterable[str], said: Mapping[str, Read]) -> list[str]:
    """The fields of the ticket that conditions look at."""
    looked_at = [name for condition in conditions for name in (condition, *_RANGES.get(condition, ()))]
    return [name for name in looked_at if name in said]


def _conditions(row: SubstrateRow, said: Mapping[str, Read]) -> Iterator[tuple[str, bool]]:
    """The row's conditions by name, and whether the ticket meets each."""
    for field in _WORDS:
        if (wanted := getattr(row, field)) is not None:
            read = said.get(field)
            yield field, read is not None and same_words(read.value, wanted)
    for field in _RANGES:
        if (limits := getattr(row, field)) is not None:
            yield field, _within(said, field, limits)


def _within(said: Mapping[str, Read], field: str, limits: tuple[float, float]) -> bool:
    least, most = limits
    if (wish := _number(said, field)) is not None:
        return least <= wish <= most
    accepted = _accepted(said, field)
    return accepted is not None and max(least, accepted[0]) <= min(most, accepted[1])


def _accepted(said: Mapping[str, Read], field: str) -> tuple[float, float] | None:
    """The range that the ticket accepts; None where it gives no end of one."""
    low, high = (_number(said, end) for end in _RANGES[field])
    if low is None and high is None:
        return None
    return (0.0 if low is None else low, inf if high is None else high)


def _number(said: Mapping[str, Read], field: str) -> float | None:
    read = said.get(field)
    return float(read.value) if read and isinstance(read.value, int | float) else None


def _compare(item: Gathered, substrate: Substrate) -> None:
    for field, name in (("thickness_um", "thickness"), ("weight_g_m2", "weight")):
        accepted, actual = _accepted(item.said, field), getattr(substrate, field)
        if accepted and not accepted[0] <= actual <= accepted[1]:
            end = next(end for end in (field, *_RANGES[field]) if end in item.said)
            item.complain(
                f"mapping.{name}-differs",
                end,
                substrate=substrate.name,
                actual=actual,
                low=accepted[0],
                high=accepted[1] if isfinite(accepted[1]) else "any",
            )


def _compare_width(item: Gathered, substrate: Substrate) -> None:
    """A roll width that the shop does not buy is often a length in another unit."""
    width_mm = _number(item.said, "roll_width_mm")
    if width_mm is not None and all(abs(width_mm - one) > SAME_WIDTH_MM for one in substrate.widths_mm):
        widths = ", ".join(f"{one:g}" for one in substrate.widths_mm)
        item.complain(
            "mapping.roll-width-differs",
            "roll_width_mm",
            substrate=substrate.name,
            said=width_mm,
            widths=widths,
        )


def _say_what_came_nearest(item: Gathered, table: tuple[SubstrateRow, ...]) -> None:
    spoken = [field for field in (*_WORDS, *_spoken(item.said)) if field in item.said]
    said = ", ".join(f'{field} "{item.said[field].raw}"' for field in spoken) or "nothing about the substrate"
    about = spoken[0] if spoken else "substrate"
    if not table:
        item.complain("mapping.substrate-table-empty", about, said=said)
        return
    judged = [(number, row, dict(_conditions(row, item.said))) for number, row in enumerate(table, start=1)]
    number, row, conditions = max(judged, key=lambda one: (sum(one[2].values()), -len(one[2])))
    missed = ", ".join(f"{field} {_asked(row, field)}" for field, holds in conditions.items() if not holds)
    item.complain(
        "mapping.substrate-unknown", about, said=said, row=number, substrate=row.substrate, missed=missed
    )


def _spoken(said: Mapping[str, Read]) -> tuple[str, ...]:
    """The fields of thickness and weight that the ticket gives."""
    return tuple(end for field, ends in _RANGES.items() for end in (field, *ends) if end in said)


def _asked(row: SubstrateRow, field: str) -> str:
    asked = getattr(row, field)
    return f"{asked[0]:g} to {asked[1]:g}" if isinstance(asked, tuple) else f'"{asked}"'
