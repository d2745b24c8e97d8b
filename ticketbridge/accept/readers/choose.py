"""Which reader a file is for: the standard's for JDF, the mapping's rows for everything else.

Whatever a person's expressions have a part in happens in a child process with a limit in time.
"""

import pickle
from functools import lru_cache
from typing import Final

from ticketbridge.accept.litter import Kind, kind_of
from ticketbridge.accept.readers.by_mapping import Tickets, read_by_mapping
from ticketbridge.accept.readers.jdf_rows import read_jdf
from ticketbridge.extract.apart import APART, TookTooLong
from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.reads import FileKind
from ticketbridge.model.shop import Limits

STANDARD_ROOTS: Final = frozenset({"JDF", "JMF", "XJDF", "XJMF"})
KIND_OF_FILE: Final = {
    Kind.ORDER_LINES: FileKind.CSV,
    Kind.SHEET: FileKind.XLSX,
    Kind.JSON: FileKind.JSON,
}
"""What files of a kind must be read as; those taken for tickets may be JDF or plain XML."""


def read_orders(data: bytes, file: str, mapping: Mapping, limits: Limits, time_zone: str) -> Tickets:
    """Every order of a file, whatever kind it is, without its artwork.

    Args:
        data: The file.
        file: Its name: for findings, and to tell what kind it is of.
        mapping: The source's.
        limits: What a single file may ask of the machine.
        time_zone: The shop's, for dates.
    """
    kind = kind_of(file)
    reads = mapping.reads
    wanted = KIND_OF_FILE.get(kind)
    if wanted is None:
        by_rows = reads is not None and reads.kind is FileKind.XML and not is_standard(data, limits, file)
        if not by_rows and (reads is None or reads.kind is not FileKind.JDF):
            return [read_jdf(data, None, limits, time_zone, file)]
    elif reads is None or reads.kind is not wanted:
        return [(None, (Finding("export.not-read", Place(file), {"kind": wanted.value}),))]
    try:
        return APART.call(limits.reading_s, _read_apart, data, _packed(mapping), limits, time_zone, file)
    except TookTooLong as error:
        facts = {"doing": error.doing, "limit": error.limit}
        return [(None, (Finding("export.too-long", Place(file), facts),))]


def _read_apart(data: bytes, packed: bytes, limits: Limits, time_zone: str, file: str) -> Tickets:
    mapping = _unpacked(packed)
    if mapping.reads is not None and mapping.reads.kind is FileKind.JDF:
        return [read_jdf(data, mapping, limits, time_zone, file)]
    return read_by_mapping(data, mapping, limits, time_zone, file)


def is_standard(data: bytes, limits: Limits, file: str) -> bool:
    """Whether it is a document of the standard; what does not parse is told by whoever reads it."""
    try:
        return local_name(parse(data, limits, file)) in STANDARD_ROOTS
    except XmlRefused:
        return False


_kept: list[tuple[Mapping, bytes]] = []


def _packed(mapping: Mapping) -> bytes:
    """The mapping for the child, packed once as long as it is the same one."""
    for known, packed in _kept:
        if known is mapping:
            return packed
    _kept[:0] = [(mapping, pickle.dumps(mapping))]
    del _kept[8:]
    return _kept[0][1]


@lru_cache(maxsize=8)
def _unpacked(packed: bytes) -> Mapping:
    found: Mapping = pickle.loads(packed)  # noqa: S301  our own parent packed it
    return found
