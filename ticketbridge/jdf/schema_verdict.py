"""What lxml says of a pruned document: its messages, none where the document fits the schema."""

from typing import Final

from lxml import etree

from ticketbridge.jdf.prune import Pruned
from ticketbridge.jdf.schema_catalogue import schema

LARGE: Final = 2000
"""Elements. Validating a tree, libxml2 counts the siblings of every element it refuses, which takes the square of
their number; validating while it parses, it does not, and stops reporting after a hundred. Measured with lxml 6.1:
40,000 refused siblings take 40 s one way and 0.1 s the other."""


def schema_messages(pruned: Pruned, root_name: str) -> list[str]:
    """Why the schema refuses a document, in libxml2's words; empty where it does not.

    Args:
        pruned: The document.
        root_name: ``JDF`` or ``JMF``.
    """
    validator = schema(root_name)
    if len(pruned.elements) <= LARGE:
        return (
            [] if validator.validate(pruned.root) else [str(entry.message) for entry in validator.error_log]
        )
    parser = etree.XMLParser(schema=validator, encoding="utf-8", resolve_entities=False, no_network=True)
    try:
        etree.fromstring(etree.tostring(pruned.root, encoding="utf-8"), parser)
    except etree.XMLSyntaxError as error:
        return [str(entry.message) for entry in error.error_log]
    return []
