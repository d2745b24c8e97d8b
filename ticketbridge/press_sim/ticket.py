"""What the press knows of a job: the ticket alone, read into plain values."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from lxml import etree

from ticketbridge.press_sim.carriage import CarriageMode
from ticketbridge.press_sim.placements import Placement, read_placements
from ticketbridge.press_sim.settings import version_numbers
from ticketbridge.press_sim.values import (
    Unprintable,
    link_to,
    linked,
    needed,
    number_list,
    text,
    whole_number,
)
from ticketbridge.vocabulary.names import jdf, own
from ticketbridge.vocabulary.units import mm_from_points
from ticketbridge.vocabulary.words import LAYER_WORDS

_WIDTH_TOLERANCE_MM: Final = 0.5
_LONGEST_MM: Final = 1_000_000
_MOST_PASSES: Final = 64
_MOST_LAYERS: Final = 8


@dataclass(frozen=True, slots=True)
class LoadedMedia:
    """The roll that the ticket is for.

    Attributes:
        resource_id: ``Media@ID``, so that links can point at it.
        product_id: Stock number, or None.
        lot_id: ``Media@BatchID``, or None.
        dimension: ``Media@Dimension`` as the ticket has it.
        width_mm: Width of the roll.
        length_mm: Length on the roll; endless where the ticket says 0, which is JDF's word for not known.
    """

    resource_id: str
    product_id: str | None
    lot_id: str | None
    dimension: str
    width_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class Ticket:
    """One job as the press sees it.

    Attributes:
        job_id: ``JDF@JobID``.
        job_part_id: ``JDF@JobPartID``, or None.
        print_mode: Name of the print mode.
        carriage_mode: What decides whether it may run beside another.
        placements: In the order of the Layout.
        artworks: ``FileSpec@URL`` of each page, which ``ContentObject@Ord`` counts where there are no panels.
        amount: Pieces asked for, or None.
        media: The roll.
        leader_mm: Unprinted length before the first piece.
        trailer_mm: Unprinted length after the last piece.
        ink_l: Litres per separation that the ticket expects; empty where it says nothing.
        gang: Name that it shares with the ticket it runs beside, or None.
    """

    job_id: str
    job_part_id: str | None
    print_mode: str
    carriage_mode: CarriageMode
    placements: tuple[Placement, ...]
    artworks: tuple[str, ...]
    amount: float | None
    media: LoadedMedia
    leader_mm: float
    trailer_mm: float
    ink_l: Mapping[str, float]
    gang: str | None = None

    def artwork_of(self, placement: Placement) -> str:
        """The file that a box shows a page of."""
        paged = placement.tile is None and len(self.artworks) > 1
        return self.artworks[placement.ord if paged else 0]


def is_ticket(root: "etree._Element") -> bool:
    """Whether the document is a JDF, so that it can be written back."""
    return bool(root.tag == jdf("JDF"))


def read_ticket(root: "etree._Element", device_id: str, newest: tuple[int, int]) -> Ticket:
    """Read a ticket for one lane.

    Args:
        root: The document.
        device_id: The lane that was given the ticket.
        newest: Newest JDF version the press understands.

    Raises:
        Unprintable: Something that printing needs is missing, wrong or meant for somebody else.
    """
    if not is_ticket(root):
        raise Unprintable(
            f"The root element is {etree.QName(root).localname}, not a JDF of version 1.1 or later."
        )
    _check_version(root, newest)
    types = root.get("Types", root.get("Type", "")).split()
    if "DigitalPrinting" not in types:
        raise Unprintable("The node has no DigitalPrinting step.")
    device = linked(root, "Device")
    if device is not None and device.get("DeviceID") != device_id:
        raise Unprintable(f"The ticket is for device {device.get('DeviceID')}; this is {device_id}.")
    layout = needed(root, "Layout")
    media = _media(needed(root, "Media"))
    print_mode, carriage_mode = _print_mode(needed(root, "DigitalPrintingParams"))
    placements = read_placements(root, layout, tiling="Tiling" in types)
    _check_extent(placements, media)
    return Ticket(
        job_id=text(root, "JobID"),
        job_part_id=root.get("JobPartID"),
        print_mode=print_mode,
        carriage_mode=carriage_mode,
        placements=placements,
        artworks=_artworks(needed(root, "RunList"), placements),
        amount=_amount(root),
        media=media,
        leader_mm=_length_mm(layout, "LeaderLength"),
        trailer_mm=_length_mm(layout, "TrailerLength"),
        ink_l=_ink_l(root),
        gang=None if (planning := linked(root, "NodeInfo")) is None else planning.get(own("GangName")),
    )


def _check_version(root: "etree._Element", newest: tuple[int, int]) -> None:
    written = text(root, "Version")
    try:
        version = version_numbers(written)
    except ValueError:
        raise Unprintable(f"The ticket's Version {written!r} is no JDF version.") from None
    if version > newest:
        raise Unprintable(f"The ticket is JDF {written}; this press reads up to {newest[0]}.{newest[1]}.")


def _check_extent(placements: tuple[Placement, ...], media: LoadedMedia) -> None:
    width_mm = max(p.box.right for p in placements) - min(p.box.left for p in placements)
    if width_mm > media.width_mm + _WIDTH_TOLERANCE_MM:
        raise Unprintable(f"The image is {width_mm:.1f} mm wide and the roll {media.width_mm:.1f} mm.")
    if min(p.box.bottom for p in placements) < -_WIDTH_TOLERANCE_MM:
        raise Unprintable("A ContentObject lies before the start of the surface.")
    if max(p.box.top for p in placements) > _LONGEST_MM:
        raise Unprintable(f"The image is longer than {_LONGEST_MM / 1000:.0f} m; no roll is.")


def check_fits_a_roll(ticket: Ticket, full_mm: float) -> None:
    """No piece is longer than a new roll behind its leader; else no change of rolls would ever help.

    Raises:
        Unprintable: One is.
    """
    longest_mm = max(placement.box.height for placement in ticket.placements)
    if ticket.leader_mm + longest_mm > full_mm:
        raise Unprintable(
            f"A piece of {longest_mm:.0f} mm and the leader need more than a roll of {full_mm:.0f} mm."
        )


def _media(media: "etree._Element") -> LoadedMedia:
    width_pt, length_pt = number_list(media, "Dimension", 2)
    return LoadedMedia(
        resource_id=text(media, "ID"),
        product_id=media.get("ProductID"),
        lot_id=media.get("BatchID"),
        dimension=text(media, "Dimension"),
        width_mm=mm_from_points(width_pt),
        length_mm=mm_from_points(length_pt) or math.inf,
    )


def _print_mode(params: "etree._Element") -> tuple[str, CarriageMode]:
    mode = params.find(own("PrintMode"))
    if mode is None:
        raise Unprintable("DigitalPrintingParams has no PrintMode.")
    passes = whole_number(mode, "Passes", 1, _MOST_PASSES)
    direction = text(mode, "Direction")
    if direction not in ("OneWay", "BothWays"):
        raise Unprintable(f"PrintMode@Direction must be OneWay or BothWays, not {direction}.")
    stack = tuple(text(mode, "LayerStack").split())
    if not 0 < len(stack) <= _MOST_LAYERS or not set(stack) <= set(LAYER_WORDS):
        words = ", ".join(LAYER_WORDS)
        raise Unprintable(
            f"PrintMode@LayerStack may hold up to {_MOST_LAYERS} of {words}, not {' '.join(stack)!r}."
        )
    return text(mode, "Name"), CarriageMode(passes, direction == "OneWay", stack)


def _artworks(run_list: "etree._Element", placements: tuple[Placement, ...]) -> tuple[str, ...]:
    """One file with all pages, or one file for each part of the RunList."""
    files = tuple(text(file, "URL") for file in run_list.iter(jdf("FileSpec")))
    if not files:
        raise Unprintable("RunList names no file.")
    if len(files) > 1 and any(placed.tile is None and placed.ord >= len(files) for placed in placements):
        raise Unprintable(f"A ContentObject has an Ord beyond the {len(files)} pages of the RunList.")
    return files


def _amount(root: "etree._Element") -> float | None:
    link = link_to(root, "Component", "Output")
    if link is None:
        return None
    for element in [link, *link.iter(jdf("PartAmount"))]:
        if element.get("Amount"):
            return number_list(element, "Amount", 1)[0]
    return None


def _ink_l(root: "etree._Element") -> dict[str, float]:
    link = link_to(root, "Ink")
    return {
        part.get("Separation", ""): number_list(planned, "Amount", 1)[0]
        for planned in ([] if link is None else link.iter(jdf("PartAmount")))
        for part in planned.iterfind(jdf("Part"))
        if planned.get("Amount") and part.get("Separation")
    }


def _length_mm(layout: "etree._Element", name: str) -> float:
    """A length of our own on the Layout; not written means none."""
    if not layout.get(own(name)):
        return 0.0
    length_pt = number_list(layout, own(name), 1)[0]
    if length_pt < 0:
        raise Unprintable(f"Layout@{name} is negative.")
    return mm_from_points(length_pt)
