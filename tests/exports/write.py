"""Writes the six exports: ``python -m tests.exports.write`` puts the samples into ``schemas/exports``.

Each writer stands for an MIS of its own, with words and units of its own. A writer says only what its MIS can say;
``WORDS`` are what these MISs call the shop's substrates.
"""

import csv
import io
import json
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Final

import openpyxl
from lxml import etree

from tests.exports.orders import TWELVE
from ticketbridge.jdf.writing import Element, as_bytes, child, jdf_root
from ticketbridge.model.finishing import Edge
from ticketbridge.model.order import Item, Order, Panels
from ticketbridge.model.substrate import LayerStack
from ticketbridge.vocabulary.names import own
from ticketbridge.vocabulary.units import number, points_from_mm

HOME: Final = Path(__file__).resolve().parents[2] / "schemas" / "exports"
COLOURS: Final = ("Cyan", "Magenta", "Yellow", "Black")

WORDS: Final[dict[str, dict[str, str]]] = {
    "BAN510": {"estimating": "S-510", "web-shop": "BNR/510/320", "branch": "Bannerstoff 510 g", "reseller": "Banner 510"},
    "MESH270": {"estimating": "S-270", "web-shop": "MSH/270/320", "branch": "Netzgewebe", "reseller": "Mesh"},
    "BACKLIT210": {"estimating": "S-210", "web-shop": "BLT/210/152", "branch": "Leuchtkastenfolie", "reseller": "Backlit"},
    "WINDOW-CLEAR": {"estimating": "S-230C", "web-shop": "WIN/CLR", "branch": "Fensterfolie klar", "reseller": "Window clear"},
    "WALL300": {"estimating": "S-300W", "web-shop": "WAL/300/100", "branch": "Tapete", "reseller": "Wall"},
    "CANVAS380": {"estimating": "S-380", "web-shop": "CNV/380/160", "branch": "Leinwand", "reseller": "Canvas"},
    "FLAG115": {"estimating": "S-115F", "web-shop": "FLG/115/320", "branch": "Fahnenstoff", "reseller": "Flag"},
    "VINYL-WHITE": {"estimating": "S-240", "web-shop": "VIN/WHT", "branch": "Klebefolie weiß", "reseller": "Vinyl white"},
    "METAL-SILVER": {"estimating": "S-220M", "web-shop": "MET/SLV", "branch": "Silberfolie", "reseller": "Silver"},
    "BLUEBACK115": {"estimating": "S-115P", "web-shop": "PPR/115/160", "branch": "Plakatpapier", "reseller": "Blueback"},
}  # fmt: skip

INTENT_MEDIA: Final[dict[str, dict[str, str]]] = {
    "BAN510": {"MediaType": "Vinyl", "MediaTypeDetails": "ScrimBanner", "Weight": "510 480~540"},
    "MESH270": {"MediaTypeDetails": "Mesh", "Weight": "270 255~290"},
    "BACKLIT210": {"MediaTypeDetails": "Backlit", "Thickness": "210 200~220"},
    "WINDOW-CLEAR": {"MediaType": "Transparency", "Opacity": "Transparent"},
    "WALL300": {"MediaTypeDetails": "WallPaper"},
    "CANVAS380": {"MediaType": "Textile", "MediaTypeDetails": "Canvas"},
    "FLAG115": {"MediaType": "Textile", "MediaTypeDetails": "Cloth", "Weight": "115 100~120"},
    "VINYL-WHITE": {"MediaType": "SelfAdhesive"},
    "METAL-SILVER": {"StockType": "SilverFilm"},
    "BLUEBACK115": {"MediaTypeDetails": "Blueback"},
}
"""What the order desk says of each substrate in an intent: a wish, and after it the range that it accepts."""

QUICK, FINE = ("fast-4",), ("fine-8",)
NEEDS_NO_WORD: Final = {
    "banner-6": "Balanced",
    "backlit-12": "Balanced",
    "white-8": "Balanced",
    "day-night-12": "Balanced",
}
"""Print modes that the tables choose without a wish for speed or quality."""


