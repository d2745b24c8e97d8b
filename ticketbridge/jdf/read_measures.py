"""Size, bleed, thickness, weight: numbers with units, and the doubt whether the sender used the same ones."""

from math import inf, isfinite
from typing import Final

from ticketbridge.jdf.reading import ItemReading
from ticketbridge.jdf.spans import Ends, Said, Unreadable, ends, middle
from ticketbridge.vocabulary.units import mm_from_points

THINNEST_UM: Final = 10.0
"""No substrate is thinner; below this a thickness is almost surely in millimetres (common practice)."""

SMALLEST_MM: Final = 5.0
LARGEST_MM: Final = 100_000.0
"""No piece is smaller or larger; beyond this a size is almost surely not in points (common practice)."""

_SIZES: Final = (
    ("LayoutIntent", "FinishedDimensions", 3),
    ("LayoutIntent", "Dimensions", 2),
    ("SizeIntent", "Dimensions", 2),
)
"""Where a size may stand: the trimmed one, the flat one (the same for us), the one of JDF 1.1."""


def add_measures(item: ItemReading) -> None:
    """Add size, bleed, thickness and weight."""
    _add_size(item)
    bleed = item.span("LayoutIntent", "Bleed")
    if bleed is not None:
        bleed_pt = numbers(item, bleed, 1, "bleed")
        if bleed_pt is not None:
            item.add("bleed_mm", mm(middle(bleed_pt)[0]), bleed)
    roll = item.span("MediaIntent", "Dimensions")
    if roll is not None:
        add_roll_width(item, roll)
    _add_wish_and_range(item, "Thickness", "thickness", "um")
    _add_wish_and_range(item, "Weight", "weight", "g_m2")
    doubt(item, "thickness_um", "thickness", "micrometres", lowest=THINNEST_UM)


def _add_size(item: ItemReading) -> None:
    for intent_name, span_name, width in _SIZES:
        source = item.span(intent_name, span_name)
        if source is not None:
            size_pt = numbers(item, source, width, "finished size")
            if size_pt is not None:
                width_pt, height_pt, *_ = middle(size_pt)
                add_finished_size(item, width_pt, height_pt, source)
            return
    layout, paths = item.intent("LayoutIntent"), item.reading.paths
    near = item.node if layout is None else layout
    path = f"{paths.of(item.node)}/ResourcePool/LayoutIntent" if layout is None else paths.of(layout)
    item.reading.find_missing("finished size", near, f"{path}/FinishedDimensions/@Preferred")


def add_roll_width(item: ItemReading, source: Said) -> None:
    """Add the width of the roll: the first of two lengths in points, 0 where it is not known."""
    size_pt = numbers(item, source, 2, "size of the substrate")
    if size_pt is not None and middle(size_pt)[0] > 0:
        item.add("roll_width_mm", mm(middle(size_pt)[0]), source)


def _add_wish_and_range(item: ItemReading, span_name: str, name: str, unit: str) -> None:
    """The wish, and both ends of the range that is acceptable; an open end is none."""
    wish = item.span("MediaIntent", span_name)
    if wish is None:
        return
    wished = numbers(item, wish, 1, name)
    if wished is not None:
        item.add(f"{name}_{unit}", middle(wished)[0], wish)
    raw = wish.element.get("Range")
    acceptable = None if raw is None else Said(raw, wish.element, "Range")
    bounds = None if acceptable is None or wished is None else numbers(item, acceptable, 1, name)
    if acceptable is not None and bounds is not None:
        for end, (value,) in zip(("low", "high"), bounds, strict=True):
            if isfinite(value):
                item.add(f"{name}_{end}_{unit}", value, acceptable)


def add_finished_size(item: ItemReading, width_pt: float, height_pt: float, source: Said) -> None:
    """Add the finished size, and the doubt whether it was in points."""
    for side, length_pt in (("width", width_pt), ("height", height_pt)):
        name = f"finished_{side}_mm"
        item.add(name, mm(length_pt), source)
        doubt(item, name, f"finished {side}", "mm", lowest=SMALLEST_MM, highest=LARGEST_MM)


def numbers(item: ItemReading, source: Said, width: int, what: str) -> Ends | None:
    """The numbers in a text, ``width`` of them; None with a finding where they cannot be read."""
    try:
        return ends(source.raw, width)
    except Unreadable as error:
        item.reading.find_unreadable(source, what, error)
        return None


def mm(length_pt: float) -> float:
    """Millimetres to the micrometre: a writer's thousandth of a point makes 2999.999997 of a piece of 3 m."""
    return round(mm_from_points(length_pt), 3)


def doubt(item: ItemReading, name: str, what: str, unit: str, *, lowest: float, highest: float = inf) -> None:
    """Add a finding where a value looks like another unit."""
    read = item.values.get(name)
    if read is not None and isinstance(read.value, float) and not lowest <= read.value <= highest:
        item.reading.find_at("ticket.unit-doubtful", read, what, value=read.value, unit=unit)
