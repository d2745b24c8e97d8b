"""What the press's tests need: a writer for small tickets, a press to take them, a look at its answers."""

import importlib.util
import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

from lxml import etree

from ticketbridge.vocabulary.names import JDF_NAMESPACE, OWN_NAMESPACE, XSI_NAMESPACE, XSI_TYPE, jdf, own
from ticketbridge.vocabulary.units import number, points_from_mm

Element = etree._Element

FOREIGN = "urn:example:somebody-else"


@dataclass(frozen=True)
class Piece:
    """One printed box in mm; ``tile`` counts the panels, where there are some."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    rotated: bool = False
    tile: int | None = None


@dataclass(frozen=True)
class Job:
    """A ticket to be written. The defaults print two banners, one behind the other."""

    job_id: str = "HL-24117"
    job_part_id: str | None = "1.print"
    device_id: str | None = "HL-P1-A"
    version: str = "1.7"
    pieces: Sequence[Piece] = (Piece(0, 0, 1000, 300), Piece(0, 310, 1000, 300))
    panel_widths_mm: Sequence[float] = ()
    amount: int | None = 2
    mode: str = "Banner-6pass"
    passes: str = "6"
    direction: str = "BothWays"
    layer_stack: str = "Color"
    roll_width_mm: float = 1600
    lot: str | None = "L260114"
    leader_mm: float = 500
    trailer_mm: float = 400
    trim_sizes: bool = True
    clip_boxes: bool = False
    ink_l: dict[str, float] = field(default_factory=dict)


def row(count: int, width_mm: float = 300, height_mm: float = 200, gap_mm: float = 10) -> list[Piece]:
    """Pieces one behind the other."""
    return [Piece(0, index * (height_mm + gap_mm), width_mm, height_mm) for index in range(count)]


def ticket(job: Job) -> bytes:
    """The ticket as a file's content."""
    return etree.tostring(ticket_root(job), xml_declaration=True, encoding="UTF-8", pretty_print=True)


def ticket_root(job: Job) -> Element:
    """The ticket as a tree: one Combined node with foreign data that a press must keep."""
    types = ["Interpreting", "Rendering", *(["Tiling"] if job.panel_widths_mm else []), "DigitalPrinting"]
    nsmap = {None: JDF_NAMESPACE, "xsi": XSI_NAMESPACE, "tb": OWN_NAMESPACE, "other": FOREIGN}
    root = etree.Element(
        jdf("JDF"), ID="n1", Type="Combined", Types=" ".join(types), Status="Waiting", nsmap=nsmap
    )
    root.set(XSI_TYPE, "Combined")
    _set(root, JobID=job.job_id, JobPartID=job.job_part_id, Version=job.version)
    root.set(f"{{{FOREIGN}}}colour", "harbour blue")
    root.append(etree.Comment(" for the night shift "))
    _child(root, "Comment", Name="Instruction").text = "Mind the left edge."
    audits = _child(root, "AuditPool")
    _child(audits, "Created", ID="a1", TimeStamp="2026-03-02T09:16:04+01:00")
    pool, links = _child(root, "ResourcePool"), _child(root, "ResourceLinkPool")
    _planning(pool, links, job)
    _printing(pool, links, job, types)
    _layout(pool, links, job)
    _output(pool, links, job)
    return root


def _planning(pool: Element, links: Element, job: Job) -> None:
    _child(pool, "NodeInfo", ID="ni", Class="Parameter", Status="Available", NodeStatus="Waiting")
    _child(links, "NodeInfoLink", Usage="Input", rRef="ni")
    if job.device_id is not None:
        _child(pool, "Device", ID="dev", Class="Implementation", Status="Available", DeviceID=job.device_id)
        _child(links, "DeviceLink", Usage="Input", rRef="dev")
    runs = _child(pool, "RunList", ID="rl", Class="Parameter", Status="Available", NPage="1")
    _child(_child(runs, "LayoutElement"), "FileSpec", URL="art/spring-sale.pdf", MimeType="application/pdf")
    _child(links, "RunListLink", Usage="Input", rRef="rl", CombinedProcessIndex="0")