def preference(item: Item) -> str:
    """The wish that leads to the item's print mode by the tables of ``mis.yaml``."""
    if item.print_mode == "fast-4":
        return "Fastest"
    return "HighestQuality" if item.print_mode == "fine-8" else "Balanced"


def own_layers(item: Item) -> str:
    """The layers as a ticket has them."""
    words = {"colour": "Color", "white": "White", "clear": "Clear"}
    return " ".join(words[layer] for layer in item.layer_stack.layers)


# --- plain XML with two namespaces, orders with lines, lines with parts; centimetres ------------------------------

ORDERS_NS, PRINT_NS = "urn:harbourlight:orders", "urn:harbourlight:print"


def estimating(orders: Sequence[Order]) -> bytes:
    """The estimating desk: two items that differ in nothing but size, artwork and pieces are parts of one line."""
    root = etree.Element(f"{{{ORDERS_NS}}}export", nsmap={"o": ORDERS_NS, "p": PRINT_NS})

    def below(parent: Any, name: str, text: str | None = None, ns: str = ORDERS_NS, **attributes: str) -> Any:
        made = etree.SubElement(parent, f"{{{ns}}}{name}", attributes)
        made.text = text
        return made

    for order in orders:
        node = below(root, "order", number=order.job_id, rush="Y" if order.priority == 80 else "N")
        below(node, "title", order.descriptive_name)
        customer = below(node, "customer", ref=order.customer_id or "")
        below(customer, "name", order.customer_name)
        assert order.due is not None
        below(node, "wanted", order.due.isoformat())
        lines = below(node, "lines")
        last: tuple[Item, Any] | None = None
        for item in order.items:
            if last is None or not _alike(last[0], item):
                line = below(lines, "line")
                _spec(below, line, item)
                last = item, line
            part = below(last[1], "part", None, PRINT_NS, id=item.job_part_id, qty=str(item.quantity))
            below(part, "caption", item.descriptive_name, PRINT_NS)
            width_cm, height_cm = (
                number(side / 10) for side in (item.finished_width_mm, item.finished_height_mm)
            )
            below(part, "size", f"{width_cm} x {height_cm}", PRINT_NS)
            assert item.artwork is not None
            below(part, "file", item.artwork.url, PRINT_NS)
    return etree.tostring(root, pretty_print=True, xml_declaration=True, encoding="UTF-8")


def _spec(below: Callable[..., Any], line: Any, item: Item) -> None:
    below(line, "stock", WORDS[item.substrate]["estimating"])
    grade = {"Fastest": "C", "Balanced": "B", "HighestQuality": "A"}[preference(item)]
    spec = below(line, "spec", None, PRINT_NS, grade=grade, bleed=number(item.bleed_mm / 10))
    if not item.may_rotate:
        spec.set("grain", "fixed")
    if item.layer_stack is not LayerStack.COLOUR:
        below(spec, "layers", item.layer_stack.value, PRINT_NS)
    if item.panels is not Panels.ALLOWED:
        below(spec, "join", item.panels.value, PRINT_NS)
    finishing = item.finishing
    if finishing.hem:
        edges = " ".join(finishing.hem.edges)
        below(spec, "finish", None, PRINT_NS, kind="hem", size=number(finishing.hem.width_mm), edges=edges)
    if finishing.pole_pocket:
        edges = " ".join(finishing.pole_pocket.edges)
        below(
            spec,
            "finish",
            None,
            PRINT_NS,
            kind="pocket",
            size=number(finishing.pole_pocket.flat_mm),
            edges=edges,
        )
    if finishing.eyelets:
        below(spec, "finish", None, PRINT_NS, kind="eyelets", size=number(finishing.eyelets.spacing_mm))
    if item.pattern and item.pattern.repeat_mm:
        below(spec, "repeat", number(item.pattern.repeat_mm), PRINT_NS, match=item.pattern.match.value)


