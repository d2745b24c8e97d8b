"""What a ticket says to people: its comments, and wishes that no press carries out, such as eyelets."""

from collections.abc import Iterable, Iterator
from typing import Final

from ticketbridge.jdf.reading import Reading, said_by
from ticketbridge.jdf.spans import Unreadable, ends, said
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.units import mm_from_points

_HOLES: Final = ("HoleMakingIntent", "HoleMakingParams")


def remarks(reading: Reading, nodes: Iterable[Element]) -> tuple[str, ...]:
    """The remarks of nodes, in order, each once.

    Args:
        reading: The ticket.
        nodes: Its nodes that are meant for us.
    """
    found = (remark for node in dict.fromkeys(nodes) for remark in (*_comments(node), *_lots(reading, node)))
    return tuple(dict.fromkeys(found))


def hole_remarks(reading: Reading, nodes: Iterable[Element]) -> tuple[str, ...]:
    """What process nodes say about holes, in order, each once.

    Args:
        reading: The ticket.
        nodes: Its nodes that are meant for us.
    """
    found = (reading.resources.used(node, name) for node in dict.fromkeys(nodes) for name in _HOLES)
    return tuple(dict.fromkeys(_about_holes(holes) for holes in found if holes is not None))


def _comments(node: Element) -> Iterator[str]:
    for comment in node.iterfind(jdf("Comment")):
        text = " ".join("".join(comment.itertext()).split())
        if text:
            yield text


def _about_holes(resource: Element) -> str:
    """Such as ``Holes: Explicit; 4 listed, 12 mm wide, Grommet; a row every 500 mm``."""
    span = resource.find(jdf("HoleType"))
    kind = said_by(resource, "HoleType") if span is None else said(span)
    listed = list(resource.iter(jdf("Hole")))
    words = [kind.raw.strip()] if kind else []
    if listed:
        about = [f"{len(listed)} listed", *_width(listed[0]), *_reinforcement(listed[0])]
        words.append(", ".join(about))
    for line in resource.iter(jdf("HoleLine")):
        words += [f"a row every {pitch} mm" for pitch in _millimetres(line, "Pitch")]
    return "Holes: " + ("; ".join(words) or "as agreed")


def _width(hole: Element) -> Iterator[str]:
    return (f"{width} mm wide" for width in _millimetres(hole, "Extent"))


def _reinforcement(hole: Element) -> Iterator[str]:
    source = said_by(hole, "Reinforcement")
    if source is not None:
        yield source.raw.strip()


def _millimetres(element: Element, attribute: str) -> Iterator[str]:
    """The first number of an attribute in points; nothing where it is none."""
    source = said_by(element, attribute)
    if source is not None:
        try:
            yield f"{mm_from_points(ends(source.raw, 1)[0][0]):.4g}"
        except Unreadable:
            return


def _lots(reading: Reading, node: Element) -> Iterator[str]:
    """Lots of the substrate that are asked for: ``Lot`` up to JDF 1.5, ``Part@LotID`` from 1.6 on."""
    for link in reading.resources.links(node, "Media", "Input"):
        for element in link.iter(jdf("Lot"), jdf("Part")):
            lot = said_by(element, "LotID")
            if lot is not None:
                yield f"Lot of the substrate: {lot.raw.strip()}"