def _printing(pool: Element, links: Element, job: Job, types: list[str]) -> None:
    last = str(len(types) - 1)
    _child(pool, "InterpretingParams", ID="ip", Class="Parameter", Status="Available")
    _child(links, "InterpretingParamsLink", Usage="Input", rRef="ip", CombinedProcessIndex="0")
    params = _child(
        pool, "DigitalPrintingParams", ID="dp", Class="Parameter", Status="Available", PrintingType="WebFed"
    )
    mode = etree.SubElement(params, own("PrintMode"))
    _set(mode, Name=job.mode, Passes=job.passes, Direction=job.direction, LayerStack=job.layer_stack)
    _child(links, "DigitalPrintingParamsLink", Usage="Input", rRef="dp", CombinedProcessIndex=last)
    _child(
        pool, "Media", ID="m1", Class="Consumable", Status="Available", ProductID="HL-BAN510-1600",
        BatchID=job.lot, MediaUnit="Roll", Unit="m2", Dimension=_pt(job.roll_width_mm, 50_000),
    )  # fmt: skip
    _child(links, "MediaLink", Usage="Input", rRef="m1", CombinedProcessIndex=last, Amount="2.5")
    if job.ink_l:
        ink = _child(
            pool, "Ink", ID="ink", Class="Consumable", Status="Available", Unit="l", PartIDKeys="Separation"
        )
        link = _child(links, "InkLink", Usage="Input", rRef="ink", CombinedProcessIndex=last)
        amounts = _child(link, "AmountPool")
        for name, litres in job.ink_l.items():
            _child(ink, "Ink", Separation=name)
            _child(_child(amounts, "PartAmount", Amount=number(litres)), "Part", Separation=name)


def _layout(pool: Element, links: Element, job: Job) -> None:
    length_mm = max((p.y_mm + p.height_mm for p in job.pieces), default=0)
    layout = _child(
        pool, "Layout", ID="ly", Class="Parameter", Status="Available",
        SurfaceContentsBox=_pt(0, 0, job.roll_width_mm, length_mm),
    )  # fmt: skip
    layout.set(own("LeaderLength"), _pt(job.leader_mm))
    layout.set(own("TrailerLength"), _pt(job.trailer_mm))
    for piece in job.pieces:
        _content(layout, job, piece)
    _child(links, "LayoutLink", Usage="Input", rRef="ly")
    if job.panel_widths_mm:
        _tiles(pool, links, job)


def _content(layout: Element, job: Job, piece: Piece) -> None:
    right_mm, top_mm = piece.x_mm + piece.width_mm, piece.y_mm + piece.height_mm
    if piece.rotated:
        ctm = f"0 1 -1 0 {_pt(right_mm, piece.y_mm)}"
        size = _pt(piece.height_mm, piece.width_mm)
    else:
        ctm = f"1 0 0 1 {_pt(piece.x_mm, piece.y_mm)}"
        size = _pt(piece.width_mm, piece.height_mm)
    _child(
        layout, "ContentObject", Ord=str(piece.tile or 0), CTM=ctm,
        TrimSize=size if job.trim_sizes and piece.tile is None else None,
        ClipBox=_pt(piece.x_mm, piece.y_mm, right_mm, top_mm) if job.clip_boxes else None,
    )  # fmt: skip


def _tiles(pool: Element, links: Element, job: Job) -> None:
    height_mm = job.pieces[0].height_mm
    tile = _child(
        pool, "Tile", ID="ti", Class="Parameter", Status="Available", PartIDKeys="TileID",
        ClipBox="0 0 0 0", CTM="1 0 0 1 0 0",
    )  # fmt: skip
    left_mm = 0.0
    for column, width_mm in enumerate(job.panel_widths_mm):
        _child(
            tile, "Tile", TileID=f"{column} 0", ClipBox=_pt(left_mm, 0, left_mm + width_mm, height_mm),
            CTM=f"1 0 0 1 {_pt(-left_mm, 0)}",
        )  # fmt: skip
        left_mm += width_mm
    _child(links, "TileLink", Usage="Input", rRef="ti", CombinedProcessIndex="2")


