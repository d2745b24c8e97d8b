"""Separations, layers and the print mode that a process ticket asks for."""

from collections.abc import Iterator
from typing import Final

from ticketbridge.jdf.partitions import Chosen
from ticketbridge.jdf.process_nodes import PRINTS
from ticketbridge.jdf.process_reading import ProcessReading
from ticketbridge.jdf.reading import add_own_words, said_by
from ticketbridge.jdf.spans import Said
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf, own
from ticketbridge.vocabulary.words import LAYER_WORDS

PRINT_MODE: Final = "PrintMode"
"""``GeneralID@IDUsage`` by which a print mode is named, and the first word of such a pair in ``NamedFeatures``."""

_LISTS: Final = ("ColorantOrder", "ColorantParams")
"""Where a ColorantControl lists what is printed: all of it in order, else the spot colours beside the process ones."""


def add_colour(item: ProcessReading) -> None:
    """Add separations, layer stack and the name of the print mode."""
    control = item.chosen("ColorantControl")
    printing = item.chosen("DigitalPrintingParams", PRINTS)
    if control is not None:
        _add_separations(item, control)
    _add_layer_stack(item, printing, control)
    _add_print_mode_name(item, printing)


def _add_separations(item: ProcessReading, control: Chosen) -> None:
    names = next((found for name in _LISTS if (found := list(_listed(control, name)))), None)
    if names is None:
        names = list(_in_the_pool(item, control))
    if names:
        known_as = dict(_aliases(item, control))
        said = tuple(known_as.get(name.raw.strip(), name.raw.strip()) for name in names)
        item.add("separations", said, names[0])


def _listed(control: Chosen, name: str) -> Iterator[Said]:
    holder = control.holder(name)
    if holder is not None:
        specs = holder.iterfind(f"{jdf(name)}/{jdf('SeparationSpec')}")
        yield from (source for spec in specs if (source := said_by(spec, "Name")) is not None)


def _in_the_pool(item: ProcessReading, control: Chosen) -> Iterator[Said]:
    for pool in item.held(control.holder("ColorPool"), "ColorPool"):
        for colour in item.held(pool.holder("Color"), "Color"):
            source = colour.said_by("Name")
            if source is not None:
                yield source


def _aliases(item: ProcessReading, control: Chosen) -> Iterator[tuple[str, str]]:
    """A designer's name of a separation, and the one it is printed as."""
    for alias in item.held(control.holder("ColorantAlias"), "ColorantAlias"):
        printed_as = alias.said_by("ReplacementColorantName")
        for spec in alias.resource.iterfind(jdf("SeparationSpec")):
            name = said_by(spec, "Name")
            if name is not None and printed_as is not None:
                yield name.raw.strip(), printed_as.raw.strip()


def _own_elements(item: ProcessReading, *chosen: Chosen | None) -> Iterator[Element]:
    """Where our own attributes may stand: the nearest first, the node itself last."""
    for one in chosen:
        for element in () if one is None else one.ways[0]:
            yield from element.iterchildren(own(PRINT_MODE))
            yield element
    yield item.node


def _add_layer_stack(item: ProcessReading, printing: Chosen | None, control: Chosen | None) -> None:
    for element in _own_elements(item, printing, control):
        attribute = "LayerStack" if element.tag == own(PRINT_MODE) else own("LayerStack")
        if element.get(attribute):
            add_own_words(item, "layer_stack", element, attribute, LAYER_WORDS)
            return


def _add_print_mode_name(item: ProcessReading, printing: Chosen | None) -> None:
    item.take("print_mode_name", next(_print_mode_names(item, printing), None))


def _print_mode_names(item: ProcessReading, printing: Chosen | None) -> Iterator[Said]:
    """By a named feature of the parameters or the node; in our own words; as JDF 1.2 to 1.4 said it."""
    elements = list(_own_elements(item, printing))
    for element in elements:
        yield from _general_ids(element)
    for element in elements:
        name = said_by(element, "Name" if element.tag == own(PRINT_MODE) else own(PRINT_MODE))
        if name is not None:
            yield name
    yield from _old_feature(item.node)


def _general_ids(element: Element) -> Iterator[Said]:
    for general in element.iterchildren(jdf("GeneralID")):
        name = said_by(general, "IDValue")
        if general.get("IDUsage") == PRINT_MODE and name is not None:
            yield name


def _old_feature(node: Element) -> Iterator[Said]:
    """``JDF@NamedFeatures``: pairs of a feature and its value."""
    words = node.get("NamedFeatures", "").split()
    for feature, value in zip(words[::2], words[1::2], strict=False):
        if feature == PRINT_MODE:
            yield Said(value, node, "NamedFeatures")
