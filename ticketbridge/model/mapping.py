"""The administrator's mapping: tables from what the MIS says to what the shop has. First fitting row wins."""

from typing import Annotated

from pydantic import Field, model_validator

from ticketbridge.model.finishing import Finishing
from ticketbridge.model.lookup import LookupTable
from ticketbridge.model.order import Panels
from ticketbridge.model.pattern import Pattern
from ticketbridge.model.reads import Reads
from ticketbridge.model.substrate import Family, FromOutside, Identifier, LayerStack, NotNegative


class SubstrateRow(FromOutside):
    """A row of the substrate table: every given condition must hold."""

    product_id: str | None = None
    """``Media@ProductID`` of a process ticket, the stock number of the MIS."""
    stock_brand: str | None = None
    """``MediaIntent/StockBrand`` or ``Media@Brand``, the article name."""
    stock_type: str | None = None
    """``MediaIntent/StockType`` or ``Media@StockType``."""
    media_type: str | None = None
    """``MediaIntent/MediaType``, or ``Media@MediaType``."""
    media_type_details: str | None = None
    """``MediaIntent/MediaTypeDetails``, or ``Media@MediaTypeDetails``."""
    opacity: str | None = None
    """``MediaIntent/Opacity``, or ``Media@Opacity``."""
    thickness_um: tuple[NotNegative, NotNegative] | None = None
    """The wished thickness must lie in this range."""
    weight_g_m2: tuple[NotNegative, NotNegative] | None = None
    """The wished weight must lie in this range."""
    substrate: Identifier
    """The substrate of the catalogue that is meant."""

    @model_validator(mode="after")
    def _asks_something(self) -> "SubstrateRow":
        if self.model_fields_set <= {"substrate"}:
            raise ValueError("a row without a condition would take every ticket")
        return self


class PrintModeRow(FromOutside):
    """A row of the print mode table."""

    family: Family | None = None
    substrate: Identifier | None = None
    print_preference: str | None = None
    """``ProductionIntent/PrintPreference``: Balanced, CostEffective, Fastest or HighestQuality."""
    layer_stack: LayerStack | None = None
    print_mode: Identifier


class FinishingRow(FromOutside):
    """A row of the finishing table: what is done to a piece where its ticket does not say."""

    family: Family | None = None
    substrate: Identifier | None = None
    finishing: Finishing = Finishing()
    """What is done; a hem, a pocket or eyelets in the ticket take the place of those here."""
    pattern: Pattern | None = None
    """How a wallcovering is printed; a mural where no row says."""


class LayerDefaults(FromOutside):
    """Which layer stack is meant when a ticket asks for white or clear without saying the order."""

    white: LayerStack = LayerStack.WHITE_COLOUR
    """The stack that white means."""
    white_separations: tuple[str, ...] = ("White",)
    """Names of separations that count as white."""
    clear_separations: tuple[str, ...] = ("Clear", "Varnish")
    """Names of separations that count as clear."""
    clear_coatings: tuple[str, ...] = ("Glossy", "HighGloss", "UV", "UVVarnish", "Varnish", "Full")
    """``ColorIntent/Coatings`` that count as a clear layer."""


class Mapping(FromOutside):
    """One mapping; each source names the one it uses."""

    based_on: Identifier | None = None
    """Another mapping that gives whatever this file leaves out."""
    reads: Reads | None = None
    """How the source's files are read; left out, it takes JDF alone, as the standard has it."""
    tables: dict[Identifier, LookupTable] = Field(default={})
    """Tables by name, that say what words of the files mean."""
    substrates: tuple[SubstrateRow, ...] = ()
    """Which substrate a ticket means; the first row that fits wins."""
    print_modes: tuple[PrintModeRow, ...] = Field(min_length=1)
    """Which print mode it gets; the first row that fits wins."""
    finishing: tuple[FinishingRow, ...] = ()
    """What is done to a piece after printing; the first row that fits wins."""
    layers: LayerDefaults = LayerDefaults()
    """What white or clear means in a ticket that does not say the order."""
    panels: Panels = Panels.ALLOWED
    """What a ticket that does not say means."""
    panel_overlap_mm: NotNegative = 20
    """Weld or overlap of panels; 10 to 30 mm is common practice."""
    priority: Annotated[int, Field(ge=0, le=100)] = 50
    """NodeInfo's own default."""