def _alike(one: Item, other: Item) -> bool:
    same = {
        "job_part_id",
        "descriptive_name",
        "finished_width_mm",
        "finished_height_mm",
        "quantity",
        "artwork",
    }
    return one.model_dump(exclude=same) == other.model_dump(exclude=same)


# --- JSON with items in arrays; millimetres -----------------------------------------------------------------------


def web_shop(orders: Sequence[Order]) -> bytes:
    """The web shop: numbers as numbers, yes and no as true and false, nothing said that is usual."""
    return json.dumps(
        {"orders": [_json_order(order) for order in orders]}, indent=1, ensure_ascii=False
    ).encode()


def _json_order(order: Order) -> dict[str, Any]:
    assert order.due is not None
    return {
        "id": order.job_id,
        "title": order.descriptive_name,
        "express": order.priority == 80,
        "deliver_by": order.due.isoformat(),
        "buyer": {"account": order.customer_id, "name": order.customer_name},
        "items": [_json_item(item) for item in order.items],
    }


def _json_item(item: Item) -> dict[str, Any]:
    assert item.artwork is not None
    made: dict[str, Any] = {
        "pos": item.job_part_id,
        "label": item.descriptive_name,
        "pieces": item.quantity,
        "size": {"w": item.finished_width_mm, "h": item.finished_height_mm, "bleed": item.bleed_mm},
        "media": {"sku": WORDS[item.substrate]["web-shop"]},
        "print": {"speed": {"Fastest": 3, "Balanced": 2, "HighestQuality": 1}[preference(item)]},
        "file": {"href": item.artwork.url, "page": item.artwork.page},
    }
    if item.layer_stack is not LayerStack.COLOUR:
        made["print"]["layers"] = item.layer_stack.value
    if not item.may_rotate:
        made["print"]["turn"] = False
    if item.panels is not Panels.ALLOWED:
        made["panels"] = {"wanted": "split", "forbidden": "one piece"}[item.panels.value]
    finishing = item.finishing
    if finishing.hem:
        made["hem"] = " ".join((number(finishing.hem.width_mm), *finishing.hem.edges))
    if finishing.pole_pocket:
        made["pocket"] = " ".join((number(finishing.pole_pocket.flat_mm), *finishing.pole_pocket.edges))
    if finishing.eyelets:
        made["eyelets"] = {"every": finishing.eyelets.spacing_mm}
    if item.pattern and item.pattern.repeat_mm:
        made["repeat"] = {"match": item.pattern.match.value, "height": item.pattern.repeat_mm}
    return made


# --- CSV, semicolons, Windows-1252, decimal commas, German dates; centimetres -------------------------------------

BRANCH_HEADINGS: Final = (
    "Auftrag", "Bezeichnung", "Kundennr", "Kunde", "Liefertermin", "Eilt", "Pos", "Text", "Breite cm", "Höhe cm", "Beschnitt mm",
    "Stück", "Material", "Qualität", "Weiß", "Drehen", "Bahnen", "Saum mm", "Hohlsaum", "Ösen alle cm", "Rapport", "Rapport mm",
    "Datei",
)  # fmt: skip
GERMAN_EDGES: Final = {Edge.TOP: "oben", Edge.RIGHT: "rechts", Edge.BOTTOM: "unten", Edge.LEFT: "links"}
GERMAN_LAYERS: Final = {
    LayerStack.COLOUR: "", LayerStack.WHITE_COLOUR: "darunter", LayerStack.COLOUR_WHITE: "dahinter",
    LayerStack.COLOUR_WHITE_COLOUR: "dazwischen",
}  # fmt: skip


def branch(orders: Sequence[Order]) -> bytes:
    """The branch office: a table that a German office program saves."""
    text = io.StringIO()
    writer = csv.writer(text, delimiter=";", lineterminator="\r\n")
    writer.writerow(BRANCH_HEADINGS)
    for order in orders:
        for item in order.items:
            writer.writerow(_branch_line(order, item))
    return text.getvalue().encode("cp1252")


