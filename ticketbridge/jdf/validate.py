"""Looking at any JDF or JMF document, without wanting to make an order of it."""

from typing import Final

from ticketbridge.jdf.check import check
from ticketbridge.jdf.read_ticket import can_be_read, read_ticket
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.model.codes import refuses
from ticketbridge.model.finding import Finding
from ticketbridge.model.shop import Limits

_ONLY_AN_ORDER_NEEDS: Final = frozenset(
    {
        "ticket.value-missing",
        "ticket.other-press",
        "ticket.not-active",
        "ticket.not-waiting",
        "ticket.node-left-alone",
        "ticket.part-not-chosen",
        "ticket.media-not-chosen",
        "ticket.too-many-parts",
        "ticket.more-than-one-page",
        "ticket.scaling-not-served",
    }
)
"""What an order for a press of ours cannot be made without, and a document can be right without."""


def validate_document(data: bytes, limits: Limits, file: str) -> list[Finding]:
    """What is wrong with a document: its bytes, its words, its references, the values of its intents.

    Args:
        data: The document.
        limits: What a single document may ask of the machine.
        file: Its name, for findings.
    """
    try:
        root = parse(data, limits, file)
    except XmlRefused as refusal:
        return list(refusal.findings)
    findings = check(root, file)
    if not refuses(findings) and can_be_read(root):
        _, more = read_ticket(root, file)
        findings += [finding for finding in more if finding.code not in _ONLY_AN_ORDER_NEEDS]
    return findings
