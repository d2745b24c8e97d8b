"""What a ticket says, before the administrator's mapping: every value with the place it was read from.

A ``Ticket`` is a bag of named values, so that every reader (JDF intent and process nodes, CSV lines, artwork alone) fills the
same one and ``explain`` can list it. Units are the model's already; the standard fixes what they were.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, NamedTuple

Value = str | int | float | bool | datetime | tuple[str, ...]


class Read(NamedTuple):
    """One value with its origin. A ticket has dozens, so they are what Python makes and sends quickest.

    Attributes:
        value: In the model's units.
        raw: As the ticket wrote it.
        path: XPath (or column) it was read from.
        line: Line in the file, from 1; None where files of this kind have no lines.
        rule: The row of the mapping that took it; None where the standard says where it stands.
        decided: Whether the mapping gave the value, by a table or as a default, and not the file.
    """

    value: Value
    raw: str
    path: str
    line: int | None
    rule: str | None = None
    decided: bool = False


ORDER_FIELDS: Final[Mapping[str, str]] = {
    "job_id": "JDF@JobID of the root",
    "version": "JDF@Version of the root",
    "descriptive_name": "JDF@DescriptiveName of the root",
    "due": "NodeInfo@LastEnd, else DeliveryIntent/Required",
    "priority": "NodeInfo@JobPriority, 0 to 100",
    "customer_id": "CustomerInfo@CustomerID",
    "customer_order_id": "CustomerInfo@CustomerOrderID",
    "customer_name": "Contact/Company@OrganizationName of the customer",
}
"""Names of the order's values, with where JDF has them."""

ITEM_FIELDS: Final[Mapping[str, str]] = {
    "node_id": "JDF@ID of the item's node, a Product or one that prints",
    "job_part_id": "JDF@JobPartID of the item's node",
    "descriptive_name": "JDF@DescriptiveName of the item's node",
    "finished_width_mm": "LayoutIntent/FinishedDimensions, X; else Component@Dimensions, LayoutElement@SourceTrimBox",
    "finished_height_mm": "LayoutIntent/FinishedDimensions, Y; else Component@Dimensions, LayoutElement@SourceTrimBox",
    "bleed_mm": "LayoutIntent/Bleed; else Component@tb:Bleed, our own, or SourceBleedBox around SourceTrimBox",
    "sides": "LayoutIntent@Sides, or DigitalPrintingParams@Sides",
    "may_rotate": "LayoutIntent@RotatePolicy or FitPolicy@RotatePolicy other than NoRotate; default true",
    "quantity": "ComponentLink@Amount of the output, else DropItemIntent@Amount",
    "media_type": "MediaIntent/MediaType, or Media@MediaType",
    "media_type_details": "MediaIntent/MediaTypeDetails, or Media@MediaTypeDetails",
    "stock_brand": "MediaIntent/StockBrand, or Media@Brand",
    "stock_type": "MediaIntent/StockType, or Media@StockType",
    "opacity": "MediaIntent/Opacity, or Media@Opacity",
    "thickness_um": "MediaIntent/Thickness, the wish; or Media@Thickness",
    "thickness_low_um": "MediaIntent/Thickness, lower end of the range",
    "thickness_high_um": "MediaIntent/Thickness, upper end of the range",
    "weight_g_m2": "MediaIntent/Weight, the wish; or Media@Weight",
    "weight_low_g_m2": "MediaIntent/Weight, lower end of the range",
    "weight_high_g_m2": "MediaIntent/Weight, upper end of the range",
    "separations": "SeparationSpec@Name in ColorIntent/ColorsUsed, or in ColorantControl; all of them",
    "coatings": "ColorIntent/Coatings",
    "layer_stack": "tb:LayerStack, our own attribute of ColorIntent or DigitalPrintingParams: Color White Color",
    "print_preference": "ProductionIntent/PrintPreference, or InterpretingParams@PrintQuality in its words",
    "panels": "LayoutIntent@tb:Panels, our own attribute: wanted, allowed or forbidden",
    "keep_seams_from": "LayoutIntent@tb:KeepSeamsFrom, our own attribute: from and to in points, in pairs; in mm here",
    "hem": "LayoutIntent@tb:Hem, our own attribute: width in points, then edges; in mm here",
    "pole_pocket": "LayoutIntent@tb:PolePocket, our own attribute: flat width in points, then edges; in mm here",
    "eyelets": "HoleMakingIntent/HoleList/Hole@Center, all of them, in mm here",
    "eyelet_spacing_mm": "LayoutIntent@tb:EyeletSpacing, our own attribute, in points",
    "laminate": "LaminatingIntent/Temperature, Surface and Texture",
    "contour_cut": "ShapeCuttingIntent/ShapeCut, that there is one",
    "pattern_match": "LayoutIntent@tb:PatternMatch, our own attribute: none, straight or half-drop",
    "pattern_repeat_mm": "LayoutIntent@tb:PatternRepeat, our own attribute, in points",
    "pattern_drops": "LayoutIntent@tb:PatternDrops, our own attribute: continuous or numbered",
    "artwork_url": "ArtDeliveryIntent/ArtDelivery/RunList/LayoutElement/FileSpec@URL",
    "artwork_mime_type": "FileSpec@MimeType beside it",
    "artwork_page": "RunList@Pages beside it, first page, from 0",
    "has_bleeds": "ArtDelivery@HasBleeds, or LayoutElement@HasBleeds",
    "product_id": "Media@ProductID, the stock number of the substrate",
    "media_unit": "Media@MediaUnit, or Roll where something else says so; Sheet is the standard's default",
    "roll_width_mm": "Media@Dimension, X; MediaIntent/Dimensions up to JDF 1.1",
    "print_mode_name": "GeneralID with IDUsage PrintMode; else tb:PrintMode, our own, or JDF@NamedFeatures",
    "panel_overlap_mm": "InterpretingParams@PosterOverlap, X",
    "mirror_around": "InterpretingParams@MirrorAround",
}
"""Names of an item's values, with where JDF has them."""


