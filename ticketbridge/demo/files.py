"""The demo's files that are no product intent: a process ticket, order lines."""

from typing import Final

from ticketbridge.demo.orders import DUE, ORDERS, DemoOrder, Form, artwork, ticket
from ticketbridge.jdf.writing import Element, as_bytes, child, jdf_root
from ticketbridge.vocabulary.units import number, points_from_mm

HEADINGS: Final = "Order;Customer;Due;Product;Width cm;Height cm;Pieces;Material;Quality;Artwork"
"""As ``csv`` of the source ``counter`` names them in the sample shop."""


def dropped(order: DemoOrder) -> bytes:
    """The file that brings an order, whole: order lines bring all the orders of their file."""
    match order.form:
        case Form.INTENT:
            return ticket(order)
        case Form.PROCESS:
            return process_ticket(order)
        case Form.LINES:
            lines = [_line(one) for one in ORDERS if one.file_name == order.file_name]
            return "\r\n".join([HEADINGS, *lines, ""]).encode()
        case Form.ARTWORK:
            return artwork(order)


def process_ticket(order: DemoOrder) -> bytes:
    """The order as a ticket that says how to print it: one Combined node of JDF 1.5."""
    root = jdf_root(
        "JDF", xsi_type="Combined", ID="n1", JobID=order.job_id, JobPartID="1", Type="Combined",
        Types="Interpreting Rendering DigitalPrinting", Status="Waiting", Activation="Active", Version="1.5",
        MaxVersion="1.7", DescriptiveName=order.product,
    )  # fmt: skip
    pool, links = child(root, "ResourcePool"), child(root, "ResourceLinkPool")

    def resource(name: str, id_: str, class_: str, status: str = "Available", **attributes: str) -> Element:
        return child(pool, name, ID=id_, Class=class_, Status=status, **attributes)

    resource("NodeInfo", "ni", "Parameter", LastEnd=DUE, JobPriority="60")
    resource("Media", "m", "Consumable", MediaUnit="Roll", ProductID=order.stock_brand)
    element = child(resource("RunList", "rl", "Parameter", Pages="0"), "LayoutElement")
    child(element, "FileSpec", URL=f"art/{order.job_id}.pdf", MimeType="application/pdf")
    resource("DigitalPrintingParams", "dp", "Parameter", PrintingType="WebFed", Sides="OneSidedFront")
    size = f"{number(points_from_mm(order.width_mm))} {number(points_from_mm(order.height_mm))} 0"
    resource("Component", "c1", "Quantity", "Unavailable", ComponentType="FinalProduct", Dimensions=size)
    child(links, "NodeInfoLink", Usage="Input", rRef="ni")
    child(links, "RunListLink", Usage="Input", rRef="rl", CombinedProcessIndex="0")
    for name, id_ in (("DigitalPrintingParams", "dp"), ("Media", "m")):
        child(links, f"{name}Link", Usage="Input", rRef=id_, CombinedProcessIndex="2")
    child(links, "ComponentLink", Usage="Output", rRef="c1", Amount=str(order.quantity))
    return as_bytes(root)


def _line(order: DemoOrder) -> str:
    """One order line as a spreadsheet program in the shop's language writes it."""
    width_cm, height_cm = (f"{mm / 10:g}".replace(".", ",") for mm in (order.width_mm, order.height_mm))
    cells = (
        order.job_id, order.customer, "31.12.2099", order.product, width_cm, height_cm, str(order.quantity),
        order.stock_brand, order.print_preference, f"art/{order.job_id}.pdf",
    )  # fmt: skip
    return ";".join(cells)
