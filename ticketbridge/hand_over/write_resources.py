"""The resources of a lane's ticket and the links to them."""

from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write_layout import add_layout
from ticketbridge.jdf.writing import Element, child, moment, own_child
from ticketbridge.model.order import Item
from ticketbridge.model.press import Press
from ticketbridge.model.substrate import Direction, LayerStack, Substrate
from ticketbridge.vocabulary.names import own
from ticketbridge.vocabulary.units import number, points_from_mm

COLOURS = ("Cyan", "Magenta", "Yellow", "Black")
COLOUR_TYPES = {"White": "Opaque", "Clear": "Transparent"}
CMYK = {
    "Cyan": "1 0 0 0",
    "Magenta": "0 1 0 0",
    "Yellow": "0 0 1 0",
    "Black": "0 0 0 1",
    "White": "0 0 0 0",
    "Clear": "0 0 0 0",
}
LAYER_WORDS = {"colour": "Color", "white": "White", "clear": "Clear"}


def add_resources(root: Element, ticket: LaneTicket) -> None:
    """The ResourcePool and the ResourceLinkPool."""
    pool, link_pool = child(root, "ResourcePool"), child(root, "ResourceLinkPool")
    links = _Links(ticket, link_pool)
    _add_planning(pool, ticket, links)
    _add_artwork(pool, ticket, links)
    _add_colour(pool, ticket, links)
    _add_printing(pool, ticket, links)
    _add_consumables(pool, ticket, links)
    add_layout(pool, ticket, links.add)
    _add_output(pool, ticket, links)


class _Links:
    """Adds a link for each resource that is written."""

    def __init__(self, ticket: LaneTicket, pool: Element) -> None:
        self._ticket = ticket
        self._pool = pool

    def add(
        self, name: str, resource: str, *processes: str, usage: str = "Input", **attributes: str
    ) -> Element:
        indices = " ".join(str(self._ticket.processes.index(process)) for process in processes)
        if indices:
            attributes["CombinedProcessIndex"] = indices
        return child(self._pool, f"{name}Link", Usage=usage, rRef=self._ticket.id(resource), **attributes)


def _resource(
    pool: Element, ticket: LaneTicket, name: str, id_: str, class_: str, **attributes: str
) -> Element:
    status = attributes.pop("Status", "Available")
    return child(pool, name, ID=ticket.id(id_), Class=class_, Status=status, **attributes)


def _add_planning(pool: Element, ticket: LaneTicket, links: _Links) -> None:
    order = ticket.order
    planning = {"JobPriority": str(order.priority), "NodeStatus": "Waiting"}
    if order.due is not None:
        planning["LastEnd"] = moment(order.due)
    info = _resource(pool, ticket, "NodeInfo", "ni", "Parameter", **planning)
    if (
        ticket.gang_name is not None
    ):  # the standard has a GangName for queue entries, none for a ticket in a folder
        info.set(own("GangName"), ticket.gang_name)
    links.add("NodeInfo", "ni")
    customer = {
        "CustomerID": order.customer_id,
        "CustomerOrderID": order.customer_order_id,
        "CustomerJobName": order.descriptive_name or None,
    }
    known = {name: value for name, value in customer.items() if value}
    if known:
        _resource(pool, ticket, "CustomerInfo", "ci", "Parameter", **known)
        links.add("CustomerInfo", "ci")
    device = _resource(
        pool, ticket, "Device", "dev", "Implementation",
        DeviceID=ticket.lane.device_id, DeviceClass="WideFormatPrinter VirtualPrinter",
        DescriptiveName=ticket.lane.name,
    )  # fmt: skip
    child(device, "Module", ModuleIndex="0", ModuleID=module_id(ticket), ModuleType="Feeder")
    links.add("Device", "dev")


def module_id(ticket: LaneTicket) -> str:
    """The roll position of the lane on its press."""
    return f"{ticket.press.id}.Roll-{ticket.lane.id}"


def _add_artwork(pool: Element, ticket: LaneTicket, links: _Links) -> None:
    if ticket.item.artwork is None:
        return
    run = _resource(pool, ticket, "RunList", "rl", "Parameter", NPage=str(len(ticket.parts)))
    if ticket.gang:
        run.set("PartIDKeys", "Run")
        for part in ticket.gang:
            _add_page(child(run, "RunList", Run=part.queue_entry_id, NPage="1"), part.item)
    else:
        _add_page(run, ticket.item)
    links.add("RunList", "rl", "Interpreting")
    mirror = {"MirrorAround": "MediaWidth"} if ticket.item.layer_stack.mirrored else {}
    interpreting = _resource(pool, ticket, "InterpretingParams", "ip", "Parameter", **mirror)
    if not all(part.item.may_rotate for part in ticket.parts):
        child(interpreting, "FitPolicy", RotatePolicy="NoRotate")
    links.add("InterpretingParams", "ip", "Interpreting")
    rendering = _resource(pool, ticket, "RenderingParams", "rp", "Parameter")
    resolution = " ".join(number(dpi) for dpi in ticket.print_mode.resolution_dpi)
    child(rendering, "ObjectResolution", Resolution=resolution, SourceObjects="All")
    links.add("RenderingParams", "rp", "Rendering")


