"""What is done to an item after printing, and how a wallcovering is printed: the ticket's word, else the table's."""

from collections.abc import Mapping
from typing import Any, Final

from ticketbridge.decide.map_values import Gathered, decided_by, words
from ticketbridge.model.mapping import FinishingRow
from ticketbridge.model.origin import Origin, Whence
from ticketbridge.model.pattern import Match
from ticketbridge.model.substrate import Family, Substrate
from ticketbridge.model.ticket import Read

_FINISHING: Final = ("hem", "pole_pocket", "eyelets", "eyelet_spacing_mm", "laminate", "contour_cut")
_PATTERN: Final = ("pattern_match", "pattern_repeat_mm", "pattern_drops")


def map_finishing(item: Gathered, table: tuple[FinishingRow, ...], substrate: Substrate) -> None:
    """Put the item's finishing and pattern, where there is anything to put.

    The first row of the table that fits family and substrate says what is usual. What the ticket says of
    a hem, a pocket, eyelets, a laminate or a contour takes the place of that. A wallcovering without a
    pattern anywhere is a mural; a repeat without a match is matched straight.
    """
    number, row = next(
        ((n, row) for n, row in enumerate(table, start=1) if _fits(row, substrate)), (0, FinishingRow())
    )
    usual = decided_by(f"finishing row {number}", item.said) if number else Origin(Whence.DEFAULT)
    finishing = row.finishing.model_dump(exclude_defaults=True) | _said_of_finishing(item.said, row)
    if finishing:
        item.put("finishing", finishing, _origin(item.said, _FINISHING, usual))
    if row.pattern or substrate.family is Family.WALLCOVERING or any(name in item.said for name in _PATTERN):
        pattern = row.pattern.model_dump(exclude_defaults=True) if row.pattern else {}
        origin = usual if row.pattern else Origin(Whence.DEFAULT)
        item.put("pattern", pattern | _said_of_pattern(item.said), _origin(item.said, _PATTERN, origin))


def _fits(row: FinishingRow, substrate: Substrate) -> bool:
    return row.family in (None, substrate.family) and row.substrate in (None, substrate.id)


def _origin(said: Mapping[str, Read], fields: tuple[str, ...], otherwise: Origin) -> Origin:
    return next((Origin.of(said[field]) for field in fields if field in said), otherwise)


def _said_of_finishing(said: Mapping[str, Read], row: FinishingRow) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for field, size in (("hem", "width_mm"), ("pole_pocket", "flat_mm")):
        if read := said.get(field):
            width, *edges = words(read)
            values[field] = {size: width} | ({"edges": edges} if edges else {})
    eyelets = row.finishing.eyelets.model_dump(exclude_defaults=True) if row.finishing.eyelets else {}
    if read := said.get("eyelets"):
        values["eyelets"] = eyelets | {"at_mm": [centre.split() for centre in words(read)]}
    elif read := said.get("eyelet_spacing_mm"):
        values["eyelets"] = eyelets | {"spacing_mm": read.value}
    return values | {field: said[field].value for field in ("laminate", "contour_cut") if field in said}


def _said_of_pattern(said: Mapping[str, Read]) -> dict[str, Any]:
    match, repeat, drops = (said.get(field) for field in _PATTERN)
    values: dict[str, Any] = {"match": match.value if match else Match.STRAIGHT} if match or repeat else {}
    if repeat:
        values["repeat_mm"] = repeat.value
    elif match and match.value == Match.NONE:
        values["repeat_mm"] = None
    if drops:
        values["drops"] = drops.value
    return values