IN_JDF: Final[Mapping[str, str]] = {**ITEM_FIELDS, **ORDER_FIELDS}
"""Where a JDF ticket has each value that an order cannot be made without."""


@dataclass(frozen=True, slots=True)
class TicketItem:
    """One item: the values of ``ITEM_FIELDS`` that the ticket gives, and its line where it has one of its own.

    ``number`` is its place among the items, from 1, where others before it were left out. ``held`` is said by
    ``JDF@Activation`` Held of its node, or of one around it: it is taken, and kept until somebody lets it go.
    """

    values: Mapping[str, Read]
    line: int | None = None
    number: int | None = None
    held: bool = False

    def part_id(self, index: int) -> str:
        """JobPartID of the item, which stands at this index: what it says, else its number."""
        said = self.values.get("job_part_id")
        return str(said.value) if said else str(self.number or index + 1)


@dataclass(frozen=True, slots=True)
class Ticket:
    """One ticket as read: the values of ``ORDER_FIELDS`` that it gives, and its items."""

    values: Mapping[str, Read]
    items: tuple[TicketItem, ...]
    comments: tuple[str, ...] = field(default=())
    """Comments for people, in order."""
    where: Mapping[str, str] = field(default_factory=lambda: IN_JDF)
    """Where this kind of file has each value, to tell people what is missing."""
    assumed: frozenset[str] = frozenset()
    """Values of the order that are ours by the clock, not the sender's: the same file another day is the same."""
    parts_are_numbers: bool = False
    """Whether every JobPartID is a number of ours, also where the items say one."""

    @property
    def numbered(self) -> bool:
        """Whether the sender has no names for the parts; then they are numbered, and the ticket is the whole order."""
        return self.parts_are_numbers or any("job_part_id" not in item.values for item in self.items)
