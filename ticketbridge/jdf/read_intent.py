"""Product intent to a ticket: what the customer wants, with the place of every value.

A ticket holds an order; each Product node in it that asks for a size or a substrate is an item. What is meant
for the order as a whole stands at the root.
"""

from typing import Final

from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.read_item import read_item
from ticketbridge.jdf.read_order import read_order
from ticketbridge.jdf.reading import Reading
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.ticket import Ticket
from ticketbridge.vocabulary.names import jdf

_INTENTS_OF_AN_ITEM: Final = ("LayoutIntent", "MediaIntent")


def is_product_intent(root: Element) -> bool:
    """Whether a document says what is wanted, and not how to make it."""
    return root.tag == jdf("JDF") and root.get("Type") == "Product"


def item_nodes(root: Element) -> list[Element]:
    """The Product nodes with a LayoutIntent or a MediaIntent of their own, in document order."""
    return _items(Reading("", root))


def read_ticket(root: Element, file: str) -> tuple[Ticket, list[Finding]]:
    """Everything that a ticket of product intent says, and what it fails to say.

    A value that does not fit the schema is left out; ``check`` says what is wrong with it.

    Args:
        root: Root of the document.
        file: Its name, for findings.
    """
    if not is_product_intent(root):
        kind = root.get("Type")
        found = f"{local_name(root)} of Type {kind}" if kind else local_name(root)
        place = Place(file, root.sourceline, path=f"/{local_name(root)}" + ("/@Type" if kind else ""))
        return Ticket({}, ()), [Finding("ticket.kind-not-read", place, {"found": found})]
    reading = Reading(file, root)
    nodes = _items(reading)
    values = read_order(reading, nodes)
    if not nodes:
        reading.findings.append(Finding("ticket.no-item", Place(file, root.sourceline, path="/JDF")))
    items = tuple(read_item(reading, node, only_item=len(nodes) == 1) for node in nodes)
    return Ticket(values, items, _comments([root, *nodes])), reading.findings


def _items(reading: Reading) -> list[Element]:
    nodes = [node for node in reading.root.iter(jdf("JDF")) if node.get("Type") == "Product"]
    return [
        node
        for node in nodes
        if any(reading.resources.used(node, name) is not None for name in _INTENTS_OF_AN_ITEM)
    ]


def _comments(nodes: list[Element]) -> tuple[str, ...]:
    """What the nodes say to people."""
    comments = (comment for node in dict.fromkeys(nodes) for comment in node.iterfind(jdf("Comment")))
    texts = (" ".join("".join(comment.itertext()).split()) for comment in comments)
    return tuple(text for text in texts if text)
