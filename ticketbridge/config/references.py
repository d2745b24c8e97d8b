"""Names that must exist elsewhere in the shop, and names that must not be there twice.

Looks at the files as read, not at the models, so that a wrong name is found in the same round as a wrong
number beside it.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from ticketbridge.config.complaints import hint, listed, quoted
from ticketbridge.config.document import EACH, Document, KeyPath
from ticketbridge.config.files import (
    MAPPINGS_FOLDER,
    PRESSES_FILE,
    PRINT_MODES_FILE,
    SETTINGS_FILE,
    STOCK_FILE,
    SUBSTRATES_FILE,
)
from ticketbridge.model.finding import Finding

KEYS_OF: Final = "keys"
"""As the last step of a pattern: not the values but the keys of that block."""


@dataclass(frozen=True, slots=True)
class Reference:
    """A place that names something defined elsewhere; ``MAPPINGS_FOLDER`` as file means every mapping."""

    file: str
    pattern: KeyPath
    kind: str


REFERENCES: Final = (
    Reference(SETTINGS_FILE, ("sources", EACH, "mapping"), "mapping"),
    Reference(SETTINGS_FILE, ("jmf", "senders", EACH, "source"), "source"),
    Reference(SETTINGS_FILE, ("jmf", "senders", EACH, "lanes", EACH), "lane"),
    Reference(SUBSTRATES_FILE, ("substrates", EACH, "print_modes", EACH), "print mode"),
    Reference(PRESSES_FILE, ("presses", EACH, "advance_mm", KEYS_OF), "print mode"),
    Reference(PRESSES_FILE, ("presses", EACH, "lanes", EACH, "roll", "substrate"), "substrate"),
    Reference(STOCK_FILE, ("stock", EACH, "substrate"), "substrate"),
    Reference(MAPPINGS_FOLDER, ("based_on",), "mapping"),
    Reference(MAPPINGS_FOLDER, ("substrates", EACH, "substrate"), "substrate"),
    Reference(MAPPINGS_FOLDER, ("print_modes", EACH, "substrate"), "substrate"),
    Reference(MAPPINGS_FOLDER, ("print_modes", EACH, "print_mode"), "print mode"),
    Reference(MAPPINGS_FOLDER, ("finishing", EACH, "substrate"), "substrate"),
)

DEFINED_IN: Final[Mapping[str, tuple[str, KeyPath]]] = {
    "source": (SETTINGS_FILE, ("sources", EACH, "id")),
    "lane": (PRESSES_FILE, ("presses", EACH, "lanes", EACH, "device_id")),
    "substrate": (SUBSTRATES_FILE, ("substrates", EACH, "id")),
    "print mode": (PRINT_MODES_FILE, ("print_modes", EACH, "id")),
}

UNIQUE: Final[tuple[tuple[str, KeyPath, str], ...]] = (
    (SETTINGS_FILE, ("sources", EACH, "id"), "source"),
    (SETTINGS_FILE, ("jmf", "senders", EACH, "id"), "sender"),
    (SUBSTRATES_FILE, ("substrates", EACH, "id"), "substrate"),
    (PRINT_MODES_FILE, ("print_modes", EACH, "id"), "print mode"),
    (PRESSES_FILE, ("presses", EACH, "id"), "press"),
    (PRESSES_FILE, ("presses", EACH, "lanes", EACH, "device_id"), "lane's device"),
)


def unknown_references(documents: Mapping[str, Document], mappings: Collection[str]) -> Iterator[Finding]:
    """Every name that leads nowhere, with the nearest one that exists.

    Args:
        documents: What could be read, by file name relative to the shop folder. Names defined in a file
            that is not among them are not judged.
        mappings: Ids of all mappings, also of those that could not be read.
    """
    for reference in REFERENCES:
        known = mappings if reference.kind == "mapping" else _defined(documents, *DEFINED_IN[reference.kind])
        if known is None:
            continue
        home = f"{MAPPINGS_FOLDER}/" if reference.kind == "mapping" else DEFINED_IN[reference.kind][0]
        for document in _documents_of(documents, reference.file):
            for path, name, of_key in _names(document, reference.pattern):
                if isinstance(name, str) and name not in known:
                    facts = {
                        "kind": reference.kind,
                        "name": quoted(name),
                        "home": home,
                        "known": listed(known),
                        "hint": hint(name, known, f"Add it to {home}, or correct the name."),
                    }
                    yield Finding("config.reference-unknown", document.place(path, of_key=of_key), facts)


def repeated_names(documents: Mapping[str, Document]) -> Iterator[Finding]:
    """Every id that is there twice; the second is the one complained about."""
    for file, pattern, kind in UNIQUE:
        if file in documents:
            yield from _repeated(documents[file], documents[file].find(pattern), kind)
    if PRESSES_FILE in documents:
        presses = documents[PRESSES_FILE]
        for press, _ in presses.find(("presses", EACH)):
            yield from _repeated(presses, presses.find((*press, "lanes", EACH, "id")), "lane")


def _repeated(document: Document, names: Iterator[tuple[KeyPath, object]], kind: str) -> Iterator[Finding]:
    first_lines: dict[str, int | None] = {}
    for path, name in names:
        if not isinstance(name, str):
            continue
        place = document.place(path)
        if name in first_lines:
            facts = {"kind": kind, "name": quoted(name), "first_line": first_lines[name]}
            yield Finding("config.id-twice", place, facts)
        else:
            first_lines[name] = place.line


def _defined(documents: Mapping[str, Document], file: str, pattern: KeyPath) -> Collection[str] | None:
    if file not in documents:
        return None
    return tuple(name for _, name in documents[file].find(pattern) if isinstance(name, str))


def _documents_of(documents: Mapping[str, Document], file: str) -> tuple[Document, ...]:
    if file == MAPPINGS_FOLDER:
        return tuple(
            document for name, document in documents.items() if name.startswith(f"{MAPPINGS_FOLDER}/")
        )
    return (documents[file],) if file in documents else ()


def _names(document: Document, pattern: KeyPath) -> Iterator[tuple[KeyPath, object, bool]]:
    if pattern[-1] != KEYS_OF:
        yield from ((path, value, False) for path, value in document.find(pattern))
        return
    for path, block in document.find(pattern[:-1]):
        yield from (((*path, name), name, True) for name in (block if isinstance(block, dict) else ()))