def _branch_line(order: Order, item: Item) -> list[str]:
    assert order.due is not None
    assert item.artwork is not None
    finishing, pattern = item.finishing, item.pattern
    pocket = finishing.pole_pocket
    return [
        order.job_id, order.descriptive_name, order.customer_id or "", order.customer_name or "",
        order.due.strftime("%d.%m.%Y"), "ja" if order.priority == 80 else "nein", item.job_part_id, item.descriptive_name,
        comma(item.finished_width_mm / 10), comma(item.finished_height_mm / 10), comma(item.bleed_mm), str(item.quantity),
        WORDS[item.substrate]["branch"],
        {"Fastest": "schnell", "Balanced": "normal", "HighestQuality": "fein"}[preference(item)],
        GERMAN_LAYERS[item.layer_stack], "ja" if item.may_rotate else "nein",
        {Panels.ALLOWED: "", Panels.WANTED: "ja", Panels.FORBIDDEN: "nein"}[item.panels],
        comma(finishing.hem.width_mm) if finishing.hem else "",
        f"{GERMAN_EDGES[pocket.edges[0]]} {comma(pocket.flat_mm / 10)} cm" if pocket else "",
        comma(finishing.eyelets.spacing_mm / 10) if finishing.eyelets else "",
        {"straight": "gerade", "half-drop": "versetzt"}.get(pattern.match.value, "") if pattern else "",
        comma(pattern.repeat_mm) if pattern and pattern.repeat_mm else "",
        item.artwork.url,
    ]  # fmt: skip


def comma(value: float) -> str:
    """A number with a decimal comma."""
    return number(value).replace(".", ",")


# --- XLSX with merged heading rows; metres ------------------------------------------------------------------------

RESELLER_HEADINGS: Final = (
    ("Order", ("No", "Title", "Wanted by", "Rush")),
    ("Customer", ("No", "Name")),
    ("Item", ("No", "Name", "Pieces")),
    ("Size m", ("Width", "Height")),
    ("Print", ("Bleed mm", "Material", "Quality", "White", "Keep upright", "Joining")),
    ("Finish", ("Hem mm", "Pocket", "Eyelets every mm", "Repeat mm", "Half drop")),
    ("Artwork", ("File",)),
)


def reseller(orders: Sequence[Order]) -> bytes:
    """The reseller: a workbook with a title, two lines of headings with merged cells, typed cells."""
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.title = "Orders"
    sheet["A1"] = "Orders for Harbourlight Graphics"
    column = 1
    for group, names in RESELLER_HEADINGS:
        sheet.cell(3, column, group)
        if len(names) > 1:
            sheet.merge_cells(start_row=3, end_row=3, start_column=column, end_column=column + len(names) - 1)
        for place, name in enumerate(names):
            sheet.cell(4, column + place, name)
        column += len(names)
    for line, (order, item) in enumerate(((o, i) for o in orders for i in o.items), start=5):
        for place, value in enumerate(_reseller_line(order, item), start=1):
            cell = sheet.cell(line, place, value)
            if isinstance(value, str):
                cell.data_type = "s"
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def _reseller_line(order: Order, item: Item) -> list[object]:
    assert order.due is not None
    assert item.artwork is not None
    finishing, pattern = item.finishing, item.pattern
    pocket = finishing.pole_pocket
    return [
        order.job_id, order.descriptive_name, datetime(order.due.year, order.due.month, order.due.day), order.priority == 80,
        order.customer_id, order.customer_name, item.job_part_id, item.descriptive_name, item.quantity,
        item.finished_width_mm / 1000, item.finished_height_mm / 1000, item.bleed_mm, WORDS[item.substrate]["reseller"],
        {"Fastest": "*", "Balanced": "**", "HighestQuality": "***"}[preference(item)],
        {LayerStack.COLOUR: None, LayerStack.WHITE_COLOUR: "below", LayerStack.COLOUR_WHITE: "behind",
         LayerStack.COLOUR_WHITE_COLOUR: "between"}[item.layer_stack],
        not item.may_rotate, {Panels.ALLOWED: None, Panels.WANTED: "join", Panels.FORBIDDEN: "do not join"}[item.panels],
        finishing.hem.width_mm if finishing.hem else None,
        " ".join((number(pocket.flat_mm), *pocket.edges)) if pocket else None,
        finishing.eyelets.spacing_mm if finishing.eyelets else None, pattern.repeat_mm if pattern else None,
        pattern is not None and pattern.match.value == "half-drop", item.artwork.url,
    ]  # fmt: skip


