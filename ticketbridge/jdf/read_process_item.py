"""The values of one item of a process ticket: what one printing node makes, and how."""

from collections.abc import Iterator
from typing import Final

from ticketbridge.jdf.process_nodes import PRINTS
from ticketbridge.jdf.process_reading import ProcessReading
from ticketbridge.jdf.read_measures import add_finished_size, mm, numbers
from ticketbridge.jdf.read_process_artwork import Sheet, add_process_artwork, artwork_of, trimmed_size_pt
from ticketbridge.jdf.read_process_colour import add_colour
from ticketbridge.jdf.read_process_media import add_media
from ticketbridge.jdf.read_quantity import add_amounts, amounts_of
from ticketbridge.jdf.reading import Reading, add_names, add_own_words, said_by
from ticketbridge.jdf.resources import processes_of
from ticketbridge.jdf.spans import Said
from ticketbridge.jdf.writing import Element
from ticketbridge.model.order import Panels
from ticketbridge.model.ticket import TicketItem
from ticketbridge.vocabulary.names import own

_NOT_PIECES: Final = frozenset({"m", "m2", "mm", "cm", "km", "ft", "in", "yd", "g", "kg", "l"})
"""``Component@Unit`` of amounts that are lengths, areas or weights."""

_PREFERENCES: Final = {"High": "HighestQuality", "Normal": "Balanced", "Draft": "Fastest"}
"""``InterpretingParams@PrintQuality`` in the words of ``ProductionIntent/PrintPreference``."""

_PANELS: Final = {"Tile": Panels.ALLOWED, "Abort": Panels.FORBIDDEN}
"""``FitPolicy@SizePolicy``: cut into tiles what is too large, or refuse it."""

_TILES: Final = "Tiling"
"""The process that cuts panels out of the surface."""


def read_process_item(reading: Reading, node: Element) -> TicketItem:
    """The values of ``ITEM_FIELDS`` that a printing node gives.

    Args:
        reading: The ticket.
        node: The node.
    """
    item = ProcessReading(reading, node)
    add_names(item)
    add_media(item)
    sheet = artwork_of(item)
    _add_size(item, sheet)
    add_colour(item)
    _add_printing(item)
    _add_interpreting(item)
    if sheet is not None:
        add_process_artwork(item, sheet)
    _add_own_bleed(item)
    _add_quantity(item)
    return TicketItem(item.values)


def _add_size(item: ProcessReading, sheet: Sheet | None) -> None:
    """The size of what comes out, else the trim box of the artwork; 0 is not known."""
    for _, component in item.outputs():
        source = component.said_by("Dimensions")
        size_pt = None if source is None else numbers(item, source, 3, "finished size")
        if source is not None and size_pt is not None and all(size_pt[0][:2]):
            add_finished_size(item, size_pt[0][0], size_pt[0][1], source)
            return
    trimmed = None if sheet is None else trimmed_size_pt(item, sheet)
    if trimmed is not None:
        add_finished_size(item, *trimmed)
        return
    outputs, paths = item.outputs(), item.reading.paths
    if outputs:
        near = outputs[0][1].resource
        path = paths.of(near, "Dimensions")
    else:
        near = item.node
        path = f"{paths.of(near)}/ResourcePool/Component/@Dimensions"
    item.reading.find_missing("finished size", near, path)


def _add_own_bleed(item: ProcessReading) -> None:
    """The bleed of the piece itself; the boxes of an artwork say only what the artwork has."""
    for _, component in item.outputs():
        source = component.said_by(own("Bleed"))
        bleed_pt = None if source is None else numbers(item, source, 1, "bleed")
        if source is not None and bleed_pt is not None:
            item.add("bleed_mm", mm(bleed_pt[0][0]), source)
            return


def _add_quantity(item: ProcessReading) -> None:
    outputs = item.outputs()
    for _, component in outputs:
        unit = component.said_by("Unit")
        if unit is not None and unit.raw.strip() in _NOT_PIECES:
            item.reading.find("ticket.quantity-not-whole", unit, "quantity")
            return
    links = [link for link, _ in outputs]
    add_amounts(item, [amount for link in links[:1] for amount in amounts_of(link)], links)


def _add_printing(item: ProcessReading) -> None:
    printing = item.chosen("DigitalPrintingParams", PRINTS)
    if printing is not None:
        item.take("sides", printing.said_by("Sides"))


def _add_interpreting(item: ProcessReading) -> None:
    """How the artwork is laid on the substrate: turned, in panels, mirrored, fine or fast."""
    interpreting = item.chosen("InterpretingParams")
    if interpreting is not None:
        _add_preference(item, interpreting.said_by("PrintQuality"))
        item.take("mirror_around", interpreting.said_by("MirrorAround"))
        _find_scaling(item, interpreting.said_by("Scaling"))
        for policy in item.held(interpreting.holder("FitPolicy"), "FitPolicy"):
            _add_rotation(item, policy.said_by("RotatePolicy"))
            size = policy.said_by("SizePolicy")
            panels = None if size is None else _PANELS.get(size.raw.strip())
            if size is not None and panels is not None:
                item.add("panels", panels.value, size)
        _add_poster(item, interpreting.said_by("Poster"), interpreting.said_by("PosterOverlap"))
    types = said_by(item.node, "Types")
    if types is not None and _TILES in processes_of(item.node):
        item.add("panels", Panels.WANTED.value, types)
    for element in _may_say_panels(item):
        add_own_words(item, "panels", element, own("Panels"), tuple(Panels))


def _may_say_panels(item: ProcessReading) -> Iterator[Element]:
    """Elements that may hold our own word about panels; the last one counts."""
    yield item.node
    for name in ("InterpretingParams", "DigitalPrintingParams"):
        chosen = item.chosen(name)
        if chosen is not None:
            yield chosen.resource


def _add_preference(item: ProcessReading, quality: Said | None) -> None:
    preference = None if quality is None else _PREFERENCES.get(quality.raw.strip())
    if quality is not None and preference is not None:
        item.add("print_preference", preference, quality)


def _add_rotation(item: ProcessReading, policy: Said | None) -> None:
    if policy is not None:
        item.add("may_rotate", policy.raw.strip() != "NoRotate", policy)


def _find_scaling(item: ProcessReading, scaling: Said | None) -> None:
    """Artwork is printed as large as it is; another scale would be lost on the way to the press."""
    factors = None if scaling is None else numbers(item, scaling, 2, "scaling")
    if scaling is not None and factors is not None and factors[0] != (1.0, 1.0):
        item.reading.find("ticket.scaling-not-served", scaling, "scaling")


def _add_poster(item: ProcessReading, poster: Said | None, overlap: Said | None) -> None:
    """Panels as JDF up to 1.4 asked for them: how many across and down, and what they share."""
    counts = None if poster is None else numbers(item, poster, 2, "number of panels")
    if poster is not None and counts is not None and max(counts[0]) > 1:
        item.add("panels", Panels.WANTED.value, poster)
    shared = None if overlap is None else numbers(item, overlap, 2, "overlap of panels")
    if overlap is not None and shared is not None and shared[0][0] > 0:
        item.add("panel_overlap_mm", mm(shared[0][0]), overlap)
