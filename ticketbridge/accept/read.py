"""A claimed file's bytes to tickets with their artwork, or to findings that say why not."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from ticketbridge.accept.artwork import ArtworkRefused, find_artwork, hash_of
from ticketbridge.accept.artwork_table import PathRow, url_for_press
from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.accept.pdf_facts import PdfFacts, PdfUnfit, facts_of
from ticketbridge.accept.readers.bare_pdf import ticket_of
from ticketbridge.accept.readers.choose import read_orders
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.order import Artwork
from ticketbridge.model.shop import Settings, Source
from ticketbridge.model.ticket import Ticket, TicketItem
from ticketbridge.spool import durable
from ticketbridge.spool.gates import still_going


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
        mapping: The mapping of that source.
        drop: The folder it was dropped in; artwork is named relative to it.
        roots: Folders that artwork may lie in, resolved.
        now: The time.
        rows: What paths of the MIS mean here and at the press.
    """

    settings: Settings
    source: Source
    mapping: Mapping
    drop: Path
    roots: Sequence[Path]
    now: datetime
    rows: Sequence[PathRow] = ()


class Content(NamedTuple):
    """What of a file is looked at: all of a ticket, and of artwork what its pages say.

    Attributes:
        data: The file, up to one byte more than a ticket may have; nothing of a PDF.
        sha256: Hash of what is there, in hex.
        size_bytes: How much that is.
        pdf: What a PDF says of its pages, or why it cannot be used.
        modified_ns: Of a PDF, when it was last written.
    """

    data: bytes
    sha256: str
    size_bytes: int = 0
    pdf: PdfFacts | PdfUnfit | None = None
    modified_ns: int | None = None


def content_of(path: Path, file: str, limit_bytes: int) -> Content:
    """Look at a file and make it durable where it lies.

    Args:
        path: Where it lies.
        file: The name that it came under.
        limit_bytes: Largest ticket.

    Raises:
        OSError: It is gone, or cannot be read.
    """
    if kind_of(file) is not Kind.PDF:
        data = durable.read_and_sync(path, limit_bytes)
        return Content(data, hashlib.sha256(data).hexdigest(), len(data))
    durable.sync_file(path)
    status = path.stat()
    sha256 = hash_of(path)
    still_going()
    try:
        facts: PdfFacts | PdfUnfit = facts_of(path)
    except PdfUnfit as unfit:
        facts = unfit
        durable.read_end(path, 1)  # a share that hangs took the time, and not the PDF
    return Content(b"", sha256, status.st_size, facts, status.st_mtime_ns)


def read(content: Content, file: str, kept_at: Path, setting: Setting) -> tuple[TicketRead, ...]:
    """Read every order of a file fully: its form, its rules, its values, its artwork. One for a JDF ticket.

    Args:
        content: The file.
        file: Its name: for findings, and to tell what kind it is of.
        kept_at: Where a PDF lies from now on, for the press to open it.
        setting: What it is read by.
    """
    if content.pdf is not None:
        return (_pdf(content, content.pdf, file, kept_at, setting),)
    tickets = read_orders(
        content.data, file, setting.mapping, setting.settings.limits, setting.settings.time_zone
    )
    return tuple(_with_artwork(ticket, findings, file, setting) for ticket, findings in tickets)


def _pdf(
    content: Content, pdf: PdfFacts | PdfUnfit, file: str, kept_at: Path, setting: Setting
) -> TicketRead:
    standing = setting.source.standing_ticket
    if standing is None:
        return TicketRead(None, (), (Finding("pdf.no-standing-ticket", Place(file)),))
    if isinstance(pdf, PdfUnfit):
        return TicketRead(None, (), (Finding(pdf.code, Place(file), pdf.facts),))
    ticket, findings = ticket_of(pdf, standing, file, setting.now, setting.settings.time_zone)
    artworks = tuple(
        Artwork(
            url=url_for_press(kept_at, setting.rows),
            mime_type="application/pdf",
            page=page,
            sha256=content.sha256,
            path=str(kept_at),
            size_bytes=content.size_bytes,
            modified_ns=content.modified_ns,
        )
        for page in range(len(pdf.pages))
    )
    return TicketRead(ticket, artworks if ticket else (), findings)


def _with_artwork(
    ticket: Ticket | None, findings: tuple[Finding, ...], file: str, setting: Setting
) -> TicketRead:
    artworks: list[Artwork | None] = []
    for index, item in enumerate(ticket.items if ticket else ()):
        try:
            artworks.append(_artwork(item, file, setting))
        except ArtworkRefused as refusal:
            findings = (*findings, refusal.finding.about_part(item.part_id(index)))
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
        page=page.value if page is not None and isinstance(page.value, int) else 0,
        beside=setting.drop,
        roots=setting.roots,
        place=Place(file, url.line, path=url.path),
        rows=setting.rows,
    )
