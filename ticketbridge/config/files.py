"""Which files a shop has, and which model each must fit."""

from typing import Final

from pydantic import BaseModel, Field

from ticketbridge.model.mapping import Mapping
from ticketbridge.model.press import Press
from ticketbridge.model.shop import Settings
from ticketbridge.model.substrate import FromOutside, PrintMode, Roll, Substrate


class SubstratesFile(FromOutside):
    """``substrates.yaml``."""

    substrates: tuple[Substrate, ...] = Field(min_length=1)
    """The catalogue: everything that the shop prints on."""


class PrintModesFile(FromOutside):
    """``print-modes.yaml``."""

    print_modes: tuple[PrintMode, ...] = Field(min_length=1)
    """How the shop prints."""


class PressesFile(FromOutside):
    """``presses.yaml``."""

    presses: tuple[Press, ...] = Field(min_length=1)
    """The presses and their lanes."""


class StockFile(FromOutside):
    """``stock.yaml``."""

    stock: tuple[Roll, ...]
    """Rolls on the shelf; ``[]`` where there are none."""


SETTINGS_FILE: Final = "shop.yaml"
SUBSTRATES_FILE: Final = "substrates.yaml"
PRINT_MODES_FILE: Final = "print-modes.yaml"
PRESSES_FILE: Final = "presses.yaml"
STOCK_FILE: Final = "stock.yaml"

FILES: Final[dict[str, type[BaseModel]]] = {
    SETTINGS_FILE: Settings,
    SUBSTRATES_FILE: SubstratesFile,
    PRINT_MODES_FILE: PrintModesFile,
    PRESSES_FILE: PressesFile,
    STOCK_FILE: StockFile,
}
"""Every shop has all of these, in the order in which complaints are listed."""

MAPPINGS_FOLDER: Final = "mappings"
"""One file for each mapping; the file's name without ``.yaml`` is its id."""

MAPPING_MODEL: Final[type[BaseModel]] = Mapping

STATE_FOLDER: Final = "state"
"""Where the bridge keeps what is its own, below the shop folder."""

STORE_FILE: Final = "bridge.sqlite"
"""The store of one bridge, in the state folder."""
