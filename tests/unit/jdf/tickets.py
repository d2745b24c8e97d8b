"""Tickets and small helpers for the tests of reading."""

from collections.abc import Iterable
from pathlib import Path

from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding
from ticketbridge.model.shop import Limits

LIMITS = Limits()

GOLDEN = Path(__file__).resolve().parents[2] / "golden" / "intent"
GOLDEN_TICKETS = sorted(path.name for path in GOLDEN.glob("*.jdf"))

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
