"""What a ticket says, before the administrator's mapping: every value with the place it was read from.

A ``Ticket`` is a bag of named values, so that every reader (JDF intent, CSV lines, artwork alone) fills the
same one and ``explain`` can list it. Units are the model's already; the standard fixes what they were.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

Value = str | int | float | bool | datetime | tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Read:
    """One value with its origin.

    Attributes:
        value: In the model's units.
        raw: As the ticket wrote it.
        path: XPath (or column) it was read from.
        line: Line in the file, from 1; None where files of this kind have no lines.
    """

    value: Value
    raw: str
    path: str
    line: int | None


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
    "node_id": "JDF@ID of the item's Product node",
    "job_part_id": "JDF@JobPartID of the item's Product node",
    "descriptive_name": "JDF@DescriptiveName of the item's Product node",
    "finished_width_mm": "LayoutIntent/FinishedDimensions, X",
    "finished_height_mm": "LayoutIntent/FinishedDimensions, Y",
    "bleed_mm": "LayoutIntent/Bleed",
    "sides": "LayoutIntent@Sides",
    "may_rotate": "LayoutIntent@RotatePolicy other than NoRotate; default true",
    "quantity": "ComponentLink@Amount of the output, else DropItemIntent@Amount",
    "media_type": "MediaIntent/MediaType",
    "media_type_details": "MediaIntent/MediaTypeDetails",
    "stock_brand": "MediaIntent/StockBrand",
    "stock_type": "MediaIntent/StockType",
    "opacity": "MediaIntent/Opacity",
    "thickness_um": "MediaIntent/Thickness, the wish",
    "thickness_low_um": "MediaIntent/Thickness, lower end of the range",
    "thickness_high_um": "MediaIntent/Thickness, upper end of the range",
    "weight_g_m2": "MediaIntent/Weight, the wish",
    "weight_low_g_m2": "MediaIntent/Weight, lower end of the range",
    "weight_high_g_m2": "MediaIntent/Weight, upper end of the range",
    "separations": "ColorIntent/ColorsUsed/SeparationSpec@Name, all of them",
    "coatings": "ColorIntent/Coatings",
    "layer_stack": "ColorIntent@tb:LayerStack, our own attribute: Color White Color",
    "print_preference": "ProductionIntent/PrintPreference",
    "panels": "LayoutIntent@tb:Panels, our own attribute: wanted, allowed or forbidden",
    "artwork_url": "ArtDeliveryIntent/ArtDelivery/RunList/LayoutElement/FileSpec@URL",
    "artwork_mime_type": "FileSpec@MimeType beside it",
    "artwork_page": "RunList@Pages beside it, first page, from 0",
    "has_bleeds": "ArtDelivery@HasBleeds",
}
"""Names of an item's values, with where JDF has them."""


IN_JDF: Final[Mapping[str, str]] = {**ITEM_FIELDS, **ORDER_FIELDS}
"""Where a JDF ticket has each value that an order cannot be made without."""


@dataclass(frozen=True, slots=True)
class TicketItem:
    """One item: the values of ``ITEM_FIELDS`` that the ticket gives, and its line where it has one of its own."""

    values: Mapping[str, Read]
    line: int | None = None


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
