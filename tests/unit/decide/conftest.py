"""An invented shop, Harbourlight Graphics, and short ways to ask it things."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from ticketbridge.decide.estimate.estimate import estimate
from ticketbridge.decide.layout import lay_out
from ticketbridge.decide.roll_choice import RollAt, usable_width_mm
from ticketbridge.decide.rules import LaneQuestion, Neighbour
from ticketbridge.model.lane_state import RunningWork
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item, Order
from ticketbridge.model.shop import Shop
from ticketbridge.model.substrate import LayerStack, Roll

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)

SHOP: dict[str, Any] = {
    "settings": {
        "name": "Harbourlight Graphics",
        "sender_id": "harbourlight",
        "sources": [{"id": "mis", "folder": "orders", "mapping": "main"}],
    },
    "substrates": {
        "banner-510": {
            "id": "banner-510",
            "name": "Banner 510",
            "family": "banner",
            "thickness_um": 500,
            "weight_g_m2": 510,
            "widths_mm": [1100, 1600, 3200],
            "print_modes": ["swift", "fine"],
        },
        "canvas-340": {
            "id": "canvas-340",
            "name": "Canvas 340",
            "family": "canvas",
            "thickness_um": 420,
            "weight_g_m2": 340,
            "widths_mm": [1370, 1600],
            "print_modes": ["swift", "fine"],
        },
        "mesh-270": {
            "id": "mesh-270",
            "name": "Mesh 270",
            "family": "mesh",
            "thickness_um": 450,
            "weight_g_m2": 270,
            "widths_mm": [1600, 3200],
            "print_modes": ["swift"],
        },
        "clear-film": {
            "id": "clear-film",
            "name": "Clear film",
            "family": "window film",
            "thickness_um": 180,
            "weight_g_m2": 200,
            "widths_mm": [1370],
            "transparent": True,
            "print_modes": ["fine"],
        },
        "board-5": {
            "id": "board-5",
            "name": "Board 5 mm",
            "family": "rigid board",
            "thickness_um": 5000,
            "weight_g_m2": 900,
            "widths_mm": [1500],
            "print_modes": ["swift"],
        },
    },
    "print_modes": {
        "swift": {
            "id": "swift",
            "name": "Swift",
            "resolution_dpi": [600, 600],
            "passes": 4,
            "laydown_ml_m2": {"Cyan": 10, "Magenta": 10, "Yellow": 10, "Black": 10},
            "typical_coverage_percent": {"Cyan": 25, "Magenta": 12.5, "Yellow": 5, "Black": 10},
        },
        "fine": {
            "id": "fine",
            "name": "Fine",
            "resolution_dpi": [1200, 600],
            "passes": 8,
            "layer_stacks": [stack.value for stack in LayerStack],
            "laydown_ml_m2": {"Cyan": 10, "Magenta": 10, "Yellow": 10, "Black": 10, "White": 14, "Clear": 8},
            "typical_coverage_percent": {
                "Cyan": 25,
                "Magenta": 12.5,
                "Yellow": 5,
                "Black": 10,
                "White": 80,
                "Clear": 100,
            },
        },
    },
    "presses": {
        "tern": {
            "id": "tern",
            "name": "Tern",
            "beam_width_mm": 3300,
            "head_swath_mm": 54,
            "carriage_speed_mm_s": 1000,
            "ramp_mm": 150,
            "dwell_s": 0.3,
            "thickness_um": {"min": 100, "max": 1200},
            "channels": ["Cyan", "Magenta", "Yellow", "Black", "White"],
            "underlay": {"fitted": True, "in_place": False, "lanes": ["left", "wide"]},
            "crew": ["Ines", "Jonah"],
            "lanes": [
                {
                    "id": "left",
                    "name": "Left",
                    "device_id": "tern-left",
                    "left_mm": 0,
                    "width_mm": 1620,
                    "folder": "tern/left",
                    "roll": {
                        "substrate": "banner-510",
                        "lot": "B-17",
                        "width_mm": 1600,
                        "length_left_m": 40,
                    },
                },
                {
                    "id": "right",
                    "name": "Right",
                    "device_id": "tern-right",
                    "left_mm": 1680,
                    "width_mm": 1620,
                    "folder": "tern/right",
                },
                {
                    "id": "wide",
                    "name": "Wide",
                    "device_id": "tern-wide",
                    "left_mm": 0,
                    "width_mm": 3300,
                    "folder": "tern/wide",
                },
            ],
        },
    },
    "mappings": {
        "main": {
            "substrates": [
                {"stock_brand": "Frontlit", "thickness_um": [450, 550], "substrate": "banner-510"},
                {"media_type_details": "Canvas", "substrate": "canvas-340"},
                {"media_type": "Transparency", "opacity": "Transparent", "substrate": "clear-film"},
                {"media_type_details": "Mesh", "weight_g_m2": [200, 300], "substrate": "mesh-270"},
                {"media_type_details": "Lost", "substrate": "not-there"},
            ],
            "print_modes": [
                {"print_preference": "HighestQuality", "print_mode": "fine"},
                {"layer_stack": "white, colour", "print_mode": "fine"},
                {"family": "canvas", "print_mode": "fine"},
                {"substrate": "clear-film", "print_mode": "swift"},
                {"family": "mesh", "print_mode": "swift"},
                {"substrate": "banner-510", "print_mode": "swift"},
            ],
        },
    },
    "stock": [
        {"substrate": "banner-510", "lot": "B-20", "width_mm": 1600, "length_left_m": 50},
        {"substrate": "banner-510", "lot": "B-30", "width_mm": 3200, "length_left_m": 50},
        {"substrate": "canvas-340", "lot": "C-1", "width_mm": 1370, "length_left_m": 30},
    ],
}
"""Harbourlight Graphics: one press with two lanes of 1620 mm and, over both, a wide one."""


def _changed(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """A copy in which the keys named by dotted paths have other values."""
    copy: Any = _copy(base)
    for path, value in changes.items():
        spot = copy
        *way, last = path.split(".")
        for step in way:
            spot = spot[int(step)] if isinstance(spot, list) else spot[step]
        spot[int(last) if isinstance(spot, list) else last] = value
    return copy  # type: ignore[no-any-return]


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copy(inner) for key, inner in value.items()}
    return [_copy(inner) for inner in value] if isinstance(value, list) else value


@pytest.fixture
def make_shop() -> Callable[..., Shop]:
    """``make_shop({"presses.tern.shafts": "common"})``: the shop with some settings changed."""

    def make(changes: dict[str, Any] | None = None) -> Shop:
        return Shop.model_validate(_changed(SHOP, changes or {}))

    return make


@pytest.fixture
def shop(make_shop: Callable[..., Shop]) -> Shop:
    """The shop as it stands."""
    return make_shop()


@pytest.fixture
def make_item() -> Callable[..., Item]:
    """``make_item(quantity=3)``: ten banners of 1000 x 500 mm, with some values changed."""

    def make(**changes: Any) -> Item:
        banner: dict[str, Any] = {
            "job_part_id": "P1",
            "finished_width_mm": 1000,
            "finished_height_mm": 500,
            "quantity": 10,
            "substrate": "banner-510",
            "print_mode": "swift",
        }
        return Item(**(banner | changes))

    return make


@pytest.fixture
def make_order() -> Callable[..., Order]:
    """``make_order(item, due=...)``: an order of one item."""

    def make(item: Item, **changes: Any) -> Order:
        return Order(**({"job_id": "J-1", "source": "mis", "items": (item,)} | changes))

    return make


@pytest.fixture
def ask(make_shop: Callable[..., Shop], make_item: Callable[..., Item]) -> Callable[..., LaneQuestion]:
    """``ask(lane="right", roll=...)``: the question for ten banners on the left lane, with parts changed.

    ``item`` and ``settings`` are changes to the item and to the shop; ``beside`` is what is on the right lane.
    """

    def question(
        lane: str = "left",
        *,
        item: dict[str, Any] | None = None,
        settings: dict[str, Any] | None = None,
        roll: RollAt | str | None = "loaded",
        beside: tuple[Roll | None, RunningWork | None] = (None, None),
        across: tuple[Roll | None, RunningWork | None] = (None, None),
        **changes: Any,
    ) -> LaneQuestion:
        shop, wanted = make_shop(settings), make_item(**(item or {}))
        press = shop.presses["tern"]
        by_id = {one.id: one for one in press.lanes}
        here = by_id[lane]
        loaded = changes.pop("loaded", here.roll)
        at = RollAt(loaded, here.device_id) if roll == "loaded" and loaded else roll
        considered = at if isinstance(at, RollAt) else None
        width = considered.roll.width_mm if considered else 1600
        measures = (usable_width_mm(here, width), width, here.gap_mm, here.leader_mm, here.trailer_mm)
        layout = changes.pop("layout", None) or lay_out(wanted, *measures)
        mode = shop.print_modes.get(wanted.print_mode)
        takes = estimate(layout, wanted, mode, press) if mode and isinstance(layout, Layout) else None
        other = {"left": "right", "right": "left", "wide": "right"}[lane]
        neighbours = [_neighbour(shop, by_id[other], beside)]
        neighbours += [_neighbour(shop, by_id["wide"], across)] if lane != "wide" else []
        values: dict[str, Any] = {
            "item": wanted,
            "substrate": shop.substrates.get(wanted.substrate),
            "print_mode": mode,
            "press": press,
            "lane": here,
            "loaded": loaded,
            "roll": considered,
            "layout": layout,
            "estimate": takes,
            "running": None,
            "neighbours": tuple(neighbours),
            "minutes_ahead": 0.0,
            "now": NOON,
            "due": None,
            "crew_on_shift": None,
        }
        return LaneQuestion(**(values | changes))

    return question


def _neighbour(shop: Shop, lane: Any, holds: tuple[Roll | None, RunningWork | None]) -> Neighbour:
    roll, running = holds
    return Neighbour(
        lane,
        roll,
        shop.substrates.get(roll.substrate) if roll else None,
        running,
        shop.substrates.get(running.substrate) if running else None,
    )
