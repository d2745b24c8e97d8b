"""Tickets and small helpers for the tests of reading."""

from collections.abc import Iterable
from pathlib import Path

from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding
from ticketbridge.model.shop import Limits

LIMITS = Limits()

_ALL_GOLDEN = Path(__file__).resolve().parents[2] / "golden"
GOLDEN = _ALL_GOLDEN / "intent"
GOLDEN_TICKETS = sorted(path.name for path in GOLDEN.glob("*.jdf"))
GOLDEN_PROCESS = _ALL_GOLDEN / "process"
GOLDEN_PROCESS_TICKETS = sorted(path.name for path in GOLDEN_PROCESS.glob("*.jdf"))

NAMESPACE = 'xmlns="http://www.CIP4.org/JDFSchema_1_1"'

ORDER = f"""<JDF {NAMESPACE} ID="n1" Type="Product" Status="Waiting" JobID="HG-1" JobPartID="1" Version="1.7">
<ResourcePool>
<LayoutIntent ID="li" Class="Intent" Status="Available">
<FinishedDimensions DataType="ShapeSpan" Preferred="2834.646 1417.323 0"/>
</LayoutIntent>
<MediaIntent ID="mi" Class="Intent" Status="Available">
<Thickness DataType="NumberSpan" Preferred="500"/>
</MediaIntent>
<Component ID="c" Class="Quantity" Status="Unavailable" ComponentType="FinalProduct"/>
</ResourcePool>
<ResourceLinkPool>
<LayoutIntentLink rRef="li" Usage="Input"/>
<MediaIntentLink rRef="mi" Usage="Input"/>
<ComponentLink rRef="c" Usage="Output" Amount="4"/>
</ResourceLinkPool>
</JDF>"""
"""The least that an order can be made from: four pieces of 1000 x 500 mm."""

PROCESS = f"""<JDF {NAMESPACE} ID="n1" Type="Combined" Types="Interpreting Rendering DigitalPrinting" Status="Waiting"
JobID="HG-2" JobPartID="1" Version="1.7">
<ResourcePool>
<RunList ID="rl" Class="Parameter" Status="Available"><LayoutElement><FileSpec URL="a.pdf"/></LayoutElement></RunList>
<DigitalPrintingParams ID="dp" Class="Parameter" Status="Available" PrintingType="WebFed"/>
<Media ID="m" Class="Consumable" Status="Available" MediaUnit="Roll" Thickness="500"/>
<Component ID="c" Class="Quantity" Status="Unavailable" ComponentType="PartialProduct Web" Dimensions="2834.646 1417.323 0"/>
</ResourcePool>
<ResourceLinkPool>
<RunListLink rRef="rl" Usage="Input" CombinedProcessIndex="0"/>
<DigitalPrintingParamsLink rRef="dp" Usage="Input" CombinedProcessIndex="2"/>
<MediaLink rRef="m" Usage="Input" CombinedProcessIndex="2"/>
<ComponentLink rRef="c" Usage="Output" Amount="4"/>
</ResourceLinkPool>
</JDF>"""
"""The same four pieces of 1000 x 500 mm as a press is told to print them."""

MESSAGE = f"""<JMF {NAMESPACE} SenderID="press" TimeStamp="2026-03-09T12:00:00Z" Version="1.7">
<Signal ID="s1" Type="Status"><DeviceInfo DeviceID="A" DeviceStatus="Running">
<JobPhase Status="InProgress" Amount="3"/></DeviceInfo></Signal>
</JMF>"""


def changed(text: str, *changes: tuple[str, str]) -> str:
    """A text with changes, each of which must find its place."""
    for old, new in changes:
        assert old in text, f"{old!r} is not in the text"
        text = text.replace(old, new)
    return text


def root_of(document: str | bytes) -> Element:
    """The root of a document that is well-formed."""
    return parse(document.encode() if isinstance(document, str) else document, LIMITS, "t.jdf")


def codes(findings: Iterable[Finding]) -> list[str]:
    """The codes of findings, in order."""
    return [finding.code for finding in findings]
