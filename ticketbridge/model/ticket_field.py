"""The values of a ticket by name, as a mapping's rows name them, with the form and the unit of each."""

from collections.abc import Mapping
from enum import Enum, StrEnum
from typing import Final

from ticketbridge.model.order import Panels
from ticketbridge.model.pattern import Match
from ticketbridge.model.spelling import LENGTH_UNITS, THICKNESS_UNITS, WEIGHT_UNITS, Unit


class TicketField(StrEnum):
    """What a row of ``reads.fields`` can fill."""

    JOB_ID = "job_id"
    ORDER_DESCRIPTIVE_NAME = "order_descriptive_name"
    CUSTOMER_ID = "customer_id"
    CUSTOMER_ORDER_ID = "customer_order_id"
    CUSTOMER_NAME = "customer_name"
    DUE = "due"
    PRIORITY = "priority"
    JOB_PART_ID = "job_part_id"
    DESCRIPTIVE_NAME = "descriptive_name"
    QUANTITY = "quantity"
    FINISHED_WIDTH_MM = "finished_width_mm"
    FINISHED_HEIGHT_MM = "finished_height_mm"
    BLEED_MM = "bleed_mm"
    PRODUCT_ID = "product_id"
    STOCK_BRAND = "stock_brand"
    STOCK_TYPE = "stock_type"
    MEDIA_TYPE = "media_type"
    MEDIA_TYPE_DETAILS = "media_type_details"
    MEDIA_UNIT = "media_unit"
    OPACITY = "opacity"
    THICKNESS_UM = "thickness_um"
    WEIGHT_G_M2 = "weight_g_m2"
    ROLL_WIDTH_MM = "roll_width_mm"
    PRINT_PREFERENCE = "print_preference"
    PRINT_MODE_NAME = "print_mode_name"
    LAYER_STACK = "layer_stack"
    SEPARATIONS = "separations"
    COATINGS = "coatings"
    SIDES = "sides"
    MIRROR_AROUND = "mirror_around"
    MAY_ROTATE = "may_rotate"
    PANELS = "panels"
    PANEL_OVERLAP_MM = "panel_overlap_mm"
    HEM = "hem"
    POLE_POCKET = "pole_pocket"
    EYELETS = "eyelets"
    EYELET_SPACING_MM = "eyelet_spacing_mm"
    LAMINATE = "laminate"
    CONTOUR_CUT = "contour_cut"
    PATTERN_MATCH = "pattern_match"
    PATTERN_REPEAT_MM = "pattern_repeat_mm"
    ARTWORK_URL = "artwork_url"
    ARTWORK_MIME_TYPE = "artwork_mime_type"
    ARTWORK_PAGE = "artwork_page"

    @property
    def ticket_name(self) -> str:
        """Its name in a ticket's values; the order and each item have a descriptive name."""
        return "descriptive_name" if self is TicketField.ORDER_DESCRIPTIVE_NAME else self.value


class Form(Enum):
    """What the text of a value must be."""

    TEXT = "text"
    LENGTH = "length"
    THICKNESS = "thickness"
    WEIGHT = "weight"
    WHOLE_NUMBER = "whole number"
    MOMENT = "moment"
    YES_OR_NO = "yes or no"
    LIST = "list of words"
    WITH_EDGES = "length with edges"
    """A length, then any of top, right, bottom, left; all of them where none is named."""
    LAYERS = "layers"
    """``Color White`` as JDF's colours go, or as the shop has them: ``white, colour``."""
    POINTS = "places"
    """Pairs of lengths from the lower left corner, with semicolons between them: ``25 25; 25 475``."""


_FORMS: Final[Mapping[Form, frozenset[TicketField]]] = {
    Form.LENGTH: frozenset(
        {
            TicketField.FINISHED_WIDTH_MM,
            TicketField.FINISHED_HEIGHT_MM,
            TicketField.BLEED_MM,
            TicketField.ROLL_WIDTH_MM,
            TicketField.PANEL_OVERLAP_MM,
            TicketField.EYELET_SPACING_MM,
            TicketField.PATTERN_REPEAT_MM,
        }
    ),
    Form.THICKNESS: frozenset({TicketField.THICKNESS_UM}),
    Form.WEIGHT: frozenset({TicketField.WEIGHT_G_M2}),
    Form.WHOLE_NUMBER: frozenset({TicketField.QUANTITY, TicketField.PRIORITY, TicketField.ARTWORK_PAGE}),
    Form.MOMENT: frozenset({TicketField.DUE}),
    Form.YES_OR_NO: frozenset({TicketField.MAY_ROTATE, TicketField.CONTOUR_CUT}),
    Form.LIST: frozenset({TicketField.SEPARATIONS, TicketField.COATINGS}),
    Form.WITH_EDGES: frozenset({TicketField.HEM, TicketField.POLE_POCKET}),
    Form.LAYERS: frozenset({TicketField.LAYER_STACK}),
    Form.POINTS: frozenset({TicketField.EYELETS}),
}

FORM_OF: Final[Mapping[TicketField, Form]] = {
    field: next((form for form, fields in _FORMS.items() if field in fields), Form.TEXT)
    for field in TicketField
}
"""The form of each value."""

UNITS_OF: Final[Mapping[Form, frozenset[Unit]]] = {
    Form.LENGTH: LENGTH_UNITS,
    Form.WITH_EDGES: LENGTH_UNITS - {Unit.FEET_AND_INCHES, Unit.AS_WRITTEN},
    Form.POINTS: LENGTH_UNITS - {Unit.FEET_AND_INCHES, Unit.AS_WRITTEN},
    Form.THICKNESS: THICKNESS_UNITS,
    Form.WEIGHT: WEIGHT_UNITS,
}
"""The units that go with a form; none go with the others."""

WORDS_OF: Final[Mapping[TicketField, tuple[str, ...]]] = {
    TicketField.PRINT_PREFERENCE: ("Balanced", "CostEffective", "Fastest", "HighestQuality"),
    TicketField.PANELS: tuple(Panels),
    TicketField.PATTERN_MATCH: tuple(Match),
    TicketField.MEDIA_UNIT: ("Sheet", "Roll", "Continuous"),
}
"""The only words that a value may be, where there is a closed list."""

OF_THE_ORDER: Final = frozenset(
    {
        TicketField.JOB_ID,
        TicketField.ORDER_DESCRIPTIVE_NAME,
        TicketField.CUSTOMER_ID,
        TicketField.CUSTOMER_ORDER_ID,
        TicketField.CUSTOMER_NAME,
        TicketField.DUE,
        TicketField.PRIORITY,
    }
)
"""Values that all items of one order share; the others belong to each item."""

NEEDED: Final = (
    TicketField.JOB_ID,
    TicketField.QUANTITY,
    TicketField.FINISHED_WIDTH_MM,
    TicketField.FINISHED_HEIGHT_MM,
    TicketField.ARTWORK_URL,
)
"""Values that no order can be made without."""
