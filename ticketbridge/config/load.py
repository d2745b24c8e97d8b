"""From a shop folder to a frozen ``Shop``, or to every complaint at once."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from ticketbridge.config.complaints import complaints, hint, in_file_order
from ticketbridge.config.cross_checks import Readings, cross_checks
from ticketbridge.config.document import Document, KeyPath, read_document
from ticketbridge.config.files import (
    FILES,
    MAPPINGS_FOLDER,
    PRESSES_FILE,
    PRINT_MODES_FILE,
    SETTINGS_FILE,
    STATE_FOLDER,
    STOCK_FILE,
    STORE_FILE,
    SUBSTRATES_FILE,
    PressesFile,
    PrintModesFile,
    StockFile,
    SubstratesFile,
)
from ticketbridge.config.mappings import MappingFiles, read_mappings
from ticketbridge.config.references import repeated_names, unknown_references
from ticketbridge.model.codes import refuses, remedy, sentence
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.mapping import Mapping as ShopMapping
from ticketbridge.model.mapping_version import hash_of
from ticketbridge.model.shop import Settings, Shop

_SUFFIX: Final = ".yaml"
_MAPPING_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,62}")


class ConfigRefused(Exception):
    """The shop cannot be run as it is configured.

    Attributes:
        findings: Every complaint, in the order of the files and their lines.
    """

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(
            "\n".join(f"{finding.place}: {sentence(finding)} {remedy(finding)}" for finding in findings)
        )
        self.findings = findings


@dataclass(frozen=True, slots=True)
class LoadedShop:
    """A shop that is right by itself; whether its folders are there is for ``folders.check_folders``.

    Attributes:
        shop: The frozen configuration.
        folder: The shop folder, absolute.
        documents: The files as read, by name relative to the folder: they know where every value stands.
        warnings: What is worth saying although it stops nothing.
        mapping_files: Every file that has a part in a mapping, its own first, by the mapping's id.
    """

    shop: Shop
    folder: Path
    documents: Mapping[str, Document]
    warnings: tuple[Finding, ...] = ()
    mapping_files: Mapping[str, tuple[Path, ...]] = field(default_factory=dict)

    @property
    def state_folder(self) -> Path:
        """Where the store lies."""
        return self.folder / STATE_FOLDER

    @property
    def store(self) -> Path | str:
        """Where the store is: the file of a SQLite store, or the address of a PostgreSQL database."""
        return self.shop.settings.store or self.state_folder / STORE_FILE

    def resolved(self, configured: str) -> Path:
        """A configured folder as a path: relative ones lie below the shop folder."""
        return self.folder / configured

    def place(self, file: str, path: KeyPath) -> Place:
        """Where a value of the configuration stands."""
        return self.documents[file].place(path)


def store_of(folder: Path) -> Path | str:
    """Where the store of a shop is, from ``shop.yaml`` alone: for commands that only look, also into a faulty shop."""
    document, _ = read_document(folder / SETTINGS_FILE)
    settings = document.data if document else None
    address = settings.get("store") if isinstance(settings, dict) else None
    return address if isinstance(address, str) else folder.resolve() / STATE_FOLDER / STORE_FILE


def load_shop(folder: Path, trying: Path | None = None) -> LoadedShop:
    """Reads and checks a shop folder.

    Args:
        folder: The folder that ``ticketbridge init`` made.
        trying: A mapping file elsewhere that is to count as one of the shop's, in the place of one of its name.

    Returns:
        The shop.

    Raises:
        ConfigRefused: With everything that is wrong, not only the first.
    """
    folder = folder.absolute()
    findings: list[Finding] = []
    documents: dict[str, Document] = {}
    try:
        if not any((folder / name).exists() for name in FILES):
            raise ConfigRefused((Finding("config.shop-missing", Place(str(folder))),))
        names, strangers = _names(folder)
    except OSError as error:
        unreadable = Place(str(error.filename or folder))
        facts = {"why": error.strerror or str(error)}
        raise ConfigRefused((Finding("config.file-unreadable", unreadable, facts),)) from error
    files = {name: folder / name for name in names}
    if trying is not None:
        files[f"{MAPPINGS_FOLDER}/{trying.stem}.yaml"] = trying.absolute()
    for name, file in files.items():
        document, faults = read_document(file)
        findings += faults
        if document:
            documents[name] = document
            findings += complaints(document, FILES[name]) if name in FILES else ()
    mappings = read_mappings(documents)
    findings += [finding for mapping in mappings.values() for finding in mapping.findings]
    findings += unknown_references(
        documents, [file.stem for name, file in files.items() if name not in FILES]
    )
    findings += repeated_names(documents)
    findings += cross_checks(Readings(folder, documents))
    found = (*strangers, *in_file_order(findings, list(files.values())))
    if refuses(found):
        raise ConfigRefused(found)
    mapping_files = {name: mapping.files for name, mapping in mappings.items()}
    return LoadedShop(_shop(documents, mappings), folder, documents, found, mapping_files)


def _names(folder: Path) -> tuple[list[str], list[Finding]]:
    """The files to read, and complaints about YAML files that nobody would ever read."""
    strangers = [
        Finding(
            "config.file-unknown", Place(str(file)), {"name": file.name, "hint": _file_hint(file.name, FILES)}
        )
        for file in _yaml_files(folder)
        if file.name not in FILES
    ]
    mappings = []
    for file in _yaml_files(folder / MAPPINGS_FOLDER):
        if file.suffix == _SUFFIX and _MAPPING_NAME.fullmatch(file.stem):
            mappings.append(f"{MAPPINGS_FOLDER}/{file.name}")
        else:
            facts = {
                "name": file.name,
                "hint": "Name it <id>.yaml, the id of letters, digits, dots and hyphens.",
            }
            strangers.append(Finding("config.file-unknown", Place(str(file)), facts))
    return [*FILES, *mappings], strangers


def _file_hint(name: str, known: Mapping[str, object]) -> str:
    return hint(name, known, f"Move it elsewhere; mappings belong in {MAPPINGS_FOLDER}/.")


def _yaml_files(folder: Path) -> Iterator[Path]:
    if folder.is_dir():
        for file in sorted(folder.iterdir()):
            if file.suffix.lower() in (_SUFFIX, ".yml") and not file.name.startswith("."):
                yield file


def _shop(documents: Mapping[str, Document], mappings: Mapping[str, MappingFiles]) -> Shop:
    """The shop of files that are known to fit their models."""
    substrates = SubstratesFile.model_validate(documents[SUBSTRATES_FILE].data).substrates
    print_modes = PrintModesFile.model_validate(documents[PRINT_MODES_FILE].data).print_modes
    presses = PressesFile.model_validate(documents[PRESSES_FILE].data).presses
    return Shop(
        settings=Settings.model_validate(documents[SETTINGS_FILE].data),
        substrates={substrate.id: substrate for substrate in substrates},
        print_modes={mode.id: mode for mode in print_modes},
        presses={press.id: press for press in presses},
        mappings={
            mapping_id: ShopMapping.model_validate(mapping.data) for mapping_id, mapping in mappings.items()
        },
        mapping_hashes={
            mapping_id: hash_of({file.name: _content(file) for file in mapping.files})
            for mapping_id, mapping in mappings.items()
        },
        stock=StockFile.model_validate(documents[STOCK_FILE].data).stock,
    )


def _content(file: Path) -> bytes:
    """A file that was just read; one that went away meanwhile makes another version."""
    try:
        return file.read_bytes()
    except OSError:
        return b""
