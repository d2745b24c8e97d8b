"""JDF by the standard's own reading, and where a mapping has rows for it, what they change or fill."""

from collections.abc import Mapping as Map
from dataclasses import replace

from ticketbridge.accept.readers.field_rows import RowReading, ValueRefused
from ticketbridge.accept.readers.records import Record
from ticketbridge.accept.readers.xml_records import XmlRecords
from ticketbridge.extract.rows import FileRefused
from ticketbridge.jdf.check import check
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.reads import FieldRow, Reads, Within
from ticketbridge.model.shop import Limits
from ticketbridge.model.ticket import Read, Ticket, TicketItem
from ticketbridge.model.ticket_field import OF_THE_ORDER


def read_jdf(
    data: bytes, mapping: Mapping | None, limits: Limits, time_zone: str, file: str
) -> tuple[Ticket | None, tuple[Finding, ...]]:
    """The order of a JDF ticket with what was found wrong.

    Args:
        data: The file.
        mapping: One whose ``reads`` has rows for JDF; None where the standard's reading is all.
        limits: What a single ticket may ask of the machine.
        time_zone: The shop's, for dates that rows find.
        file: Its name, for findings.
    """
    try:
        root = parse(data, limits, file)
    except XmlRefused as refusal:
        return None, refusal.findings
    findings = check(root, file)
    if any(finding.code.startswith("xml.") for finding in findings):  # it is no JDF of ours at all
        return None, tuple(findings)
    ticket, more = read_ticket(root, file)
    findings += more
    if mapping is not None and mapping.reads is not None:
        try:
            ticket, more = _with_rows(ticket, root, mapping, mapping.reads, time_zone, file)
        except FileRefused as refusal:
            return None, (*findings, refusal.finding)
        findings += more
    return ticket, tuple(findings)


def _with_rows(
    ticket: Ticket, root: Element, mapping: Mapping, reads: Reads, time_zone: str, file: str
) -> tuple[Ticket, list[Finding]]:
    opened = XmlRecords(root, reads, file)
    rows = RowReading(opened, mapping, reads, time_zone, file)
    numbered = list(enumerate(reads.fields, start=1))
    of_order = [(n, row) for n, row in numbered if row.field in OF_THE_ORDER]
    of_item = [(n, row) for n, row in numbered if row.field not in OF_THE_ORDER]
    findings: list[Finding] = []
    contexts = {Within.FILE: opened.root, Within.ORDER: opened.root}
    values = _changed(rows, of_order, contexts, ticket.values, findings)
    items: list[TicketItem] = []
    for item in ticket.items:
        record = _node_of(item, root, opened)
        around = {**contexts, Within.ITEM: record, Within.PART: record}
        of_this: list[Finding] = []
        changed = replace(item, values=_changed(rows, of_item, around, item.values, of_this))
        findings += [finding.about_part(changed.part_id(len(items))) for finding in of_this]
        items.append(changed)
    return replace(ticket, values=values, items=tuple(items)), findings


def _changed(
    rows: RowReading,
    numbered: list[tuple[int, FieldRow]],
    contexts: dict[Within, Record],
    standard: Map[str, Read],
    findings: list[Finding],
) -> dict[str, Read]:
    """The standard's values with those of rows in their places; the first row that gives one wins."""
    values = dict(standard)
    given: set[str] = set()
    for number, row in numbered:
        name = row.field.ticket_name
        if name in given:
            continue
        try:
            read = rows.read(number, row, contexts, standard.get(name))
        except ValueRefused as error:
            findings.append(error.finding)
            given.add(name)
            continue
        if read is not None:
            values[name] = read
            given.add(name)
    findings += rows.missing(numbered, values.keys() | given, contexts)
    return values


def _node_of(item: TicketItem, root: Element, opened: XmlRecords) -> Record:
    """The item's node, by its ID; the root where it has none."""
    node_id = item.values.get("node_id")
    found = root.xpath("descendant-or-self::*[@ID = $id]", id=node_id.raw) if node_id else []
    return opened.record(found[0]) if isinstance(found, list) and found else opened.root
