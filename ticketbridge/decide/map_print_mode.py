"""Which layers a ticket asks for, and which print mode of the catalogue prints them."""

from collections.abc import Mapping
from typing import Final

from ticketbridge.decide.map_values import Gathered, decided_by, same_words
from ticketbridge.model.mapping import LayerDefaults, PrintModeRow
from ticketbridge.model.origin import Origin, Whence
from ticketbridge.model.substrate import LayerStack, PrintMode, Substrate
from ticketbridge.model.ticket import Read
from ticketbridge.vocabulary.words import LAYER_WORDS

_LAYER_OF_WORD: Final = dict(zip(LAYER_WORDS, ("colour", "white", "clear"), strict=True))


def map_layers(item: Gathered, defaults: LayerDefaults) -> LayerStack | None:
    """Put the item's layer stack, or a finding.

    The ticket's own words, as in ``Color White Color``, decide. Without them a separation of white means
    the stack that the mapping names for white, and a separation or coating of clear means clear on colour.
    White and clear together are refused, as no known stack has both. A ticket that wants the image mirrored
    wants a second surface: colour first, white on it.
    """
    stack = _own_words(item) if "layer_stack" in item.said else _named_inks(item, defaults)
    if stack is not None and _mirrored(item) and not stack.mirrored:
        item.complain("mapping.mirror-not-served", "mirror_around", layers=stack.value)
    return stack


def _mirrored(item: Gathered) -> bool:
    read = item.said.get("mirror_around")
    return read is not None and read.value != "None"


def _named_inks(item: Gathered, defaults: LayerDefaults) -> LayerStack | None:
    """The stack that a white or clear ink or coating means."""
    white = _names(item.said, "separations", defaults.white_separations)
    clear = _names(item.said, "separations", defaults.clear_separations)
    coated = _names(item.said, "coatings", defaults.clear_coatings)
    if white and (clear or coated):
        item.complain("mapping.layers-both", "separations", white=white, clear=clear or coated)
        return None
    if white and _mirrored(item):
        stack, origin = LayerStack.COLOUR_WHITE, Origin.of(item.said["mirror_around"])
    elif white:
        stack, origin = defaults.white, decided_by("layers.white", item.said, ["separations"])
    elif clear or coated:
        field = "separations" if clear else "coatings"
        entry = "layers.clear_separations" if clear else "layers.clear_coatings"
        stack, origin = LayerStack.COLOUR_CLEAR, decided_by(entry, item.said, [field])
    else:
        stack, origin = LayerStack.COLOUR, Origin(Whence.DEFAULT)
    item.put("layer_stack", stack, origin)
    return stack


def map_print_mode(
    item: Gathered,
    table: tuple[PrintModeRow, ...],
    catalogue: Mapping[str, PrintMode],
    substrate: Substrate,
    stack: LayerStack,
) -> None:
    """Put the item's print mode, or a finding.

    A named feature of the ticket that is a print mode of the shop, by its id or by the name the press knows it
    by, is that mode. Else the first row of the table whose every condition holds gives it. The mode must be in
    the catalogue, allowed on the substrate, and offer the layers.
    """
    mode = _named(item, catalogue) or _from_table(item, table, catalogue, substrate, stack)
    if mode is None:
        return
    origin = item.origin_of("print_mode")
    entry = origin.entry or f'named "{origin.raw}" in the ticket'
    if mode.id not in substrate.print_modes:
        item.complain(
            "mapping.print-mode-not-allowed",
            "print_mode",
            mode=mode.id,
            substrate=substrate.id,
            entry=entry,
            allowed=", ".join(substrate.print_modes),
        )
    if stack not in mode.layer_stacks:
        offered = " / ".join(offer.value for offer in mode.layer_stacks)
        item.complain(
            "mapping.layers-not-offered",
            "layer_stack",
            mode=mode.id,
            layers=stack.value,
            entry=entry,
            offered=offered,
        )


def _named(item: Gathered, catalogue: Mapping[str, PrintMode]) -> PrintMode | None:
    read = item.said.get("print_mode_name")
    if read is None:
        return None
    for mode in catalogue.values():
        if read.value in (mode.id, mode.named_feature):
            item.put("print_mode", mode.id, Origin.of(read))
            return mode
    item.complain("mapping.print-mode-name-unknown", "print_mode_name", said=str(read.value))
    return None


def _from_table(
    item: Gathered,
    table: tuple[PrintModeRow, ...],
    catalogue: Mapping[str, PrintMode],
    substrate: Substrate,
    stack: LayerStack,
) -> PrintMode | None:
    number, row = next(
        ((n, r) for n, r in enumerate(table, start=1) if _fits(r, item.said, substrate, stack)), (0, None)
    )
    preference = item.said.get("print_preference")
    if row is None:
        item.complain(
            "mapping.print-mode-unknown",
            "print_preference",
            substrate=substrate.name,
            family=substrate.family.value,
            preference=preference.raw if preference else "none",
            layers=stack.value,
        )
        return None
    entry = f"print_modes row {number}"
    decisive = ["print_preference"] if row.print_preference is not None else []
    item.put("print_mode", row.print_mode, decided_by(entry, item.said, decisive))
    return catalogue[row.print_mode]  # a shop with a row that names another one does not load


def _own_words(item: Gathered) -> LayerStack | None:
    read = item.said["layer_stack"]
    try:
        stack = LayerStack(", ".join(_LAYER_OF_WORD[word] for word in _words(read)))
    except (KeyError, ValueError):
        known = " / ".join(_as_words(stack) for stack in LayerStack)
        item.complain("mapping.layers-unknown", "layer_stack", said=read.raw, known=known)
        return None
    item.put("layer_stack", stack, Origin.of(read))
    return stack


def _as_words(stack: LayerStack) -> str:
    words = {layer: word for word, layer in _LAYER_OF_WORD.items()}
    return " ".join(words[layer] for layer in stack.layers)


def _words(read: Read) -> tuple[str, ...]:
    return read.value if isinstance(read.value, tuple) else tuple(str(read.value).split())


def _names(said: Mapping[str, Read], field: str, wanted: tuple[str, ...]) -> str:
    """The first name in the field that is one of those wanted, or an empty text."""
    names = _words(said[field]) if field in said else ()
    return next((name for name in names if any(same_words(name, other) for other in wanted)), "")


def _fits(row: PrintModeRow, said: Mapping[str, Read], substrate: Substrate, stack: LayerStack) -> bool:
    if row.family is not None and row.family is not substrate.family:
        return False
    if row.substrate is not None and row.substrate != substrate.id:
        return False
    if row.layer_stack is not None and row.layer_stack is not stack:
        return False
    if row.print_preference is None:
        return True
    read = said.get("print_preference")
    return read is not None and same_words(read.value, row.print_preference)