# --- JDF product intent with ranges and preferred values; one ticket an order -------------------------------------


def order_desk(order: Order) -> bytes:
    """The order desk: JDF 1.7 product intent. What is wished stands as Preferred, what is accepted as Range."""
    many = len(order.items) > 1
    root = _jdf_root(order, "Product", None if many else order.items[0])
    pool, links = _customer(root, order)
    if many:
        child(
            pool, "Component", ID="all", Class="Quantity", Status="Unavailable", ComponentType="FinalProduct"
        )
        child(links, "ComponentLink", Usage="Output", rRef="all", Amount="1")
    for index, item in enumerate(order.items):
        node = child(root, "JDF", ID=f"n{index}", Type="Product", Status="Waiting", JobPartID=item.job_part_id,
                     DescriptiveName=item.descriptive_name) if many else root  # fmt: skip
        own_pool = child(node, "ResourcePool") if many else pool
        _intents(own_pool, child(node, "ResourceLinkPool") if many else links, item, index)
    return _pretty(root)


def _intents(pool: Element, links: Element, item: Item, index: int) -> None:
    def intent(name: str) -> Element:
        made = child(pool, name, ID=f"{name}{index}", Class="Intent", Status="Available")
        child(links, f"{name}Link", Usage="Input", rRef=f"{name}{index}")
        return made

    layout = intent("LayoutIntent")
    layout.set("Sides", "OneSided")
    if not item.may_rotate:
        layout.set("RotatePolicy", "NoRotate")
    if item.panels is not Panels.ALLOWED:
        layout.set(own("Panels"), item.panels.value)
    finishing, pattern = item.finishing, item.pattern
    if finishing.hem:
        layout.set(own("Hem"), _with_edges(finishing.hem.width_mm, finishing.hem.edges))
    if finishing.pole_pocket:
        layout.set(own("PolePocket"), _with_edges(finishing.pole_pocket.flat_mm, finishing.pole_pocket.edges))
    if finishing.eyelets:
        layout.set(own("EyeletSpacing"), points(finishing.eyelets.spacing_mm))
    if pattern and pattern.repeat_mm:
        layout.set(own("PatternMatch"), pattern.match.value)
        layout.set(own("PatternRepeat"), points(pattern.repeat_mm))
    size = f"{points(item.finished_width_mm)} {points(item.finished_height_mm)} 0"
    child(layout, "FinishedDimensions", DataType="ShapeSpan", Preferred=size)
    if item.bleed_mm:
        child(layout, "Bleed", DataType="NumberSpan", Preferred=points(item.bleed_mm))
    media = intent("MediaIntent")
    kinds = {
        "MediaType": "EnumerationSpan",
        "MediaTypeDetails": "NameSpan",
        "StockType": "NameSpan",
        "Opacity": "EnumerationSpan",
    }
    for name, said in INTENT_MEDIA[item.substrate].items():
        if name in kinds:
            child(media, name, DataType=kinds[name], Preferred=said)
        else:
            wish, accepted = said.split(" ")
            child(media, name, DataType="NumberSpan", Preferred=wish, Range=accepted.replace("~", " ~ "))
    colour = intent("ColorIntent")
    if item.layer_stack is not LayerStack.COLOUR:
        colour.set(own("LayerStack"), own_layers(item))
    used = child(colour, "ColorsUsed")
    for name in (*COLOURS, *(["White"] if "white" in item.layer_stack.layers else [])):
        child(used, "SeparationSpec", Name=name)
    child(
        intent("ProductionIntent"), "PrintPreference", DataType="EnumerationSpan", Preferred=preference(item)
    )
    delivery = child(intent("ArtDeliveryIntent"), "ArtDelivery", ArtDeliveryType="DigitalNetwork")
    assert item.artwork is not None
    element = child(child(delivery, "RunList", Pages=str(item.artwork.page)), "LayoutElement")
    child(element, "FileSpec", URL=item.artwork.url, MimeType=item.artwork.mime_type or "")
    child(
        pool,
        "Component",
        ID=f"c{index}",
        Class="Quantity",
        Status="Unavailable",
        ComponentType="PartialProduct",
    )
    child(links, "ComponentLink", Usage="Output", rRef=f"c{index}", Amount=str(item.quantity))


