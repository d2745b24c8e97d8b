"""How well a name fits a field: by the notions of its own words, and of the names around it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from ticketbridge.model.reads import Within
from ticketbridge.model.spelling import Unit
from ticketbridge.model.ticket_field import TicketField
from ticketbridge.prove.draft.words import UNIT_WORDS, is_filler, notions_of, parts_of, tokens, words_of

F = TicketField
PATTERNS: Final[Mapping[TicketField, tuple[tuple[str, float], ...]]] = {
    F.JOB_ID: (("order number", 1.0), ("order reference", 0.95), ("order", 0.85)),
    F.ORDER_DESCRIPTIVE_NAME: (("order name", 1.0), ("name", 0.7)),
    F.CUSTOMER_ID: (("customer number", 1.0), ("customer reference", 0.7), ("account", 0.9), ("customer", 0.7)),
    F.CUSTOMER_NAME: (("customer name", 1.0), ("customer", 0.9)),
    F.CUSTOMER_ORDER_ID: (
        ("customer order number", 1.0), ("customer reference", 1.0), ("reference", 0.6), ("customer purchase", 1.0),
        ("customer purchase number", 1.0), ("purchase order number", 1.0), ("purchase", 0.9), ("purchase number", 1.0),
        ("purchase order", 0.95), ("order number", 0.5),
    ),
    F.DUE: (("due", 0.9), ("due date", 1.0), ("date", 0.5), ("order due", 0.9)),
    F.PRIORITY: (("priority", 1.0), ("rush", 0.9), ("order priority", 1.0)),
    F.JOB_PART_ID: (("item number", 1.0), ("position", 0.95), ("position number", 1.0), ("item position", 1.0),
                    ("order position", 0.95), ("item", 0.6)),
    F.DESCRIPTIVE_NAME: (("item name", 1.0), ("name", 0.75), ("item", 0.65)),
    F.QUANTITY: (("quantity", 1.0), ("item quantity", 1.0), ("order quantity", 1.0)),
    F.FINISHED_WIDTH_MM: (("width", 0.95), ("size width", 1.0), ("item width", 1.0)),
    F.FINISHED_HEIGHT_MM: (("height", 0.95), ("size height", 1.0), ("item height", 1.0)),
    F.BLEED_MM: (("bleed", 1.0), ("bleed edges", 1.0), ("bleed edges sides", 1.0), ("size bleed", 1.0)),
    F.PRODUCT_ID: (("material number", 0.85),),
    F.STOCK_BRAND: (("material", 0.95), ("material name", 1.0), ("material number", 0.9), ("item material", 0.95)),
    F.THICKNESS_UM: (("thickness", 1.0), ("material thickness", 1.0)),
    F.WEIGHT_G_M2: (("weight", 0.8), ("material weight", 1.0)),
    F.ROLL_WIDTH_MM: (("roll width", 1.0), ("material width", 0.9), ("material roll width", 1.0)),
    F.PRINT_PREFERENCE: (("quality", 0.9), ("speed", 0.9)),
    F.PRINT_MODE_NAME: (("mode", 0.9), ("mode name", 1.0)),
    F.LAYER_STACK: (("layers", 1.0), ("white", 0.9), ("white layers", 1.0), ("white ink", 0.9), ("layers ink", 0.95)),
    F.SEPARATIONS: (("ink", 0.8),),
    F.SIDES: (("sides", 0.8),),
    F.MIRROR_AROUND: (("mirror", 0.8),),
    F.MAY_ROTATE: (("rotate", 1.0), ("upright", 0.9)),
    F.PANELS: (("panels", 0.95),),
    F.PANEL_OVERLAP_MM: (("overlap", 0.95), ("panels overlap", 1.0)),
    F.HEM: (("hem", 0.95), ("hem size", 1.0), ("hem width", 1.0)),
    F.POLE_POCKET: (("pocket", 0.95), ("pocket size", 1.0), ("pocket width", 1.0), ("hem pocket", 0.9)),
    F.EYELET_SPACING_MM: (("eyelet spacing", 1.0), ("eyelet", 0.8), ("eyelet size", 0.9)),
    F.LAMINATE: (("laminate", 0.95),),
    F.CONTOUR_CUT: (("contour", 0.95), ("contour cut", 1.0)),
    F.PATTERN_MATCH: (("repeat match", 1.0), ("match", 0.85), ("repeat", 0.7)),
    F.PATTERN_REPEAT_MM: (("repeat", 0.9), ("repeat height", 1.0), ("repeat size", 0.95)),
    F.ARTWORK_URL: (("file", 0.95), ("file name", 0.95), ("item file", 0.95)),
    F.ARTWORK_MIME_TYPE: (("mime", 1.0), ("file mime", 1.0)),
    F.ARTWORK_PAGE: (("page", 0.85), ("file page", 1.0)),
}  # fmt: skip
"""For each field the notions that together name it, and how surely."""

_SPLIT: Final = {
    field: [(frozenset(words.split()), sure) for words, sure in some] for field, some in PATTERNS.items()
}
_IMPLIED: Final = {Within.ORDER: "order", Within.ITEM: "item", Within.PART: "item"}
_SAYS_LITTLE: Final = frozenset({"order", "item", "number", "name", "size", "unknown", "position"})
"""Notions around a name that do not speak against anything."""
_FOREIGN: Final = 0.55
"""What is left of a name's fit for each notion around it that the field has nothing to do with."""
_UNSAID: Final = 0.35
"""How much a word of the name itself that the field has nothing to do with counts against it."""


