"""What a process ticket prints on, and the certainty that it is a roll.

JDF's own default for ``Media@MediaUnit`` is a sheet, and most process tickets in the trade are for sheets. So a
ticket must say in some way that a roll is meant; one that says a sheet, or a plate, is for another press.
"""

from collections.abc import Iterator
from typing import Final

from ticketbridge.jdf.partitions import Chosen
from ticketbridge.jdf.process_nodes import OTHER_PRINTING, PRINTS
from ticketbridge.jdf.process_reading import ProcessReading
from ticketbridge.jdf.read_measures import THINNEST_UM, add_roll_width, doubt, numbers
from ticketbridge.jdf.reading import said_by
from ticketbridge.jdf.resources import processes_of, serves
from ticketbridge.jdf.spans import Said
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.ticket import Read

_WORDS: Final = {
    "product_id": "ProductID",
    "stock_brand": "Brand",
    "stock_type": "StockType",
    "media_type": "MediaType",
    "media_type_details": "MediaTypeDetails",
    "opacity": "Opacity",
}
"""Field, with the attribute of Media that holds it."""

_ON_A_ROLL: Final = ("Roll", "Continuous")
_FED_FROM_A_ROLL: Final = ("WebFed", "ContinuousFed")
_ONLY_A_ROLL_HAS: Final = ("RollDiameter", "InnerCoreDiameter", "OuterCoreDiameter", "CoreWeight")
_NO_SUBSTRATES: Final = ("Plate", "ImagingCylinder", "GravureCylinder", "Sleeve", "Screen", "Blanket")
"""``Media@MediaType`` of what other presses print from, not on."""

_CUT: Final = ("Sheet", "Block")
"""``Component@ComponentType`` of printed matter that cannot come off a roll."""


def add_media(item: ProcessReading) -> None:
    """Add what is printed on, and findings where it is no roll or not one substrate."""
    printing = item.chosen("DigitalPrintingParams", PRINTS)
    media = _media(item, printing)
    _find_other_press(item, printing, media)
    if media is None:
        return
    differs = media.differs_in(*_WORDS.values(), "Thickness", "Weight")
    if differs is not None:
        source = Said(media.resource.get("PartIDKeys", ""), media.resource, "PartIDKeys")
        item.reading.find("ticket.part-not-chosen", source, "Media", attribute=differs)
    for name, attribute in _WORDS.items():
        item.take(name, media.said_by(attribute))
    for name, attribute in (("thickness_um", "Thickness"), ("weight_g_m2", "Weight")):
        measure = media.said_by(attribute)
        number = None if measure is None else numbers(item, measure, 1, attribute.lower())
        if measure is not None and number is not None:
            item.add(name, number[0][0], measure)
    doubt(item, "thickness_um", "thickness", "micrometres", lowest=THINNEST_UM)
    dimension = media.said_by("Dimension")
    if dimension is not None:
        add_roll_width(item, dimension)
    _add_unit(item, printing, media)


def _media(item: ProcessReading, printing: Chosen | None) -> Chosen | None:
    """What a link gives the printing process, else what its parameters, its layout or its component name."""
    linked = list(item.linked("Media", PRINTS))
    if len({media.resource for media in linked}) > 1:
        reading, second = item.reading, linked[1].resource
        place = Place(reading.file, second.sourceline, path=reading.paths.of(second))
        reading.findings.append(Finding("ticket.media-not-chosen", place, {"count": len(linked)}))
    if linked:
        return linked[0]
    layout = item.chosen("Layout", PRINTS)
    for holder in (printing, layout, *(component for _, component in item.outputs())):
        for media in item.held(holder.holder("Media") if holder else None, "Media"):
            return media
    return item.chosen("Media", PRINTS)


def _add_unit(item: ProcessReading, printing: Chosen | None, media: Chosen) -> None:
    """Add ``Roll`` where anything says so, and JDF's default where nothing does."""
    unit = media.said_by("MediaUnit")
    for source in (unit, *_signs_of_a_roll(item, printing, media)):
        if source is not None:
            item.add("media_unit", unit.raw.strip() if source is unit else "Roll", source)
            return
    resource, reading = media.resource, item.reading
    path = reading.paths.of(resource, "MediaUnit")
    item.values["media_unit"] = Read("Sheet", "", path, resource.sourceline or 0)


def _signs_of_a_roll(item: ProcessReading, printing: Chosen | None, media: Chosen) -> Iterator[Said]:
    fed = None if printing is None else printing.said_by("PrintingType")
    if fed is not None and fed.raw.strip() in _FED_FROM_A_ROLL:
        yield fed
    for attribute in _ONLY_A_ROLL_HAS:
        source = media.said_by(attribute)
        if source is not None:
            yield source
    places = [media.said_by("Location")]
    places += [
        said_by(place.resource, "LocationName") for place in item.held(media.holder("Location"), "Location")
    ]
    for place in places:
        if place is not None and place.raw.strip().startswith("Roll"):
            yield place


def _find_other_press(item: ProcessReading, printing: Chosen | None, media: Chosen | None) -> None:
    for what, source in _signs_of_another_press(item, printing, media):
        item.reading.find("ticket.other-press", source, what)


def _signs_of_another_press(
    item: ProcessReading, printing: Chosen | None, media: Chosen | None
) -> Iterator[tuple[str, Said]]:
    types = said_by(item.node, "Types")
    if types is not None and any(process in OTHER_PRINTING for process in processes_of(item.node)):
        yield "process", types
    fed = None if printing is None else printing.said_by("PrintingType")
    if fed is not None and fed.raw.strip() == "SheetFed":
        yield "PrintingType", fed
    unit = None if media is None else media.said_by("MediaUnit")
    if unit is not None and unit.raw.strip() not in _ON_A_ROLL:
        yield "MediaUnit", unit
    kind = None if media is None else media.said_by("MediaType")
    if kind is not None and kind.raw.strip() in _NO_SUBSTRATES:
        yield "MediaType", kind
    yield from _printed_from_or_on(item)


def _printed_from_or_on(item: ProcessReading) -> Iterator[tuple[str, Said]]:
    """Plates to print from, and sheets that are printed already."""
    resources = item.reading.resources
    for link in resources.links(item.node, "ExposedMedia", "Input"):
        plate = said_by(link, "rRef")
        if plate is not None:
            yield "plate or form to print from", plate
    for link in resources.links(item.node, "Component", "Input"):
        target = resources.target(link, "Component")
        kind = said_by(target, "ComponentType")
        if serves(link, item.node, PRINTS) and kind is not None and set(_CUT) & set(kind.raw.split()):
            yield "printed matter to print on", kind
