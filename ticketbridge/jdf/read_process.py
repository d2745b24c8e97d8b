"""A process ticket to a ticket: each node that prints is an item, with everything it takes and makes."""

from dataclasses import replace

from ticketbridge.jdf.partitions import MOST_LEAVES, TooManyParts
from ticketbridge.jdf.process_nodes import is_held, left_alone, not_active, printing_nodes, waits
from ticketbridge.jdf.read_order import read_order
from ticketbridge.jdf.read_process_item import read_process_item
from ticketbridge.jdf.reading import Reading, read_items
from ticketbridge.jdf.remarks import hole_remarks, remarks
from ticketbridge.jdf.resources import Resources
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.ticket import Ticket


def read_process(root: Element, resources: Resources, file: str) -> tuple[Ticket, list[Finding]]:
    """Everything that a process ticket says, and what it fails to say.

    Nodes that do not print are kept for whoever made them. So are nodes that print and must not run, or have run;
    where no other is left, the ticket is refused for that reason.

    Args:
        root: Root of a document that has a node which prints.
        resources: Its resources.
        file: Its name, for findings.
    """
    reading = Reading(file, root, resources)
    nodes = printing_nodes(root)
    reasons = {node: reason for node in nodes if (reason := _why_not(reading, node)) is not None}
    to_run = [node for node in nodes if node not in reasons]
    if not to_run:
        return Ticket({}, ()), list(reasons.values())
    reading.findings += left_alone(reasons)
    values = read_order(reading, to_run)
    try:
        items = read_items(
            reading, to_run, lambda node: replace(read_process_item(reading, node), held=is_held(node))
        )
    except TooManyParts:
        place = Place(file, root.sourceline, path="/JDF")
        return Ticket(values, ()), [Finding("ticket.too-many-parts", place, {"limit": MOST_LEAVES})]
    said = remarks(reading, [root, *to_run]) + hole_remarks(reading, [root, *to_run])
    return Ticket(values, items, said), reading.findings


def _why_not(reading: Reading, node: Element) -> Finding | None:
    if not waits(node, reading.resources):
        place = Place(reading.file, node.sourceline, path=reading.paths.of(node, "Status"))
        return Finding("ticket.not-waiting", place, {"found": node.get("Status", "")})
    return not_active(node, reading.file, reading.paths)
