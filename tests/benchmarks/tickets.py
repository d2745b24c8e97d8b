"""The load: orders as an MIS writes them, about 10 KB each, all different, shared out over every lane.

python -m tests.benchmarks.tickets FOLDER [COUNT]
"""

import sys
from dataclasses import dataclass
from pathlib import Path

from ticketbridge.jdf.writing import Element, as_bytes, child, jdf_root
from ticketbridge.vocabulary.units import number, points_from_mm

ARTWORK = "art/shared.pdf"
"""Where every ticket's artwork lies, relative to the drop folder."""

ARTWORK_BYTES = b"%PDF-1.4\n" + b"% Harbourlight Graphics\n" * 2000 + b"%%EOF\n"
"""Only ever hashed here, so it need not open in a viewer."""

FIELDS = 60
"""Fields that the MIS sends along for itself; they bring a ticket to 10 KB and about 115 elements."""

CONTACTS = ("Customer", "Delivery", "Billing", "Administrator")
INKS = ("Cyan", "Magenta", "Yellow", "Black")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of product. Each is wanted by a lane of the sample shop as it stands, without any change."""

    product: str
    stock_brand: str
    media_type: str
    details: str
    weight_g_m2: int
    thickness_um: int
    width_mm: int
    height_mm: int


KINDS = (
    Kind("Fair banner", "Harbour Banner 510", "Vinyl", "ScrimBanner", 510, 500, 1500, 800),
    Kind("Gallery print", "Harbour Canvas 380", "Textile", "Canvas", 380, 470, 1200, 900),
    Kind("Quay banner", "Harbour Banner 510", "Vinyl", "ScrimBanner", 510, 500, 2800, 1000),
    Kind("Stage backdrop", "Harbour Canvas 380", "Textile", "Canvas", 380, 470, 1400, 1100),
)


def ticket(order_number: int) -> bytes:
    """One order. The number makes its JobID; quantity, size and kind follow from it too."""
    kind = KINDS[order_number % len(KINDS)]
    job_id = f"HL-B{order_number:06d}"
    root = jdf_root(
        "JDF", ID="n1", JobID=job_id, JobPartID="1", Type="Product", Status="Waiting",
        Activation="Active", Version="1.5", MaxVersion="1.7", DescriptiveName=f"{kind.product} {order_number}",
    )  # fmt: skip
    child(
        root, "Comment", Name="JobDescription"
    ).text = f"{kind.product}, order {job_id}, for the summer season."
    for field in range(FIELDS):
        value = f"as typed at the order desk, {order_number:06d} {field:02d}"
        child(root, "GeneralID", IDUsage=f"OrderDeskField{field:02d}", IDValue=value, DataType="string")
    audits = child(root, "AuditPool")
    child(
        audits, "Created", ID="a1", AgentName="Harbourlight order desk", TimeStamp="2026-11-20T09:15:00+00:00"
    )
    pool, links = child(root, "ResourcePool"), child(root, "ResourceLinkPool")
    _add_customer(pool, links)
    _add_intents(pool, links, kind, order_number)
    child(pool, "Component", ID="c1", Class="Quantity", Status="Unavailable", ComponentType="FinalProduct")
    child(links, "ComponentLink", Usage="Output", rRef="c1", Amount=str(1 + order_number % 3))
    return as_bytes(root)


def _resource(pool: Element, links: Element, name: str, id_: str, class_: str, **attributes: str) -> Element:
    child(links, f"{name}Link", Usage="Input", rRef=id_)
    return child(pool, name, ID=id_, Class=class_, Status="Available", **attributes)


def _add_customer(pool: Element, links: Element) -> None:
    _resource(
        pool, links, "NodeInfo", "ni", "Parameter", LastEnd="2099-12-31T12:00:00+00:00", JobPriority="60"
    )
    customer = _resource(pool, links, "CustomerInfo", "ci", "Parameter", CustomerID="C-0021")
    for role in CONTACTS:
        child(customer, "ContactRef", rRef=f"ct{role}")
        contact = child(
            pool, "Contact", ID=f"ct{role}", Class="Parameter", Status="Available", ContactTypes=role
        )
        child(contact, "Company", OrganizationName="Quillmoor Summer Fair")
        child(contact, "Person", FirstName="Merle", FamilyName=f"Ashdown ({role})")


def _add_intents(pool: Element, links: Element, kind: Kind, order_number: int) -> None:
    height_mm = kind.height_mm + order_number % 97
    size = f"{number(points_from_mm(kind.width_mm))} {number(points_from_mm(height_mm))} 0"
    layout = _resource(pool, links, "LayoutIntent", "li", "Intent", Sides="OneSided", FolioCount="Flat")
    child(layout, "FinishedDimensions", DataType="ShapeSpan", Preferred=size)
    media = _resource(pool, links, "MediaIntent", "mi", "Intent")
    child(media, "StockBrand", DataType="StringSpan", Preferred=kind.stock_brand)
    child(media, "MediaType", DataType="EnumerationSpan", Preferred=kind.media_type)
    child(media, "MediaTypeDetails", DataType="NameSpan", Preferred=kind.details)
    child(media, "Weight", DataType="NumberSpan", Preferred=str(kind.weight_g_m2))
    child(media, "Thickness", DataType="NumberSpan", Preferred=str(kind.thickness_um))
    child(media, "Opacity", DataType="EnumerationSpan", Preferred="Opaque")
    colours = _resource(pool, links, "ColorIntent", "co", "Intent")
    used = child(colours, "ColorsUsed")
    for ink in INKS:
        child(used, "SeparationSpec", Name=ink)
    production = _resource(pool, links, "ProductionIntent", "pi", "Intent")
    child(production, "PrintPreference", DataType="EnumerationSpan", Preferred="Balanced")
    artwork = _resource(pool, links, "ArtDeliveryIntent", "ai", "Intent")
    delivery = child(artwork, "ArtDelivery", ArtDeliveryType="DigitalNetwork")
    element = child(child(delivery, "RunList", Pages="0"), "LayoutElement")
    child(element, "FileSpec", URL=ARTWORK, MimeType="application/pdf")


def write_tickets(folder: Path, first: int, count: int) -> None:
    """Tickets ``first`` to ``first + count - 1`` as files of that folder, to be renamed from there."""
    folder.mkdir(parents=True, exist_ok=True)
    for order_number in range(first, first + count):
        (folder / f"order-{order_number:06d}.jdf").write_bytes(ticket(order_number))


def write_artwork(drop: Path) -> None:
    """The artwork that all tickets share, where they say it is."""
    path = drop / ARTWORK
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(ARTWORK_BYTES)


if __name__ == "__main__":
    write_tickets(Path(sys.argv[1]), 1, int(sys.argv[2]) if sys.argv[2:] else 10)
