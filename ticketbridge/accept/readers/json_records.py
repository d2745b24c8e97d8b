"""JSON (RFC 8259): records are values with their JSON Pointer, places are JSONPaths and pointers."""

import json
from typing import Any, NoReturn

from ticketbridge.accept.readers.records import Record
from ticketbridge.extract.expressions import ExpressionWrong, JsonNode, json_nodes
from ticketbridge.extract.found import Found
from ticketbridge.extract.rows import FileRefused
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.reads import Reads
from ticketbridge.model.shop import Limits


class JsonRecords:
    """One document."""

    def __init__(self, data: bytes, reads: Reads, limits: Limits, file: str) -> None:
        self._reads = reads
        self._file = file
        self.root = Record(parsed(data, limits, file), "", None)

    def orders(self) -> list[Record]:
        """The values at ``orders``, or the whole document; a list stands for its members."""
        if self._reads.orders is None:
            return self._members([self.root])
        return self.below(self.root, self._reads.orders)

    def below(self, record: Record, at: str) -> list[Record]:
        """The values at a place; a list stands for its members."""
        return self._members(
            [Record(node.value, record.path + node.pointer, None) for node in self._nodes(record, at)]
        )

    def find(self, record: Record, at: str) -> list[Found]:
        """The texts, numbers and truths at a place; a list stands for its members."""
        found = []
        for node in self._nodes(record, at):
            values = node.value if isinstance(node.value, list) else [node.value]
            for number, value in enumerate(values):
                path = f"{node.pointer}/{number}" if isinstance(node.value, list) else node.pointer
                if isinstance(value, dict | list):
                    raise self._refused(record, at, f"{path or 'it'} holds more than one value")
                text = _written(value)
                if text:
                    typed = value if isinstance(value, bool | int | float) else None
                    found.append(Found(text, record.path + path, None, typed))
        return found

    def in_words(self, at: str) -> str:
        """The JSONPath or pointer."""
        return at

    def _members(self, records: list[Record]) -> list[Record]:
        return [
            Record(value, path, None)
            for record in records
            for path, value in (
                [(f"{record.path}/{number}", value) for number, value in enumerate(record.handle)]
                if isinstance(record.handle, list)
                else [(record.path, record.handle)]
            )
        ]

    def _nodes(self, record: Record, at: str) -> list[JsonNode]:
        try:
            return json_nodes(at, record.handle)
        except ExpressionWrong as error:
            raise self._refused(record, at, str(error)) from error

    def _refused(self, record: Record, at: str, reason: str) -> FileRefused:
        place = Place(self._file, path=record.path or "/")
        return FileRefused(Finding("export.expression", place, {"at": at, "reason": reason}))


def parsed(data: bytes, limits: Limits, file: str) -> Any:
    """The document.

    Raises:
        FileRefused: It is no JSON that all readers read alike, or too large.
    """
    if len(data) > limits.ticket_bytes:
        facts = {"limit": limits.ticket_bytes}
        raise FileRefused(Finding("export.too-large", Place(file), facts))
    try:
        text = data.decode("utf-8-sig")
        return json.loads(text, object_pairs_hook=_once_each, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        place = Place(file, error.lineno, error.colno)
        raise FileRefused(Finding("export.not-json", place, {"reason": error.msg})) from error
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        reason = f"the byte 0x{data[error.start]:02X} is no UTF-8"
        raise FileRefused(Finding("export.not-json", Place(file, line), {"reason": reason})) from error
    except (ValueError, RecursionError) as error:
        reason = "it is nested too deeply" if isinstance(error, RecursionError) else str(error)[:200]
        raise FileRefused(Finding("export.not-json", Place(file), {"reason": reason})) from error


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Two members of one name have no meaning that all readers share (RFC 8259, section 4)."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f'the name "{twice}" stands twice in one object')
    return found


def _no_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number in JSON")


def _written(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return " ".join(value.split()) if isinstance(value, str) else str(value)
