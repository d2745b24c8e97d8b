"""A claimed file's bytes to tickets with their artwork, or to findings that say why not."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ticketbridge.accept.artwork import ArtworkRefused, find_artwork
from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.accept.readers.csv_lines import read_csv
from ticketbridge.jdf.check import check
from ticketbridge.jdf.read_intent import read_ticket
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.order import Artwork
from ticketbridge.model.shop import Settings, Source
from ticketbridge.model.ticket import Ticket, TicketItem


@dataclass(frozen=True, slots=True)
class TicketRead:
    """One order that was read.

    Attributes:
        ticket: None where it was not readable as an order at all.
        artworks: The artwork of each item, where it has one that may be used.
        findings: Everything found on the way.
    """

    ticket: Ticket | None
    artworks: tuple[Artwork | None, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Setting:
    """What a file is read by.

    Attributes:
        settings: The shop's, for what a single file may ask of the machine and for the time zone.
        source: Where it was dropped.
        drop: The folder it was dropped in; artwork is named relative to it.
        roots: Folders that artwork may lie in, resolved.
    """

    settings: Settings
    source: Source
    drop: Path
    roots: Sequence[Path]


def read(data: bytes, file: str, setting: Setting) -> tuple[TicketRead, ...]:
    """Read every order of a file fully: its form, its rules, its values, its artwork. One for a JDF ticket.

    Args:
        data: The file.
        file: Its name: for findings, and to tell what kind it is of.
        setting: What it is read by.
    """
    tickets: list[tuple[Ticket | None, tuple[Finding, ...]]]
    table = setting.source.csv
    if table is not None and kind_of(file) is Kind.ORDER_LINES:
        limits, time_zone = setting.settings.limits, setting.settings.time_zone
        tickets = read_csv(data, table, limits, time_zone, file)
    else:
        tickets = [_jdf(data, file, setting)]
    return tuple(_with_artwork(ticket, findings, file, setting) for ticket, findings in tickets)


def _jdf(data: bytes, file: str, setting: Setting) -> tuple[Ticket | None, tuple[Finding, ...]]:
    try:
        root = parse(data, setting.settings.limits, file)
    except XmlRefused as refusal:
        return None, refusal.findings
    findings = check(root, file)
    if any(finding.code == "xml.wrong-root" for finding in findings):
        return None, tuple(findings)
    ticket, more = read_ticket(root, file)
    return ticket, (*findings, *more)


def _with_artwork(
    ticket: Ticket | None, findings: tuple[Finding, ...], file: str, setting: Setting
) -> TicketRead:
    artworks: list[Artwork | None] = []
    for item in ticket.items if ticket else ():
        try:
            artworks.append(_artwork(item, file, setting))
        except ArtworkRefused as refusal:
            findings = (*findings, refusal.finding)
            artworks.append(None)
    return TicketRead(ticket, tuple(artworks), findings)


def _artwork(item: TicketItem, file: str, setting: Setting) -> Artwork:
    url = item.values.get("artwork_url")
    if url is None:
        part = item.values.get("job_part_id")
        place = Place(file, item.line)
        raise ArtworkRefused(Finding("artwork.none", place, {"part": part.raw if part else ""}))
    mime_type, page = item.values.get("artwork_mime_type"), item.values.get("artwork_page")
    return find_artwork(
        str(url.value),
        mime_type=None if mime_type is None else str(mime_type.value),
        page=0 if page is None else int(page.raw),
        beside=setting.drop,
        roots=setting.roots,
        place=Place(file, url.line, path=url.path),
    )
