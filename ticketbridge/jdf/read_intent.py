"""Product intent to a ticket: what the customer wants, with the place of every value.

A ticket holds an order; each Product node in it that asks for a size or a substrate is an item. What is meant
for the order as a whole stands at the root.
"""

from dataclasses import replace
from typing import Final

from ticketbridge.jdf.process_nodes import found_other_press, is_held, left_alone, not_active, other_press
from ticketbridge.jdf.read_item import read_item
from ticketbridge.jdf.read_order import read_order
from ticketbridge.jdf.reading import Reading, read_items
from ticketbridge.jdf.remarks import remarks
from ticketbridge.jdf.resources import Resources
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.ticket import Ticket
from ticketbridge.vocabulary.names import jdf

_INTENTS_OF_AN_ITEM: Final = ("LayoutIntent", "MediaIntent")


def is_product_intent(root: Element) -> bool:
    """Whether a document says what is wanted, and not how to make it."""
    return root.tag == jdf("JDF") and root.get("Type") == "Product"


def item_nodes(root: Element, resources: Resources) -> list[Element]:
    """The Product nodes with a LayoutIntent or a MediaIntent of their own, in document order."""
    nodes = [node for node in root.iter(jdf("JDF")) if node.get("Type") == "Product"]
    return [
        node for node in nodes if any(resources.used(node, name) is not None for name in _INTENTS_OF_AN_ITEM)
    ]


def read_intent(root: Element, resources: Resources, file: str) -> tuple[Ticket, list[Finding]]:
    """Everything that a ticket of product intent says, and what it fails to say.

    A value that does not fit the schema is left out; ``check`` says what is wrong with it. Nodes that must not
    run are kept for whoever made them; where no other is left, the ticket is refused for that reason.

    Args:
        root: Root of a document of product intent.
        resources: Its resources.
        file: Its name, for findings.
    """
    reading = Reading(file, root, resources)
    ordered = item_nodes(root, resources)
    reasons = {node: why for node in ordered if (why := not_active(node, file, reading.paths)) is not None}
    nodes = [node for node in ordered if node not in reasons]
    if ordered and not nodes:
        return Ticket({}, ()), list(reasons.values())
    reading.findings += left_alone(reasons)
    values = read_order(reading, nodes)
    if not nodes:
        reading.findings.append(Finding("ticket.no-item", Place(file, root.sourceline, path="/JDF")))
    for node in nodes:
        planned = other_press(node)
        if planned is not None:
            reading.findings.append(found_other_press(*planned, file, reading.paths))
    only_item = len(nodes) == 1
    items = read_items(
        reading,
        nodes,
        lambda node: replace(read_item(reading, node, only_item=only_item), held=is_held(node)),
    )
    return Ticket(values, items, remarks(reading, [root, *nodes])), reading.findings
