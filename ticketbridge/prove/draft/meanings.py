"""What the words of an export most likely mean in the words of a ticket: proposals for the rows of a table."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from ticketbridge.extract.measures import MeasureUnreadable, length_as_written
from ticketbridge.model.finishing import Edge
from ticketbridge.model.shop import Shop
from ticketbridge.model.spelling import DecimalSign, folded
from ticketbridge.model.substrate import Family, Substrate
from ticketbridge.model.ticket_field import TicketField
from ticketbridge.prove.draft.words import plain, words_of
from ticketbridge.vocabulary.units import number

F = TicketField
SURE: Final = 0.8
"""From here on a row is written without a question."""


class Meaning(NamedTuple):
    """What a text most likely means, and how sure that is; no meaning where nothing speaks for one."""

    says: str
    means: str | None
    sure: float


YES: Final = words_of("yes y ja j true wahr 1 x on oui")
"""Words that say yes."""
NO: Final = words_of("no n nein false falsch 0 off non none ohne kein keine -")
"""Words that say no."""
_SCALE: Final = ("HighestQuality", "Balanced", "Fastest")
_BY_WORD: Final[Mapping[TicketField, Mapping[str, str]]] = {
    F.PRINT_PREFERENCE: {
        "HighestQuality": "fein feinst fine finest hoch hohe high highest best beste premium photo foto top hq close nah",
        "Fastest": "schnell fast fastest quick express draft entwurf speed far fern",
        "Balanced": "normal standard balanced medium mittel regular production produktion std",
        "CostEffective": "economy eco economic sparsam guenstig cheap spar",
    },
    F.LAYER_STACK: {
        "colour, white, colour": "between dazwischen sandwich zwischen daynight tagnacht both",
        "white, colour": "under darunter below underneath underbase unterdruck first unter vorher",
        "colour, white": "behind dahinter backing hinter over darueber second hinterdruck danach back",
        "colour": "without ohne none no nein kein keine n false",
    },
    F.PANELS: {
        "forbidden": "nein no none forbidden not one single ganz ungeteilt never einteilig false n without",
        "wanted": "ja yes wanted join joined split tile tiled panels panel geteilt bahnen true y j weld welded",
        "allowed": "allowed maybe optional erlaubt moeglich kann egal",
    },
    F.PATTERN_MATCH: {
        "half-drop": "half halb halber versetzt versatz drop halfdrop offset",
        "straight": "straight gerade gerader geradeansatz across",
        "none": "none free frei ansatzfrei ohne kein keiner random",
    },
    F.PRIORITY: {
        "80": "high hoch rush express urgent eilig dringend eilt",
        "50": "normal standard medium mittel",
        "20": "low niedrig gering",
    },
    F.MEDIA_UNIT: {"Roll": "rolle roll rollen", "Sheet": "sheet bogen platte"},
}  # fmt: skip
_FIXED: Final = words_of("fixed fest upright aufrecht portrait hochkant keep")
_FREE: Final = words_of("free frei any egal beliebig")
_EDGES: Final[Mapping[str, Edge]] = {
    "top": Edge.TOP, "oben": Edge.TOP, "left": Edge.LEFT, "links": Edge.LEFT, "right": Edge.RIGHT, "rechts": Edge.RIGHT,
    "bottom": Edge.BOTTOM, "unten": Edge.BOTTOM,
}  # fmt: skip
_FAMILIES: Final[Mapping[Family, str]] = {
    Family.BANNER: "banner bannerstoff frontlit plane planen pvcbanner bannermaterial",
    Family.MESH: "mesh netz netzgewebe gitter netzvinyl lochnetz",
    Family.BACKLIT_FILM: "backlit leuchtkasten leuchtkastenfolie lightbox leuchtfolie backlight hinterleuchtet",
    Family.WALLCOVERING: "wall wallpaper wallcovering tapete vliestapete wandbelag mural",
    Family.CANVAS: "canvas leinwand keilrahmen",
    Family.TEXTILE: "flag flags fahnenstoff fahne fahnen textile textil stoff cloth fabric polyester flaggenstoff",
    Family.WINDOW_FILM: "window fenster fensterfolie clear glasklar",
    Family.SELF_ADHESIVE_FILM: "vinyl adhesive klebefolie sticker aufkleber folie selbstklebend selfadhesive",
    Family.METALLISED_FILM: "silver silber silberfolie metal metallic metall spiegelfolie chrome",
    Family.PAPER: "paper papier poster plakat plakatpapier blueback affichen citylight",
    Family.RIGID_BOARD: "board platte platten rigid hartschaum hartschaumplatte foamboard",
}  # fmt: skip
_TRAITS: Final[Mapping[str, str]] = {
    "weiss": "white", "white": "white", "klar": "clear", "clear": "clear", "transparent": "clear", "silber": "silver",
    "silver": "silver", "gold": "gold", "schwarz": "black", "black": "black",
}  # fmt: skip


def meanings(
    field: TicketField, texts: Sequence[str], shop: Shop, *, notions: frozenset[str]
) -> list[Meaning]:
    """A proposal for each text.

    Args:
        field: What the texts are of.
        texts: Different texts of the export.
        shop: For its catalogue.
        notions: What the place is called by.
    """
    if field in (F.STOCK_BRAND, F.PRODUCT_ID, F.STOCK_TYPE):
        return [_substrate(text, shop) for text in texts]
    if field is F.PRINT_MODE_NAME:
        return [_print_mode(text, shop) for text in texts]
    if field is F.PRINT_PREFERENCE and (scale := _scale(texts, notions)):
        return scale
    return [_word(field, text, notions) for text in texts]


def _word(field: TicketField, text: str, notions: frozenset[str]) -> Meaning:
    words = set(re.findall(r"[a-z]+", plain(text))) | {plain(text).strip()}
    if field in _SPECIAL:
        return _SPECIAL[field](text, words, notions)
    for means, known in _BY_WORD.get(field, {}).items():
        if words & set(known.split()):
            return Meaning(text, means, 0.85)
    return Meaning(text, None, 0.0)


def _rotate(text: str, words: set[str], notions: frozenset[str]) -> Meaning:
    if words & _FIXED or words & _FREE:
        return Meaning(text, "no" if words & _FIXED else "yes", 0.85)
    if words & (YES | NO):
        means = bool(words & YES) != ("upright" in notions)
        return Meaning(text, "yes" if means else "no", 0.85)
    return Meaning(text, None, 0.0)


def _yes_or_no(text: str, words: set[str], _: frozenset[str]) -> Meaning:
    known = words & (YES | NO)
    return Meaning(text, ("yes" if words & YES else "no") if known else None, 0.9 if known else 0.0)


def _priority(text: str, words: set[str], _: frozenset[str]) -> Meaning:
    if words & (YES | NO):
        return Meaning(text, "80" if words & YES else "50", 0.7)
    for means, known in _BY_WORD[F.PRIORITY].items():
        if words & set(known.split()):
            return Meaning(text, means, 0.7)
    return Meaning(text, None, 0.0)


def _layers(text: str, words: set[str], _: frozenset[str]) -> Meaning:
    for means, known in _BY_WORD[F.LAYER_STACK].items():
        if words & set(known.split()):
            return Meaning(text, means, 0.8)
    return Meaning(text, "white, colour", 0.5) if words & YES else Meaning(text, None, 0.0)


def _match(text: str, words: set[str], notions: frozenset[str]) -> Meaning:
    for means, known in _BY_WORD[F.PATTERN_MATCH].items():
        if words & set(known.split()):
            return Meaning(text, means, 0.85)
    if words & (YES | NO) and "match" in notions:
        return Meaning(text, "half-drop" if words & YES else "straight", 0.5)
    return Meaning(text, None, 0.0)


def _with_edges(text: str, words: set[str], _: frozenset[str]) -> Meaning:
    said = re.search(r"\d+(?:[.,]\d+)? ?(?:mm|cm|m|in|\")?", text.casefold())
    if said is None or not said[0].strip():
        return Meaning(text, None, 0.0)
    if said[0].strip().isdigit():  # no unit: less than 20 can only be centimetres
        width_mm = int(said[0]) * (10 if int(said[0]) < 20 else 1)
        return Meaning(text, " ".join((str(width_mm), *_edges_in(words))), 0.6)
    sign = DecimalSign.COMMA if "," in said[0] else DecimalSign.POINT
    try:
        width = number(length_as_written(said[0], sign))
    except MeasureUnreadable:
        return Meaning(text, None, 0.0)
    return Meaning(text, " ".join((width, *_edges_in(words))), 0.85)


def _edges_in(words: set[str]) -> list[str]:
    return [edge.value for edge in Edge if any(_EDGES.get(word) is edge for word in words)]


_SPECIAL: Final[Mapping[TicketField, Callable[[str, set[str], frozenset[str]], Meaning]]] = {
    F.MAY_ROTATE: _rotate,
    F.CONTOUR_CUT: _yes_or_no,
    F.PRIORITY: _priority,
    F.LAYER_STACK: _layers,
    F.PATTERN_MATCH: _match,
    F.HEM: _with_edges,
    F.POLE_POCKET: _with_edges,
}


def _scale(texts: Sequence[str], notions: frozenset[str]) -> list[Meaning]:
    """Two or three steps such as ``*`` to ``***``, 1 to 3 or A to C, in the likelier direction; never surely."""
    if not 2 <= len(texts) <= 3 or not all(len(set(text)) == 1 or text.isdigit() for text in texts):
        return []
    if all(text.isdigit() for text in texts):
        best_first = sorted(texts, key=int, reverse="speed" not in notions)
    elif all(len(text) == 1 and text.isalpha() for text in texts):
        best_first = sorted(texts)
    elif len({text[0] for text in texts}) == 1:
        best_first = sorted(texts, key=len, reverse=True)
    else:
        return []
    steps = _SCALE if len(texts) == 3 else (_SCALE[0], _SCALE[2])
    by_text = dict(zip(best_first, steps, strict=True))
    return [Meaning(text, by_text[text], 0.5) for text in texts]


def _substrate(text: str, shop: Shop) -> Meaning:
    scored = sorted(((_alike(text, one), one.id) for one in shop.substrates.values()), reverse=True)
    if not scored or scored[0][0] < 0.4 or (len(scored) > 1 and scored[1][0] == scored[0][0]):
        return Meaning(text, None, 0.0)
    return Meaning(text, scored[0][1], min(scored[0][0], 1.0))


def _alike(text: str, substrate: Substrate) -> float:
    said = folded(text)
    if said in (folded(substrate.id), folded(substrate.name)):
        return 1.0
    words = set(_words(said))
    theirs = set(_words(f"{substrate.id} {substrate.name}"))
    numbers = {word for word in words if word.isdigit()}
    figures = {word for word in theirs if word.isdigit()} | set(re.findall(r"\d+", substrate.id))
    if substrate.weight_g_m2:
        figures.add(f"{substrate.weight_g_m2:g}")
    family = bool(words & set(_FAMILIES[substrate.family].split()))
    traits = {_TRAITS[word] for word in words if word in _TRAITS}
    of_theirs = {_TRAITS[word] for word in theirs if word in _TRAITS}
    shared = bool(words & theirs & set(re.findall(r"[a-z]{4,}", " ".join(theirs))))
    inside = 0.9 * (len(substrate.id) > 3 and folded(substrate.id) in said)
    return max(
        inside,
        0.5 * family + 0.4 * bool(numbers & figures) + 0.2 * bool(traits & of_theirs) + 0.15 * shared
        - 0.2 * bool(traits - of_theirs and traits & set(_TRAITS.values()) and of_theirs),
    )  # fmt: skip


def _words(text: str) -> Iterator[str]:
    yield from re.findall(r"[a-z]+|\d+", plain(text))


def _print_mode(text: str, shop: Shop) -> Meaning:
    said = folded(text)
    for mode in shop.print_modes.values():
        if said in (folded(mode.id), folded(mode.name)):
            return Meaning(text, mode.id, 1.0)
    return Meaning(text, None, 0.0)