# --- JDF process nodes with partitions; one ticket an order -------------------------------------------------------

WIDTHS_PT: Final = ("4535.433 141732.283", "9070.866 141732.283")


def planning(order: Order) -> bytes:
    """Planning: process nodes. Two rolls lie ready, the link takes the second; good pieces and waste are parts."""
    many = len(order.items) > 1
    root = _jdf_root(order, "ProcessGroup" if many else "Combined", None if many else order.items[0])
    pool, links = _customer(root, order)
    for index, item in enumerate(order.items):
        node = root
        if many:
            node = child(root, "JDF", xsi_type="Combined", ID=f"n{index}", Type="Combined", Status="Waiting",
                         JobPartID=item.job_part_id, DescriptiveName=item.descriptive_name)  # fmt: skip
        node.set("Types", "Interpreting Rendering DigitalPrinting")
        _remarks(node, item)
        own_pool = child(node, "ResourcePool") if many else pool
        _process(own_pool, child(node, "ResourceLinkPool") if many else links, item, index)
    if many:
        root.attrib.pop("Types", None)
    return _pretty(root)


def _remarks(node: Element, item: Item) -> None:
    """The standard's processes have no place for these, so planning writes them as comments, in millimetres."""
    finishing, pattern = item.finishing, item.pattern
    said = {
        "PrintMode": None,
        "Hem": finishing.hem and " ".join((number(finishing.hem.width_mm), *finishing.hem.edges)),
        "Pocket": finishing.pole_pocket
        and " ".join((number(finishing.pole_pocket.flat_mm), *finishing.pole_pocket.edges)),
        "Eyelets": finishing.eyelets and number(finishing.eyelets.spacing_mm),
        "Repeat": pattern and pattern.repeat_mm and f"{pattern.match.value} {number(pattern.repeat_mm)}",
    }
    place = 0
    for name, text in said.items():
        if text:
            comment = child(None, "Comment", Name=name)
            comment.text = text
            node.insert(place, comment)
            place += 1
    mode = child(None, "GeneralID", IDUsage="PrintMode", IDValue=item.print_mode)
    node.insert(place, mode)


def _process(pool: Element, links: Element, item: Item, index: int) -> None:
    def resource(name: str, class_: str, **attributes: str) -> Element:
        made = child(pool, name, ID=f"{name}{index}", Class=class_, Status="Available", **attributes)
        if name not in ("Media", "Component"):
            child(links, f"{name}Link", Usage="Input", rRef=f"{name}{index}")
        return made

    policy = child(
        resource("InterpretingParams", "Parameter"),
        "FitPolicy",
        RotatePolicy="RotateOrthogonal" if item.may_rotate else "NoRotate",
    )
    if item.panels is Panels.FORBIDDEN:
        policy.set("SizePolicy", "Abort")
    printing = resource("DigitalPrintingParams", "Parameter", PrintingType="WebFed", Sides="OneSidedFront")
    if item.layer_stack is not LayerStack.COLOUR:
        printing.set(own("LayerStack"), own_layers(item))
    if item.panels is Panels.WANTED:
        printing.set(own("Panels"), item.panels.value)
    media = resource("Media", "Consumable", PartIDKeys="Location", MediaUnit="Roll")
    child(media, "Media", Location="Roll-1", ProductID="LEFT-OVER", Dimension=WIDTHS_PT[0])
    child(media, "Media", Location="Roll-2", ProductID=f"HL-{item.substrate}")
    child(child(links, "MediaLink", Usage="Input", rRef=f"Media{index}"), "Part", Location="Roll-2")
    assert item.artwork is not None
    run = resource("RunList", "Parameter", Pages=str(item.artwork.page))
    child(
        child(run, "LayoutElement"), "FileSpec", URL=item.artwork.url, MimeType=item.artwork.mime_type or ""
    )
    size = f"{points(item.finished_width_mm)} {points(item.finished_height_mm)} 0"
    made = child(pool, "Component", ID=f"c{index}", Class="Quantity", Status="Unavailable", ComponentType="PartialProduct Web",
                 Dimensions=size, PartIDKeys="Condition")  # fmt: skip
    if item.bleed_mm:
        made.set(own("Bleed"), points(item.bleed_mm))
    child(made, "Component", Condition="Good")
    child(made, "Component", Condition="Waste")
    amounts = child(child(links, "ComponentLink", Usage="Output", rRef=f"c{index}"), "AmountPool")
    child(child(amounts, "PartAmount", Amount=str(item.quantity)), "Part", Condition="Good")
    child(child(amounts, "PartAmount", Amount="1"), "Part", Condition="Waste")