def _output(pool: Element, links: Element, job: Job) -> None:
    first = job.pieces[0] if job.pieces else Piece(0, 0, 1, 1)
    component = _child(
        pool, "Component", ID="c1", Class="Quantity", Status="Unavailable",
        ComponentType="PartialProduct Web", Dimensions=f"{_pt(first.width_mm, first.height_mm)} 0",
        PartIDKeys="Condition",
    )  # fmt: skip
    _child(component, "Component", Condition="Good")
    amount = None if job.amount is None else str(job.amount)
    _child(links, "ComponentLink", Usage="Output", rRef="c1", Amount=amount)


def _child(parent: Element, name: str, **attributes: str | None) -> Element:
    element = etree.SubElement(parent, jdf(name))
    _set(element, **attributes)
    return element


def _set(element: Element, **attributes: str | None) -> None:
    for name, value in attributes.items():
        if value is not None:
            element.set(name, value)


def _pt(*lengths_mm: float) -> str:
    return " ".join(number(points_from_mm(length_mm)) for length_mm in lengths_mm)


PRESS_YAML = """\
press_id: HL-P1
head_swath_mm: 54
carriage_speed_mm_s: 1200
ramp_mm: 400
dwell_s: 0.3
carriage_span: image
beam_width_mm: 3300
jdf_version: "1.7"
sender_id: Harbourlight press 1
operator: op-07
lanes:
  - device_id: HL-P1-A
    left_mm: 0
    in: lanes/A/in
    status: lanes/A/status
    returned: lanes/A/returned
  - device_id: HL-P1-B
    left_mm: 1650
    in: lanes/B/in
    status: lanes/B/status
    returned: lanes/B/returned
"""


class Bench:
    """A folder with a press in it, as the world outside sees it."""

    def __init__(self, folder: Path, yaml: str = PRESS_YAML) -> None:
        self.folder = folder
        (folder / "press.yaml").write_text(yaml)
        for lane in "AB":
            (folder / "lanes" / lane / "in").mkdir(parents=True)
        self._delivered = 0

    def deliver(self, job: Job | bytes, lane: str = "A", name: str | None = None) -> None:
        """Put a ticket into a lane as a careful sender does: whole, under a dot name, then one rename."""
        self._delivered += 1
        target = self.folder / "lanes" / lane / "in" / (name or f"ticket-{self._delivered:03d}.jdf")
        temporary = target.with_name(f".{target.name}.tmp")
        temporary.write_bytes(job if isinstance(job, bytes) else ticket(job))
        os.rename(temporary, target)

    def log(self) -> list[dict[str, Any]]:
        """The whole lines of the print log."""
        path = self.folder / "print-log.jsonl"
        lines = path.read_bytes().splitlines(keepends=True) if path.exists() else []
        return [json.loads(line) for line in lines if line.endswith(b"\n")]

    def files(self, kind: str, lane: str = "A") -> list[Path]:
        """Visible files in a lane's ``in``, ``status`` or ``returned`` folder, by name."""
        folder = self.folder / "lanes" / lane / kind
        return sorted(path for path in folder.iterdir() if not path.name.startswith("."))

    def signals(self, lane: str = "A") -> list[Element]:
        """The signals in a lane's status folder, in the order of their file names."""
        return [read(path)[0] for path in self.files("status", lane)]

    def phases(self, lane: str = "A") -> list[Element]:
        """The job phases that the lane has reported."""
        return [phase for signal in self.signals(lane) for phase in signal.iter(jdf("JobPhase"))]

    def returned(self, lane: str = "A") -> list[Element]:
        """The returned tickets of a lane."""
        return [read(path) for path in self.files("returned", lane)]


def read(path: Path) -> Element:
    """A document that the press wrote."""
    return etree.parse(path).getroot()


def values(elements: Iterable[Element], attribute: str) -> list[str | None]:
    """One attribute of several elements."""
    return [element.get(attribute) for element in elements]


def script(shared: Path, name: str) -> ModuleType:
    """A script that lies beside the official schemas, loaded as a module."""
    path = shared / "standards" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(f"outside_{name}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
