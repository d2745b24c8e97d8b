"""The mappings of a shop as they count: each with what it is based on, and with the rows of its spreadsheets."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from ticketbridge.config.complaints import complaints
from ticketbridge.config.document import Document
from ticketbridge.config.files import MAPPING_MODEL, MAPPINGS_FOLDER
from ticketbridge.config.mapping_checks import mapping_findings, tables_of
from ticketbridge.config.table_files import table_rows, with_rows
from ticketbridge.model.finding import Finding
from ticketbridge.model.lookup import LookupTable


@dataclass(frozen=True, slots=True)
class MappingFiles:
    """One mapping as read.

    Attributes:
        data: What its model is made of.
        files: Every file that has a part in it, its own first: the content is its version.
        findings: What is wrong with it.
    """

    data: dict[str, Any]
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


def read_mappings(documents: Mapping[str, Document]) -> dict[str, MappingFiles]:
    """Every mapping by its id.

    Args:
        documents: The shop's files as read, by name relative to its folder.
    """
    found = {
        document.file.stem: document
        for name, document in documents.items()
        if name.startswith(f"{MAPPINGS_FOLDER}/")
    }
    return {mapping_id: _read(document, found) for mapping_id, document in found.items()}


def _read(document: Document, found: Mapping[str, Document]) -> MappingFiles:
    if not isinstance(document.data, dict):
        return MappingFiles({}, (document.file,), tuple(complaints(document, MAPPING_MODEL)))
    findings: list[Finding] = []
    base = _base(document, found)
    if why := _wrong_base(document, base):
        findings.append(Finding("config.contradiction", document.place(("based_on",)), {"why": why}))
    chain = [document] if base is None else [base, document]
    rows, table_files, faults = _spreadsheets(chain)
    findings += [fault for of, fault in faults if of is document]
    data: dict[str, Any] = {}
    for one in chain:
        data |= one.data
    if isinstance(data.get("tables"), dict):
        data["tables"] = {name: block for one in chain for name, block in _block(one, "tables").items()}
        data = with_rows(data, rows)
    findings += _own_complaints(document, data, base)
    names = data["tables"].keys() if isinstance(data.get("tables"), dict) else ()
    findings += mapping_findings(document, names, tables_of(data))
    files = (*(one.file for one in reversed(chain)), *table_files)
    return MappingFiles(data, files, tuple(findings))


def _wrong_base(document: Document, base: Document | None) -> str | None:
    if _base_id(document) == document.file.stem:
        return "a mapping cannot be based on itself"
    if base is not None and _base_id(base) is not None:
        return f"{base.file.stem} is itself based on another mapping; name that one"
    return None


def _own_complaints(document: Document, data: dict[str, Any], base: Document | None) -> Iterator[Finding]:
    """What the model does not allow; what stands in the base is told there."""
    own = document.data.keys()
    for finding, key in complaints_by_key(replace(document, data=data)):
        if base is None or key is None or key in own or key not in base.data:
            yield finding


def complaints_by_key(document: Document) -> Iterator[tuple[Finding, str | None]]:
    """The model's complaints, each with the key at the top of the file that it is about."""
    for finding in complaints(document, MAPPING_MODEL):
        path = finding.place.path or ""
        yield finding, path.partition(".")[0].partition("[")[0] or None


def _spreadsheets(
    chain: list[Document],
) -> tuple[dict[str, list[dict[str, str]]], list[Path], list[tuple[Document, Finding]]]:
    rows: dict[str, list[dict[str, str]]] = {}
    files: list[Path] = []
    faults: list[tuple[Document, Finding]] = []
    for document in chain:
        for name, block in _block(document, "tables").items():
            rows.pop(name, None)
            try:
                table = LookupTable.model_validate(block)
            except ValidationError:
                continue
            if table.file is None:
                continue
            file = document.file.parent / table.file
            found, findings = table_rows(file, table)
            rows[name] = found
            files.append(file)
            faults += [(document, finding) for finding in findings]
    return rows, files, faults


def _block(document: Document, key: str) -> dict[str, Any]:
    block = document.data.get(key)
    return block if isinstance(block, dict) else {}


def _base_id(document: Document) -> str | None:
    name = document.data.get("based_on") if isinstance(document.data, dict) else None
    return name if isinstance(name, str) else None


def _base(document: Document, found: Mapping[str, Document]) -> Document | None:
    base = found.get(_base_id(document) or "")
    return base if base is not None and base is not document and isinstance(base.data, dict) else None
