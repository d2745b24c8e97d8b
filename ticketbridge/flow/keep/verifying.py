"""Whether folders, store and archives agree: everything is compared, nothing is changed.

A bridge that runs moves files while they are looked at, so whoever asks looks twice and believes what stays.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from ticketbridge.accept.artwork import hash_of
from ticketbridge.flow.moving_out import ACCEPTED, ARTWORK, NOTE_ENDING, REFUSED, REPEATED
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.told_state import states_told
from ticketbridge.spool.archives import ArchiveBroken, archives_in, prove_archive
from ticketbridge.spool.places import CLAIM_SEPARATOR, ShopPlaces, SourcePlaces, claim_of
from ticketbridge.store.keeping import ARCHIVED, KnownFile
from ticketbridge.store.transaction import Transaction

STAYS: Final = (ACCEPTED, ARTWORK, REPEATED)
"""Folders that only the bridge changes. Out of ``refused`` people may take what they like."""


@dataclass(slots=True)
class Agreement:
    """What was compared, and what does not agree."""

    files: int = 0
    jobs: int = 0
    archives: int = 0
    archived_files: int = 0
    findings: list[Finding] = field(default_factory=list)


def verify(places: ShopPlaces, source_folders: Mapping[str, str], tx: Transaction) -> Agreement:
    """Compare everything once.

    Args:
        places: The shop folder.
        source_folders: The folder of each source, by its id.
        tx: A read-only view of the store.

    Raises:
        PermissionError: This account may not read something.
    """
    found = Agreement()
    found.findings += [
        Finding("keeping.store-broken", Place(str(places.state)), {"said": said})
        for said in tx.complaints_of_the_database()
    ]
    known = tx.known_files()
    for source_id, folder in source_folders.items():
        mine = {name: one for name, one in known.items() if one.source == source_id}
        _compare_files(places.source(folder), mine, found)
    for queue_entry_id, state, history in tx.histories():
        found.jobs += 1
        if state not in states_told(history):
            facts = {"queue_entry_id": queue_entry_id, "state": state.value}
            found.findings.append(Finding("keeping.history-differs", Place(), facts))
    _prove_archives(places, found)
    return found


def _compare_files(source: SourcePlaces, known: Mapping[str, KnownFile], found: Agreement) -> None:
    lying = {place: dict(_claims_in(source.folder / place)) for place in (*STAYS, REFUSED)}
    claimed = dict(_claims_in(source.claimed))
    for claim_id, file in known.items():
        if file.place not in STAYS:
            continue
        found.files += 1
        path = lying[file.place].get(claim_id) or claimed.get(claim_id)
        finding = _compare(path, file, source) if path else _gone(file, source)
        if finding is not None:
            found.findings.append(finding)
    for place, paths in lying.items():
        for claim_id, path in paths.items():
            one = known.get(claim_id)
            if one is None or one.place not in (place, ARCHIVED):
                facts = {"path": str(path), "name": claim_of(path.name)[1]}
                found.findings.append(Finding("keeping.file-unknown", Place(str(path)), facts))


def _compare(path: Path, file: KnownFile, source: SourcePlaces) -> Finding | None:
    if not file.sha256:
        return None
    try:
        same = hash_of(path) == file.sha256
    except FileNotFoundError:
        return _gone(file, source)
    return None if same else Finding("keeping.file-changed", Place(str(path)), {"path": str(path)})


def _gone(file: KnownFile, source: SourcePlaces) -> Finding:
    folder = source.folder / file.place
    facts = {"name": file.original_name, "folder": str(folder), "claim_id": file.claim_id}
    return Finding("keeping.file-gone", Place(str(folder)), facts)


def _claims_in(folder: Path) -> Iterator[tuple[str, Path]]:
    """Claimed files by their claim; notes beside them, markers and folders are none."""
    for path in folder.iterdir() if folder.is_dir() else ():
        name = path.name
        if name[0] != "." and CLAIM_SEPARATOR in name and not name.endswith(NOTE_ENDING) and path.is_file():
            yield claim_of(name)[0], path


def _prove_archives(places: ShopPlaces, found: Agreement) -> None:
    for archive in archives_in(places.archive):
        found.archives += 1
        try:
            found.archived_files += prove_archive(archive)
        except ArchiveBroken as error:
            facts = {"archive": str(archive), "said": str(error)}
            found.findings.append(Finding("keeping.archive-broken", Place(str(archive)), facts))
