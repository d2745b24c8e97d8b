"""Why the schema refused: which attribute, what was there, what is allowed.

lxml says quickly that something is wrong, and where. What exactly is wrong is found here, attribute by
attribute, with the types of the same schema in xmlschema; what is allowed is the type's own documentation.
"""

from collections.abc import Iterator
from typing import Any

from ticketbridge.jdf.kinds import Kind, type_descriptions
from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.prune import Pruned
from ticketbridge.jdf.schema_catalogue import explaining_schema
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.vocabulary.names import jdf

VALUE_SHOWN = 80
"""Characters of a wrong value that are repeated in a finding."""


def explain(pruned: Pruned, root_name: str, error_log: Any, file: str) -> Iterator[Finding]:
    """Findings for what lxml refused; at least one.

    Args:
        pruned: The document that was refused.
        root_name: ``JDF`` or ``JMF``.
        error_log: The log of the lxml schema that refused it.
        file: Name of the document.
    """
    explanation = _Explanation(root_name, file)
    kinds = dict(pruned.elements)
    explained: set[Element] = set()
    for entry in error_log:
        for element in pruned.root.xpath(entry.path):
            if element not in explained:
                explained.add(element)
                yield from list(explanation.of(element, kinds[element])) or [explanation.as_lxml_says(element, entry)]


class _Explanation:
    def __init__(self, root_name: str, file: str) -> None:
        self._types = explaining_schema(root_name).maps.types
        self._descriptions = type_descriptions(root_name)
        self._paths = Paths()
        self._file = file

    def of(self, element: Element, kind: Kind) -> Iterator[Finding]:
        """What is wrong with the attributes of one element."""
        for name, type_name in kind.attributes.items():
            value = element.get(name)
            if value is None:
                if name in kind.required:
                    yield self._finding("ticket.attribute-missing", element, name, kind)
            elif not self._fits(value, type_name) or value != kind.fixed.get(name, value):
                yield self._finding("ticket.attribute-wrong", element, name, kind, found=shown(value))

    def as_lxml_says(self, element: Element, entry: Any) -> Finding:
        """What no attribute explains, such as text between elements."""
        reason = str(entry.message).replace(jdf(""), "").partition("': ")[2]
        place = Place(self._file, element.sourceline, path=self._paths.of(element))
        return Finding("ticket.structure-wrong", place, {"element": local_name(element), "reason": reason})

    def _fits(self, value: str, type_name: str) -> bool:
        own = type_name.startswith("xs:")
        name = f"{{http://www.w3.org/2001/XMLSchema}}{type_name[3:]}" if own else jdf(type_name)
        return bool(self._types[name].is_valid(value))

    def _finding(self, code: str, element: Element, name: str, kind: Kind, **facts: type_of_fact) -> Finding:
        type_name = kind.attributes[name]
        allowed = kind.fixed.get(name) or self._descriptions.get(type_name, type_name.removeprefix("xs:"))
        return Finding(
            code,
            Place(self._file, element.sourceline, path=self._paths.of(element, name)),
            {"element": local_name(element), "attribute": name, "allowed": allowed} | facts,
        )


def shown(value: str) -> str:
    """A value from outside, short enough for a sentence."""
    return value if len(value) <= VALUE_SHOWN else f"{value[:VALUE_SHOWN]}..."