@dataclass(frozen=True, slots=True)
class Named:
    """A name that was read.

    Attributes:
        own: The notions of each of its own words.
        around: The notions of the names around it.
        implied: What it is by where it stands: of an order or of an item.
        unit: The unit that it names.
    """

    own: tuple[frozenset[str], ...]
    around: frozenset[str]
    implied: str | None
    unit: Unit | None

    @property
    def notions(self) -> frozenset[str]:
        """All of its own notions."""
        return frozenset().union(*self.own)


_HOLDS: Final = words_of("value val wert content inhalt data")
"""Names that say no more than that a value stands there."""


def named(name: str, around: Iterable[str], level: Within | None) -> Named:
    """A name taken apart.

    Args:
        name: The name itself.
        around: The names around it.
        level: Where it stands; None in tables, where a line is both.
    """
    around = tuple(around)
    if around and set(tokens(name)) <= _HOLDS:
        name, around = around[-1], around[:-1]
    words = tokens(name)
    outer = [word for one in around for word in tokens(one)]
    unit = _unit(words) or _unit(outer)
    own = tuple(
        part
        for place, word in enumerate(words)
        if not is_filler(word) and not (place and word in UNIT_WORDS)
        for part in parts_of(word)
    )
    beyond = frozenset(notion for word in outer for notion in notions_of(word))
    return Named(own, beyond, _IMPLIED.get(level) if level else None, unit)


def fit(read: Named, field: TicketField) -> float:
    """How well the name fits the field, from 0 to 1."""
    if field is F.CUSTOMER_ORDER_ID:  # the customer's order, not the one that it stands at
        read = replace(read, implied=None)
    return max((_fit(read, *pattern) for pattern in _SPLIT.get(field, ())), default=0.0)


def _fit(read: Named, wanted: frozenset[str], sure: float) -> float:
    said = [word for word in read.own if word & wanted]
    if not said:
        return 0.0
    known = read.notions | read.around | ({read.implied} if read.implied else set())
    if not wanted <= known:
        return 0.0
    unsaid = sum(1.0 if word else 0.5 for word in read.own if not word & wanted)
    foreign = [notion for notion in read.around - wanted - _SAYS_LITTLE if notion not in read.notions]
    small = read.own and max(len(word) for word in read.own) == 0
    left = sure * (1 - _UNSAID) ** unsaid * _FOREIGN ** min(len(foreign), 3)
    return 0.0 if small else left


def _unit(words: list[str]) -> Unit | None:
    """The last unit of a name: in ``width in cm`` the first ``in`` is none."""
    return next((UNIT_WORDS[word] for word in reversed(words[1:]) if word in UNIT_WORDS), None) or (
        UNIT_WORDS[words[0]] if len(words) == 1 and words[0] in UNIT_WORDS and len(words[0]) > 1 else None
    )
