"""What a ticket says of finishing: eyelets, laminate and contour in the standard's intents, the rest in our own words.

Hems, pole pockets, zones without seams and pattern repeats have no place in the standard; they are attributes of
our namespace on LayoutIntent, lengths in points as everywhere in JDF.
"""

from typing import Final

from ticketbridge.jdf.reading import ItemReading, add_own_words, said_by
from ticketbridge.jdf.spans import Said, Unreadable, ends, middle
from ticketbridge.model.finishing import ALL_EDGES
from ticketbridge.model.pattern import Drops, Match
from ticketbridge.vocabulary.names import jdf, own
from ticketbridge.vocabulary.units import mm_from_points, number

_WITH_EDGES: Final = (("hem", "Hem"), ("pole_pocket", "PolePocket"))
_LENGTHS: Final = (("eyelet_spacing_mm", "EyeletSpacing"), ("pattern_repeat_mm", "PatternRepeat"))
_WORDS: Final = (
    ("pattern_match", "PatternMatch", tuple(Match)),
    ("pattern_drops", "PatternDrops", tuple(Drops)),
)
_LAMINATE: Final = ("Temperature", "Surface", "Texture")


def add_finishing(item: ItemReading) -> None:
    """Add hem, pocket, eyelets, laminate, contour and pattern."""
    _add_own(item)
    _add_eyelets(item)
    spans = [said for name in _LAMINATE if (said := item.span("LaminatingIntent", name))]
    if spans:
        item.add("laminate", ", ".join(said.raw.strip() for said in spans), spans[0])
    shapes = item.intent("ShapeCuttingIntent")
    cut = None if shapes is None else shapes.find(jdf("ShapeCut"))
    if cut is not None:
        item.add("contour_cut", True, Said(cut.get("CutPath") or "ShapeCut", cut))


def _add_own(item: ItemReading) -> None:
    layout = item.intent("LayoutIntent")
    for name, attribute in _WITH_EDGES:
        if said := said_by(layout, own(attribute)):
            _add_with_edges(item, name, attribute, said)
    for name, attribute in _LENGTHS:
        if (said := said_by(layout, own(attribute))) and (length_mm := _mm(item, said, attribute, 1)):
            item.add(name, length_mm[0], said)
    if said := said_by(layout, own("KeepSeamsFrom")):
        _add_zones(item, said)
    for name, attribute, words in _WORDS:
        add_own_words(item, name, layout, own(attribute), words)


def _add_zones(item: ItemReading, said: Said) -> None:
    """Pairs of places across the piece."""
    words = said.raw.split()
    pairs = [" ".join(words[first : first + 2]) for first in range(0, len(words), 2)]
    found = [_mm(item, Said(pair, said.element), "KeepSeamsFrom", 2) for pair in pairs or [""]]
    zones = tuple(" ".join(number(place) for place in zone) for zone in found if zone)
    if len(zones) == len(found):
        item.add("keep_seams_from", zones, said)


def _add_with_edges(item: ItemReading, name: str, attribute: str, said: Said) -> None:
    """A width and the edges it is for; without edges as the model has it."""
    width, *edges = said.raw.split() or [""]
    try:
        ((width_pt,), _) = ends(width, 1)
        if not set(edges) <= set(ALL_EDGES):
            raise Unreadable("")
    except Unreadable:
        form = Unreadable("a width in points, then any of " + ", ".join(ALL_EDGES))
        item.reading.find_unreadable(said, attribute, form)
        return
    item.add(name, (number(round(mm_from_points(width_pt), 3)), *edges), said)


def _add_eyelets(item: ItemReading) -> None:
    intent = item.intent("HoleMakingIntent")
    holes = [] if intent is None else intent.iterfind(f"{jdf('HoleList')}/{jdf('Hole')}")
    said = [centre for hole in holes if (centre := said_by(hole, "Center"))]
    centres = [found for centre in said if (found := _mm(item, centre, "eyelet", 2))]
    if centres:
        item.add("eyelets", tuple(" ".join(number(length) for length in one) for one in centres), said[0])


def _mm(item: ItemReading, said: Said, what: str, width: int) -> tuple[float, ...] | None:
    """Millimetres to the micrometre, as sizes are."""
    try:
        return tuple(round(mm_from_points(length_pt), 3) for length_pt in middle(ends(said.raw, width)))
    except Unreadable as error:
        item.reading.find_unreadable(said, what, error)
        return None
