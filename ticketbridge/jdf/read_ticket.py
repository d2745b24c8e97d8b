"""A ticket of either kind: product intent says what is wanted, a process ticket how to print it."""

from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.process_nodes import found_other_press, is_process_ticket, other_press
from ticketbridge.jdf.read_intent import is_product_intent, item_nodes, read_intent
from ticketbridge.jdf.read_process import read_process
from ticketbridge.jdf.resources import Resources
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.ticket import Ticket


def read_ticket(root: Element, file: str) -> tuple[Ticket, list[Finding]]:
    """Everything that a ticket says, and what it fails to say.

    Where an order has both, what is wanted counts, and its process nodes are kept for whoever made them.
    A value that does not fit the schema is left out; ``check`` says what is wrong with it.

    Args:
        root: Root of the document.
        file: Its name, for findings.
    """
    resources = Resources(root)
    wanted = is_product_intent(root)
    if wanted and item_nodes(root, resources):
        return read_intent(root, resources, file)
    if is_process_ticket(root):
        return read_process(root, resources, file)
    if wanted and other_press(root) is None:
        return read_intent(root, resources, file)
    return Ticket({}, ()), [_not_read(root, file)]


def can_be_read(root: Element) -> bool:
    """Whether a document is a ticket with something to print in it."""
    return (is_product_intent(root) and bool(item_nodes(root, Resources(root)))) or is_process_ticket(root)


def _not_read(root: Element, file: str) -> Finding:
    other = other_press(root)
    if other is not None:
        return found_other_press(*other, file, Paths())
    kind = root.get("Type")
    found = f"{local_name(root)} of Type {kind}" if kind else local_name(root)
    place = Place(file, root.sourceline, path=f"/{local_name(root)}" + ("/@Type" if kind else ""))
    return Finding("ticket.kind-not-read", place, {"found": found})
