"""What the customers of Harbourlight Graphics order in the demo, and what ought to become of it."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from ticketbridge.jdf.writing import Element, as_bytes, child, jdf_root
from ticketbridge.vocabulary.names import own
from ticketbridge.vocabulary.units import number, points_from_mm

ORDERED_AT: Final = "2026-11-20T09:15:00+00:00"
DUE: Final = "2099-12-31T12:00:00+00:00"
"""Far off, so that the demo tells the same story on any day."""


class Form(StrEnum):
    """How an order comes."""

    INTENT = "what is wanted"
    PROCESS = "how to print it"
    LINES = "order lines"
    ARTWORK = "artwork alone"


@dataclass(frozen=True, slots=True)
class DemoOrder:
    """One order of the demo.

    Attributes:
        file_name: Name of the dropped file; of order lines, several orders share one.
        becomes: ``accepted``, ``repeated`` or ``refused``.
        device_id: The lane it should go to, where it is accepted.
        story: What it shows, for the table.
        raw: The file's bytes where they are no proper ticket.
        form: How it comes; it is dropped where the shop takes that form.
        replaced: Whether a later file changes it while the bridge still holds it, so that it is never printed.
    """

    file_name: str
    job_id: str
    customer: str
    product: str
    width_mm: float
    height_mm: float
    quantity: int
    stock_brand: str
    becomes: str
    story: str
    device_id: str | None = None
    separations: tuple[str, ...] = ("Cyan", "Magenta", "Yellow", "Black")
    layer_stack: str | None = None
    panels: str | None = None
    print_preference: str = "Balanced"
    bleed_mm: float = 0
    raw: bytes | None = None
    form: Form = Form.INTENT
    replaced: bool = False

    @property
    def source(self) -> str:
        """The source that it is dropped at."""
        return {Form.LINES: "counter", Form.ARTWORK: "pdf-drop"}.get(self.form, "mis")

    @property
    def printed(self) -> bool:
        """Whether it is printed in the end."""
        return self.becomes == "accepted" and not self.replaced


COLOURS: Final = ("Cyan", "Magenta", "Yellow", "Black")
WITH_WHITE: Final = (*COLOURS, "White")

BANNER: Final = DemoOrder(
    "01-fair-banner.jdf", "HL-24117", "Quillmoor Summer Fair", "Fair banner", 1450, 1450, 3,
    "Harbour Banner 510", "accepted", "narrow, lane A of press 1", "HL-P1-A",
)  # fmt: skip

ORDERS: Final = (
    BANNER,
    DemoOrder(
        "02-gallery-canvas.jdf", "HL-24118", "Saltmarsh Gallery", "Canvas prints", 1200, 1500, 3,
        "Harbour Canvas 380", "accepted", "another customer beside it, lane B", "HL-P1-B",
    ),
    DemoOrder(
        "03-quay-banner.jdf", "HL-24119", "Brackwater Rowing Club", "Quay banner", 2800, 2000, 1,
        "Harbour Banner 510", "accepted", "too wide for a narrow lane", "HL-P2-W", bleed_mm=5,
    ),
    DemoOrder(
        "04-tower-banner.jdf", "HL-24120", "Tidewatch Museum", "Tower banner", 5000, 4200, 1,
        "Harbour Banner 510", "accepted", "too wide for the roll: two panels, one lane, in order", "HL-P2-W",
    ),
    DemoOrder(
        "05-window.jdf", "HL-24121", "Lantern Street Bakery", "Window film", 600, 800, 4,
        "Harbour Window Clear", "accepted", "white first, colour on it; needs a roll change", None,
        separations=WITH_WHITE, layer_stack="White Color",
    ),
    DemoOrder(
        "06-table-signs.jdf", "HL-24122", "Quillmoor Summer Fair", "Table signs", 297, 420, 12,
        "Harbour Banner 510", "accepted", "five across, the last row partly filled", None,
    ),
    DemoOrder(
        "07-board.jdf", "HL-24123", "Saltmarsh Gallery", "Rigid signs", 800, 600, 5,
        "Harbour Board 5", "refused", "rigid board on a roll press",
    ),
    DemoOrder(
        "08-unknown-stock.jdf", "HL-24124", "Tidewatch Museum", "Mystery film", 800, 600, 1,
        "Moonbeam Film 9", "refused", "a substrate that nobody knows here",
    ),
    DemoOrder(
        "09-broken.jdf", "", "", "", 0, 0, 0, "", "refused", "broken XML",
        raw=b'<?xml version="1.0"?>\n<JDF ID="n1" Type="Product" Status="Waiting" JobID="HL-24125">\n'
        b"  <ResourcePool>\n    <Media ID=x/>\n  </ResourcePool>\n</JDF>\n",
    ),
    DemoOrder(
        "10-fair-banner-again.jdf", "HL-24117", "Quillmoor Summer Fair", "Fair banner", 1450, 1450, 3,
        "Harbour Banner 510", "repeated", "the same order sent twice",
    ),
    DemoOrder(
        "11-silver-letters.jdf", "HL-24126", "Lantern Street Bakery", "Silver letters", 500, 700, 2,
        "Harbour Silver", "accepted", "white underprint on metallised film", None,
        separations=WITH_WHITE, layer_stack="White Color",
    ),
    DemoOrder(
        "12-light-box.jdf", "HL-24127", "Tidewatch Museum", "Light box", 900, 1200, 1,
        "Harbour Backlit 210", "accepted", "day and night: colour, white, colour", None,
        separations=WITH_WHITE, layer_stack="Color White Color",
    ),
    DemoOrder(
        "13-scaffold-mesh.jdf", "HL-24128", "Brackwater Rowing Club", "Scaffold mesh", 1500, 2000, 1,
        "Harbour Mesh 270", "accepted", "open mesh, over the ink-catching underlay", None,
    ),
    DemoOrder(
        "14-mural.jdf", "HL-24129", "Saltmarsh Gallery", "Mural", 2900, 2400, 1,
        "Harbour Wall 300", "accepted", "a wall in numbered drops, each at its own phase", None,
    ),
    DemoOrder(
        "15-one-piece.jdf", "HL-24130", "Tidewatch Museum", "Tower banner in one piece", 5000, 4200, 1,
        "Harbour Banner 510", "refused", "wider than any lane, and panels forbidden", panels="forbidden",
    ),
    DemoOrder(
        "16-varnish.jdf", "HL-24131", "Saltmarsh Gallery", "Varnished print", 600, 800, 1,
        "Harbour Canvas 380", "refused", "clear asked for, and no press has it",
        separations=(*COLOURS, "Clear"),
    ),
    DemoOrder(
        "17-bomb.jdf", "", "", "", 0, 0, 0, "", "refused", "an entity bomb",
        raw=b'<?xml version="1.0"?>\n<!DOCTYPE JDF [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">'
        b'<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]>\n<JDF DescriptiveName="&c;"/>\n',
    ),
    DemoOrder(
        "18-wide-light-box.jdf", "HL-24132", "Tidewatch Museum", "Light box in one piece", 2900, 2000, 1,
        "Harbour Backlit 210", "refused", "white asked for, and the press that is wide enough has none",
        separations=WITH_WHITE, layer_stack="Color White Color", panels="forbidden",
    ),
    DemoOrder(
        "19-regatta-poster.jdf", "HL-24133", "Brackwater Rowing Club", "Regatta posters", 600, 900, 4,
        "Harbour Vinyl White", "accepted", "waits for a roll that the shop does not have", replaced=True,
    ),
    DemoOrder(
        "20-regatta-poster-changed.jdf", "HL-24133", "Brackwater Rowing Club", "Regatta posters", 600, 900, 6,
        "Harbour Blueback 115", "accepted", "a revision: more of them, on paper; it takes the place of 19",
    ),
    DemoOrder(
        "21-stage-banner.jdf", "HL-24134", "Quillmoor Summer Fair", "Stage banner", 1200, 800, 2,
        "BAN510", "accepted", "a process ticket: how to print it, on which substrate", form=Form.PROCESS,
    ),
    DemoOrder(
        "22-counter.csv", "HL-24135", "Lantern Street Bakery", "Pavement banner", 900, 600, 2,
        "Harbour Banner 510", "accepted", "order lines: one order of a file", form=Form.LINES,
    ),
    DemoOrder(
        "22-counter.csv", "HL-24136", "Saltmarsh Gallery", "Door signs", 300, 200, 4,
        "Harbour Board 5", "refused", "order lines: rigid board, and the others are taken", form=Form.LINES,
    ),
    DemoOrder(
        "HL-24137_2x_Harbour flag.pdf", "HL-24137", "", "Harbour flag", 1500, 1000, 2,
        "Harbour Banner 510", "accepted", "artwork alone: its name and its page are the order", form=Form.ARTWORK,
    ),
)  # fmt: skip
"""Twenty-three files: what is wanted, how to print it, order lines, artwork, and two that are no tickets at all."""

FILES: Final = {order.file_name: order for order in ORDERS}
"""Each file once, with an order of it."""


def ticket(order: DemoOrder) -> bytes:
    """The order as the MIS writes it: JDF product intent, version 1.5."""
    if order.raw is not None:
        return order.raw
    root = jdf_root(
        "JDF", xsi_type="Product", ID="n1", JobID=order.job_id, JobPartID="1", Type="Product", Status="Waiting",
        Activation="Active", Version="1.5", MaxVersion="1.7", DescriptiveName=order.product,
    )  # fmt: skip
    audits = child(root, "AuditPool")
    child(audits, "Created", ID="a1", AgentName="Harbourlight order desk", TimeStamp=ORDERED_AT)
    pool, links = child(root, "ResourcePool"), child(root, "ResourceLinkPool")

    def resource(name: str, id_: str, class_: str, status: str = "Available", **attributes: str) -> Element:
        made = child(pool, name, ID=id_, Class=class_, Status=status, **attributes)
        if name not in ("Contact", "Component"):
            child(links, f"{name}Link", Usage="Input", rRef=id_)
        return made

    resource("NodeInfo", "ni", "Parameter", LastEnd=DUE, JobPriority="60")
    customer = resource("CustomerInfo", "ci", "Parameter", CustomerID=f"C-{len(order.customer):04d}")
    child(customer, "ContactRef", rRef="ct")
    contact = resource("Contact", "ct", "Parameter", ContactTypes="Customer")
    child(contact, "Company", OrganizationName=order.customer)
    size = f"{number(points_from_mm(order.width_mm))} {number(points_from_mm(order.height_mm))} 0"
    layout = resource("LayoutIntent", "li", "Intent", Sides="OneSided", FolioCount="Flat")
    child(layout, "FinishedDimensions", DataType="ShapeSpan", Preferred=size)
    if order.panels:
        layout.set(own("Panels"), order.panels)
    if order.bleed_mm:
        child(layout, "Bleed", DataType="NumberSpan", Preferred=number(points_from_mm(order.bleed_mm)))
    media = resource("MediaIntent", "mi", "Intent")
    child(media, "StockBrand", DataType="StringSpan", Preferred=order.stock_brand)
    colours = resource("ColorIntent", "co", "Intent")
    if order.layer_stack:
        colours.set(own("LayerStack"), order.layer_stack)
    used = child(colours, "ColorsUsed")
    for name in order.separations:
        child(used, "SeparationSpec", Name=name)
    production = resource("ProductionIntent", "pi", "Intent")
    child(production, "PrintPreference", DataType="EnumerationSpan", Preferred=order.print_preference)
    artwork = resource("ArtDeliveryIntent", "ai", "Intent")
    delivery = child(artwork, "ArtDelivery", ArtDeliveryType="DigitalNetwork")
    element = child(child(delivery, "RunList", Pages="0"), "LayoutElement")
    child(element, "FileSpec", URL=f"art/{order.job_id}.pdf", MimeType="application/pdf")
    resource("Component", "c1", "Quantity", "Unavailable", ComponentType="FinalProduct")
    child(links, "ComponentLink", Usage="Output", rRef="c1", Amount=str(order.quantity))
    return as_bytes(root)


def artwork(order: DemoOrder) -> bytes:
    """A one-page PDF of the printed size with one filled rectangle; enough to be a file that a press could open."""
    width_pt = number(points_from_mm(order.width_mm + 2 * order.bleed_mm))
    height_pt = number(points_from_mm(order.height_mm + 2 * order.bleed_mm))
    content = f"0.6 0.1 0 0.1 k 0 0 {width_pt} {height_pt} re f".encode()
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {width_pt} {height_pt}] /Contents 4 0 R >>".encode(),
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content),
    ]
    data, offsets = b"%PDF-1.4\n", []
    for place, body in enumerate(objects, 1):
        offsets.append(len(data))
        data += b"%d 0 obj\n%s\nendobj\n" % (place, body)
    table = b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
    start = len(data)
    return data + (
        b"xref\n0 5\n0000000000 65535 f \n%strailer << /Size 5 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n"
        % (table, start)
    )
