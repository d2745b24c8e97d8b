"""A claimed file's bytes to a ticket with its artwork, or to findings that say why not."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ticketbridge.accept.artwork import ArtworkRefused, find_artwork
from ticketbridge.jdf.check import check
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.order import Artwork
from ticketbridge.model.shop import Limits
from ticketbridge.model.ticket import Ticket, TicketItem


@dataclass(frozen=True, slots=True)
class TicketRead:
    """What was read.

    Attributes:
        ticket: None where the file was not readable as a ticket at all.
        artworks: The artwork of each item, where it has one that may be used.
        findings: Everything found on the way.
    """

    ticket: Ticket | None
    artworks: tuple[Artwork | None, ...]
    findings: tuple[Finding, ...]


def read(data: bytes, *, limits: Limits, file: str, drop: Path, roots: Sequence[Path]) -> TicketRead:
    """Read a ticket fully: well-formed, by the schema, by the rules, its values, its artwork.

    Args:
        data: The file.
        limits: What a ticket may ask of the machine.
        file: Its name, for findings.
        drop: The folder it was dropped in; artwork is named relative to it.
        roots: Folders that artwork may lie in, resolved.
    """
    try:
        root = parse(data, limits, file)
    except XmlRefused as refusal:
        return TicketRead(None, (), refusal.findings)
    findings = list(check(root, file))
    if any(finding.code.startswith("xml.") for finding in findings):  # it is no JDF of ours at all
        return TicketRead(None, (), tuple(findings))
    ticket, more = read_ticket(root, file)
    findings += more
    artworks: list[Artwork | None] = []
    for item in ticket.items:
        try:
            artworks.append(_artwork(item, file, drop, roots))
        except ArtworkRefused as refusal:
            findings.append(refusal.finding)
            artworks.append(None)
    return TicketRead(ticket, tuple(artworks), tuple(findings))


def _artwork(item: TicketItem, file: str, drop: Path, roots: Sequence[Path]) -> Artwork:
    url = item.values.get("artwork_url")
    if url is None:
        part = item.values.get("job_part_id")
        raise ArtworkRefused(Finding("artwork.none", Place(file), {"part": part.raw if part else ""}))
    mime_type, page = item.values.get("artwork_mime_type"), item.values.get("artwork_page")
    return find_artwork(
        str(url.value),
        mime_type=None if mime_type is None else str(mime_type.value),
        page=page.value if page is not None and isinstance(page.value, int) else 0,
        beside=drop,
        roots=roots,
        place=Place(file, url.line, path=url.path),
    )