# --- shared by the two ---------------------------------------------------------------------------------------------


def _jdf_root(order: Order, kind: str, item: Item | None) -> Element:
    part = item.job_part_id if item else "all"
    return jdf_root("JDF", xsi_type=kind, ID="root", Type=kind, Status="Waiting", JobID=order.job_id, JobPartID=part,
                    Version="1.7", MaxVersion="1.7", DescriptiveName=order.descriptive_name)  # fmt: skip


def _customer(root: Element, order: Order) -> tuple[Element, Element]:
    pool, links = child(root, "ResourcePool"), child(root, "ResourceLinkPool")
    assert order.due is not None
    child(pool, "NodeInfo", ID="ni", Class="Parameter", Status="Available", LastEnd=order.due.isoformat(),
          JobPriority=str(order.priority))  # fmt: skip
    customer = child(
        pool,
        "CustomerInfo",
        ID="ci",
        Class="Parameter",
        Status="Available",
        CustomerID=order.customer_id or "",
    )
    contact = child(customer, "Contact", ContactTypes="Customer")
    child(contact, "Company", OrganizationName=order.customer_name or "")
    for name, id_ in (("NodeInfo", "ni"), ("CustomerInfo", "ci")):
        child(links, f"{name}Link", Usage="Input", rRef=id_)
    return pool, links


def points(length_mm: float) -> str:
    """A length in points as JDF writes it."""
    return number(points_from_mm(length_mm))


def _with_edges(width_mm: float, edges: Iterable[Edge]) -> str:
    return " ".join((points(width_mm), *edges))


def _pretty(root: Element) -> bytes:
    etree.indent(root)
    return as_bytes(root)


FILES: Final[dict[str, tuple[str, Callable[[Sequence[Order]], bytes]]]] = {
    "estimating": ("orders.xml", estimating),
    "web-shop": ("orders.json", web_shop),
    "branch": ("orders.csv", branch),
    "reseller": ("orders.xlsx", reseller),
}
"""Exports that hold all orders in one file: its name, and what writes it."""
TICKETS: Final[dict[str, Callable[[Order], bytes]]] = {"order-desk": order_desk, "planning": planning}
"""Exports with one ticket an order."""


def files_of(export: str, orders: Sequence[Order]) -> dict[str, bytes]:
    """The files of an export by name."""
    if export in FILES:
        name, write = FILES[export]
        return {name: write(orders)}
    return {f"{order.job_id}.jdf": TICKETS[export](order) for order in orders}


EXPORTS: Final = (*FILES, *TICKETS)


def main() -> None:
    """Write the samples."""
    for export in EXPORTS:
        folder = HOME / f"{export}.cases"
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in files_of(export, TWELVE).items():
            (folder / name).write_bytes(data)


if __name__ == "__main__":
    main()
