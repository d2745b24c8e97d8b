"""The values of one item: size, substrate, colour, artwork."""

from typing import Final
from urllib.parse import urljoin

from ticketbridge.jdf.read_quantity import read_quantity
from ticketbridge.jdf.reading import Reading, said_by
from ticketbridge.jdf.spans import Ends, Said, Unreadable, ends, middle, said
from ticketbridge.jdf.writing import Element
from ticketbridge.model.order import Panels
from ticketbridge.model.ticket import Read, TicketItem, Value
from ticketbridge.vocabulary.names import jdf, own
from ticketbridge.vocabulary.units import mm_from_points, points_from_mm
from ticketbridge.vocabulary.words import LAYER_WORDS

THINNEST_UM: Final = 10.0
"""No substrate is thinner; below this a thickness is almost surely in millimetres (common practice)."""

SMALLEST_MM: Final = 5.0
LARGEST_MM: Final = 100_000.0
"""No piece is smaller or larger; beyond this a size is almost surely not in points (common practice)."""

_WORDS: Final = (
    ("media_type", "MediaIntent", "MediaType"),
    ("media_type_details", "MediaIntent", "MediaTypeDetails"),
    ("stock_brand", "MediaIntent", "StockBrand"),
    ("stock_type", "MediaIntent", "StockType"),
    ("opacity", "MediaIntent", "Opacity"),
    ("coatings", "ColorIntent", "Coatings"),
    ("print_preference", "ProductionIntent", "PrintPreference"),
)
"""Field, intent, span of one word or text."""

_OF_THE_NODE: Final = {"node_id": "ID", "job_part_id": "JobPartID", "descriptive_name": "DescriptiveName"}

_SIZES: Final = (
    ("LayoutIntent", "FinishedDimensions", 3),
    ("LayoutIntent", "Dimensions", 2),
    ("SizeIntent", "Dimensions", 2),
)
"""Where a size may stand: the trimmed one, the flat one (the same for us), the one of JDF 1.1."""


def read_item(reading: Reading, node: Element, *, only_item: bool) -> TicketItem:
    """The values of ``ITEM_FIELDS`` that an item's Product node gives.

    Args:
        reading: The ticket.
        node: The item's node.
        only_item: Whether the ticket has no other, so that what the delivery says is about this one.
    """
    item = _Item(reading, node)
    item.add_words()
    item.add_size()
    item.add_measures()
    item.add_layout()
    item.add_colour()
    item.add_artwork()
    quantity = read_quantity(reading, node, only_item=only_item)
    if quantity is not None:
        item.values["quantity"] = quantity
    return TicketItem(item.values)


class _Item:
    def __init__(self, reading: Reading, node: Element) -> None:
        self._reading = reading
        self._node = node
        self._intents: dict[str, Element | None] = {}
        self.values: dict[str, Read] = {}

    def _intent(self, name: str) -> Element | None:
        if name not in self._intents:
            self._intents[name] = self._reading.resources.used(self._node, name)
        return self._intents[name]

    def _span(self, intent_name: str, span_name: str) -> Said | None:
        intent = self._intent(intent_name)
        span = None if intent is None else intent.find(jdf(span_name))
        return None if span is None else said(span)

    def _add(self, name: str, value: Value, source: Said) -> None:
        self.values[name] = self._reading.read(value, source)

    def add_words(self) -> None:
        """Names of the node, and spans of one word."""
        for name, attribute in _OF_THE_NODE.items():
            source = said_by(self._node, attribute)
            if source is not None:
                self._add(name, source.raw.strip(), source)
        for name, intent_name, span_name in _WORDS:
            source = self._span(intent_name, span_name)
            if source is not None and source.raw.strip():
                words = source.raw.split() if source.is_range else [source.raw.strip()]
                self._add(name, words[0], source)

    def _numbers(self, source: Said, width: int, what: str) -> Ends | None:
        try:
            return ends(source.raw, width)
        except Unreadable as error:
            self._reading.find_unreadable(source, what, error)
            return None

    def add_size(self) -> None:
        """Finished width and height."""
        for intent_name, span_name, width in _SIZES:
            source = self._span(intent_name, span_name)
            if source is not None:
                size = self._numbers(source, width, "finished size")
                if size is not None:
                    self._add_size(source, *middle(size)[:2])
                return
        near = self._intent("LayoutIntent")
        path = f"{self._reading.paths.of(self._node)}/ResourcePool/LayoutIntent"
        if near is not None:
            path = self._reading.paths.of(near)
        self._reading.find_missing(
            "finished size", self._node if near is None else near, f"{path}/FinishedDimensions/@Preferred"
        )

    def _add_size(self, source: Said, width_pt: float, height_pt: float) -> None:
        for name, what, length_pt in (
            ("finished_width_mm", "finished width", width_pt),
            ("finished_height_mm", "finished height", height_pt),
        ):
            length_mm = mm_from_points(length_pt)
            self._add(name, length_mm, source)
            if not SMALLEST_MM <= length_mm <= LARGEST_MM:
                self._reading.find("ticket.unit-doubtful", source, what, value=length_mm, unit="mm")

    def add_measures(self) -> None:
        """Bleed, thickness, weight."""
        bleed = self._span("LayoutIntent", "Bleed")
        if bleed is not None:
            bleed_ends = self._numbers(bleed, 1, "bleed")
            if bleed_ends is not None:
                self._add("bleed_mm", mm_from_points(middle(bleed_ends)[0]), bleed)
        thickness = self._add_measure("thickness", "um", "Thickness")
        if thickness is not None and float(str(thickness.value)) < THINNEST_UM:
            source = self._span("MediaIntent", "Thickness")
            if source is not None:
                self._reading.find(
                    "ticket.unit-doubtful", source, "thickness", value=float(str(thickness.value)), unit="micrometres"
                )
        self._add_measure("weight", "g_m2", "Weight")
