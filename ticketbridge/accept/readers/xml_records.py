"""Plain XML, and JDF beyond what the standard's reading gives: records are elements, places are XPaths."""

import math
from typing import Any

from ticketbridge.accept.readers.records import Record
from ticketbridge.extract.expressions import ExpressionWrong, Node, nodes
from ticketbridge.extract.found import Found
from ticketbridge.extract.rows import FileRefused, Typed
from ticketbridge.jdf.paths import Paths
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.reads import Reads


class XmlRecords:
    """One document; safe to walk, as ``jdf.safe_xml`` has parsed it."""

    def __init__(self, root: Element, reads: Reads, file: str) -> None:
        self._reads = reads
        self._file = file
        self._paths = Paths()
        self.root = self.record(root)

    def record(self, element: Element) -> Record:
        """An element as a record."""
        return Record(element, self._paths.of(element), element.sourceline)

    def orders(self) -> list[Record]:
        """The elements at ``orders``, or the root."""
        return [self.root] if self._reads.orders is None else self.below(self.root, self._reads.orders)

    def below(self, record: Record, at: str) -> list[Record]:
        """The elements at a place."""
        found = self._nodes(record, at)
        if any(node.element is None or node.attribute is not None for node in found):
            raise self._refused(record, at, "it leads to texts, and elements are asked for")
        return [self.record(node.element) for node in found]

    def find(self, record: Record, at: str) -> list[Found]:
        """The texts of elements and attributes, and what the expression computes."""
        found = [self._found(record, at, node) for node in self._nodes(record, at)]
        return [one for one in found if one.raw]

    def in_words(self, at: str) -> str:
        """The XPath."""
        return at

    def _nodes(self, record: Record, at: str) -> list[Node]:
        try:
            return nodes(at, self._reads.kind, self._reads.namespaces, record.handle)
        except ExpressionWrong as error:
            raise self._refused(record, at, str(error)) from error

    def _found(self, record: Record, at: str, node: Node) -> Found:
        element = record.handle if node.element is None else node.element
        if node.attribute is not None:
            text, path = element.get(node.attribute, ""), self._paths.of(element, node.attribute)
        elif node.value is None:
            text, path = "".join(element.itertext()), self._paths.of(element)
        else:
            text, path = _written(node.value), f"{self._paths.of(element)}: {at}"
            return Found(" ".join(text.split()), path, element.sourceline, _typed(node.value))
        return Found(" ".join(text.split()), path, element.sourceline)

    def _refused(self, record: Record, at: str, reason: str) -> FileRefused:
        place = Place(self._file, record.line, path=record.path)
        return FileRefused(Finding("export.expression", place, {"at": at, "reason": reason}))


def _written(value: Any) -> str:
    """As XPath's string() writes it; what is not a number is nothing."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        if not math.isfinite(value):
            return ""
        return str(int(value)) if value.is_integer() else repr(value)
    return str(value)


def _typed(value: Any) -> Typed | None:
    return value if isinstance(value, bool | int | float) else None
