"""The values of one item: names, substrate, colour; size, artwork and quantity have modules of their own."""

from typing import Final

from ticketbridge.jdf.read_artwork import add_artwork
from ticketbridge.jdf.read_finishing import add_finishing
from ticketbridge.jdf.read_measures import add_measures
from ticketbridge.jdf.read_quantity import add_quantity
from ticketbridge.jdf.reading import ItemReading, Reading, add_names, add_own_words, said_by
from ticketbridge.jdf.writing import Element
from ticketbridge.model.order import Panels
from ticketbridge.model.ticket import TicketItem
from ticketbridge.vocabulary.names import jdf, own
from ticketbridge.vocabulary.words import LAYER_WORDS

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


def read_item(reading: Reading, node: Element, *, only_item: bool) -> TicketItem:
    """The values of ``ITEM_FIELDS`` that an item's Product node gives.

    Args:
        reading: The ticket.
        node: The item's node.
        only_item: Whether the ticket has no other, so that what the delivery says is about this one.
    """
    item = ItemReading(reading, node)
    add_names(item)
    _add_words(item)
    _add_layout(item)
    add_measures(item)
    _add_colour(item)
    add_finishing(item)
    add_artwork(item)
    add_quantity(item, only_item=only_item)
    return TicketItem(item.values)


def _add_words(item: ItemReading) -> None:
    """Of a range of words the first, which is the sender's first choice."""
    for name, intent_name, span_name in _WORDS:
        source = item.span(intent_name, span_name)
        if source is not None and source.raw.strip():
            item.add(name, source.raw.split()[0] if source.is_range else source.raw.strip(), source)


def _add_layout(item: ItemReading) -> None:
    layout = item.intent("LayoutIntent")
    sides = said_by(layout, "Sides")
    if sides is not None:
        item.add("sides", sides.raw.strip(), sides)
    policy = said_by(layout, "RotatePolicy")
    if policy is not None:
        item.add("may_rotate", policy.raw.strip() != "NoRotate", policy)
    add_own_words(item, "panels", layout, own("Panels"), tuple(Panels))


def _add_colour(item: ItemReading) -> None:
    colour = item.intent("ColorIntent")
    if colour is None:
        return
    add_own_words(item, "layer_stack", colour, own("LayerStack"), LAYER_WORDS)
    specs = colour.iterfind(f"{jdf('ColorsUsed')}/{jdf('SeparationSpec')}")
    said = [source for spec in specs if (source := said_by(spec, "Name")) is not None]
    if said:
        item.add("separations", tuple(source.raw.strip() for source in said), said[0])