def _add_page(run: Element, item: Item) -> None:
    """One item's page in a RunList."""
    artwork = item.artwork
    if artwork is None:
        return
    run.set("Pages", str(artwork.page))
    element = child(
        run, "LayoutElement", ElementType="Document", HasBleeds="true" if item.bleed_mm else "false"
    )
    file = child(element, "FileSpec", URL=artwork.url)
    if artwork.mime_type:
        file.set("MimeType", artwork.mime_type)


def separations(stack: LayerStack) -> tuple[str, ...]:
    """Separations in the order they are first laid down; the standard lists each once."""
    groups = {"colour": COLOURS, "white": ("White",), "clear": ("Clear",)}
    return tuple(dict.fromkeys(name for layer in stack.layers for name in groups[layer]))


def _add_colour(pool: Element, ticket: LaneTicket, links: _Links) -> None:
    names = separations(ticket.item.layer_stack)
    control = _resource(
        pool,
        ticket,
        "ColorantControl",
        "cc",
        "Parameter",
        ProcessColorModel="DeviceCMYK",
        ForceSeparations="true",
    )
    order = child(control, "ColorantOrder")
    for name in names:
        child(order, "SeparationSpec", Name=name)
    child(control, "ColorPoolRef", rRef=ticket.id("cp"))
    colours = _resource(pool, ticket, "ColorPool", "cp", "Parameter")
    for name in names:
        child(colours, "Color", Name=name, ColorType=COLOUR_TYPES.get(name, "Normal"), CMYK=CMYK[name])
    links.add("ColorantControl", "cc", "Interpreting", "DigitalPrinting")


def _add_printing(pool: Element, ticket: LaneTicket, links: _Links) -> None:
    lane, mode = ticket.lane, ticket.print_mode
    printing = _resource(
        pool, ticket, "DigitalPrintingParams", "dp", "Parameter",
        PrintingType="WebFed", Sides="OneSidedFront", SheetLay="Left",
        NonPrintableMarginLeft=number(points_from_mm(lane.margin_left_mm)),
        NonPrintableMarginRight=number(points_from_mm(lane.margin_right_mm)),
    )  # fmt: skip
    child(printing, "MediaRef", rRef=ticket.id("m"))
    own_child(
        printing,
        "PrintMode",
        Name=mode.named_feature or mode.id,
        Passes=str(mode.passes),
        Direction="OneWay" if mode.direction is Direction.ONE_WAY else "BothWays",
        LayerStack=" ".join(LAYER_WORDS[layer] for layer in ticket.item.layer_stack.layers),
    )
    links.add("DigitalPrintingParams", "dp", "DigitalPrinting")


def media_attributes(substrate: Substrate, press: Press) -> dict[str, str]:
    """The substrate as a JDF Media resource names it, in the words of the press's version."""
    names = substrate.jdf
    before = press.jdf_version < "1.7" and names.media_type_before_1_7
    attributes = {
        "ProductID": substrate.id,
        "MediaType": before or names.media_type,
        "MediaUnit": "Roll",
        "Thickness": number(substrate.thickness_um),
        "Weight": number(substrate.weight_g_m2),
        "Unit": "m2",
        "DescriptiveName": substrate.name,
        "InnerCoreDiameter": number(points_from_mm(substrate.core_inside_mm)),
        "OuterCoreDiameter": number(points_from_mm(substrate.core_outside_mm)),
    }
    if names.media_type_details:
        attributes["MediaTypeDetails"] = names.media_type_details
    if names.opacity:
        attributes["Opacity"] = names.opacity
    return attributes


def _add_consumables(pool: Element, ticket: LaneTicket, links: _Links) -> None:
    roll = ticket.roll
    dimension = f"{number(points_from_mm(roll.width_mm))} {number(points_from_mm(roll.length_left_m * 1000))}"
    media = _resource(
        pool, ticket, "Media", "m", "Consumable",
        Dimension=dimension, BatchID=roll.lot, LotControl="Controlled",
        **media_attributes(ticket.substrate, ticket.press),
    )  # fmt: skip
    child(media, "Location", LocationName=f"Roll-{ticket.lane.id}", LocID=module_id(ticket))
    links.add("Media", "m", "DigitalPrinting", Amount=number(ticket.estimate.roll_area_m2))
    ink = _resource(
        pool, ticket, "Ink", "ink", "Consumable", Family="InkJet", Unit="l", PartIDKeys="Separation"
    )
    link = links.add("Ink", "ink", "DigitalPrinting")
    amounts = child(link, "AmountPool")
    for name, amount_ml in ticket.estimate.ink_ml.items():
        child(ink, "Ink", Separation=name, InkName=name)
        part = child(amounts, "PartAmount", Amount=number(amount_ml / 1000))
        child(part, "Part", Separation=name)


def _add_output(pool: Element, ticket: LaneTicket, links: _Links) -> None:
    item = ticket.item
    output = _resource(
        pool, ticket, "Component", "c", "Quantity", Status="Unavailable",
        ComponentType="PartialProduct Web", PartIDKeys="Condition",
    )  # fmt: skip
    if not ticket.gang:  # the pieces of a gang differ; each has its ClipBox
        width, height = points_from_mm(item.finished_width_mm), points_from_mm(item.finished_height_mm)
        output.set("Dimensions", f"{number(width)} {number(height)} 0")
    if item.bleed_mm and not ticket.gang:
        output.set(own("Bleed"), number(points_from_mm(item.bleed_mm)))
    child(output, "Component", Condition="Good")
    child(output, "Component", Condition="Waste")
    links.add("Component", "c", "DigitalPrinting", usage="Output", Amount=str(item.quantity))
