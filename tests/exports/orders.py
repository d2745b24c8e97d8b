"""Twelve orders that all six exports hold, as the shop means them: sample shop, mapping tables of ``mis.yaml``."""

from datetime import UTC, datetime
from typing import Any, Final

from ticketbridge.model.finishing import Edge, Eyelets, Finishing, Hem, PolePocket
from ticketbridge.model.order import Artwork, Item, Order, Panels
from ticketbridge.model.pattern import Match, Pattern
from ticketbridge.model.substrate import LayerStack

HEMMED: Final = Finishing(hem=Hem(width_mm=30), eyelets=Eyelets(spacing_mm=500))
FLAG: Final = Finishing(pole_pocket=PolePocket(flat_mm=80, edges=(Edge.LEFT,)))


def item(
    part: str, name: str, size_mm: tuple[float, float], pieces: int, substrate: str, mode: str, **more: Any
) -> Item:
    """One item with its artwork, named after it."""
    artwork = Artwork(url=f"art/{name.lower().replace(' ', '-')}.pdf", mime_type="application/pdf")
    return Item(
        job_part_id=part,
        descriptive_name=name,
        finished_width_mm=size_mm[0],
        finished_height_mm=size_mm[1],
        quantity=pieces,
        substrate=substrate,
        print_mode=mode,
        artwork=artwork,
        **more,
    )


def order(
    number: int, title: str, customer: tuple[str, str], day: tuple[int, int], *items: Item, rush: bool = False
) -> Order:
    """One order, due at the end of a day of the year's last months."""
    return Order(
        job_id=f"HL-{number}",
        descriptive_name=title,
        source="export",
        due=datetime(2026, *day, 23, 59, 59, tzinfo=UTC),
        priority=80 if rush else 50,
        customer_id=customer[0],
        customer_name=customer[1],
        items=items,
    )


FAIR: Final = ("C-101", "Quillmoor Summer Fair")
GALLERY: Final = ("C-102", "Saltmarsh Gallery")
ROWING: Final = ("C-103", "Brackwater Rowing Club")
MUSEUM: Final = ("C-104", "Tidewatch Museum")
BAKERY: Final = ("C-105", "Bäckerei Möwe")

TWELVE: Final = (
    order(31001, "Fair banner", FAIR, (12, 1),
          item("1", "Fair banner", (1450, 1700), 3, "BAN510", "banner-6", finishing=HEMMED)),
    order(31002, "Fence mesh", ROWING, (12, 2),
          item("1", "Fence mesh", (3000, 1800), 2, "MESH270", "fast-4",
               finishing=Finishing(eyelets=Eyelets(spacing_mm=300))), rush=True),
    order(31003, "Light box", MUSEUM, (12, 3),
          item("1", "Light box", (900, 1200), 1, "BACKLIT210", "day-night-12",
               layer_stack=LayerStack.COLOUR_WHITE_COLOUR)),
    order(31004, "Window letters", BAKERY, (12, 4),
          item("1", "Window letters", (600, 800.5), 4, "WINDOW-CLEAR", "white-8",
               layer_stack=LayerStack.COLOUR_WHITE, may_rotate=False)),
    order(31005, "Gallery wall", GALLERY, (12, 7),
          item("1", "Gallery wall", (2900, 2400), 1, "WALL300", "fine-8", bleed_mm=50, pattern=Pattern())),
    order(31006, "Hotel wall", MUSEUM, (12, 8),
          item("1", "Hotel wall", (6000, 2600), 1, "WALL300", "fine-8", bleed_mm=50,
               pattern=Pattern(match=Match.HALF_DROP, repeat_mm=640))),
    order(31007, "Canvas prints", GALLERY, (12, 9),
          item("1", "Canvas prints", (1200, 1500), 3, "CANVAS380", "fine-8", bleed_mm=40)),
    order(31008, "Regatta flags", ROWING, (12, 10),
          item("1", "Regatta flags", (1500, 900), 12, "FLAG115", "banner-6", finishing=FLAG), rush=True),
    order(31009, "Floor stickers", FAIR, (12, 11),
          item("1", "Floor stickers", (500, 500), 20, "VINYL-WHITE", "fine-8", bleed_mm=3)),
    order(31010, "Silver letters", BAKERY, (12, 14),
          item("1", "Silver letters", (500, 700), 2, "METAL-SILVER", "white-8",
               layer_stack=LayerStack.WHITE_COLOUR)),
    order(31011, "Harbour festival", FAIR, (12, 15),
          item("1", "Tower banner", (5000, 4200), 1, "BAN510", "banner-6", panels=Panels.WANTED, finishing=HEMMED),
          item("2", "Street posters", (1185, 1750), 30, "BLUEBACK115", "fast-4", bleed_mm=5),
          item("3", "Stage mesh", (4000, 2500), 1, "MESH270", "banner-6", panels=Panels.FORBIDDEN)),
    order(31012, "Museum set", MUSEUM, (12, 16),
          item("1", "Left half", (1200, 2000), 1, "CANVAS380", "banner-6", bleed_mm=40),
          item("2", "Right half", (1200, 2000), 1, "CANVAS380", "banner-6", bleed_mm=40)),
)  # fmt: skip
