"""What lies in a drop folder and is no ticket. The list is documented in ``hotfolders/README.md``."""

from enum import Enum
from typing import Final

from ticketbridge.model.mapping import Mapping
from ticketbridge.model.reads import FileKind
from ticketbridge.model.shop import Source

LITTER_BEGINNINGS: Final = {
    ".": "hidden files, and the side files that desktops and file servers leave (._x, .DS_Store, .nfs...)",
    "~": "lock and owner files of office programs (~$x, ~x)",
    "@": "side folders of storage boxes (@eaDir)",
}
"""Names that begin so are left alone."""

LITTER_ENDINGS: Final = {
    ".tmp": "a file on its way, to be renamed when it is whole",
    ".temp": "the same",
    ".part": "an upload in progress",
    ".partial": "the same",
    ".filepart": "the same",
    ".crdownload": "a download in progress",
    ".download": "the same",
    ".swp": "an editor's swap file",
    ".bak": "a backup copy",
    "~": "an editor's backup copy",
    ".lock": "a lock",
}
"""Names that end so, in upper or lower case, are left alone."""

LITTER_NAMES: Final = {
    "thumbs.db": "a desktop's picture cache",
    "desktop.ini": "a desktop's folder settings",
    "ehthumbs.db": "a desktop's picture cache",
}
"""These names, in upper or lower case, are left alone."""

TICKET_ENDINGS: Final = (".jdf", ".xml")
"""Names that end so, in upper or lower case, are taken as tickets."""

MESSAGE_ENDINGS: Final = (".jmf",)
"""Names that end so are taken as messages: commands to the queue."""

ORDER_LINES_ENDINGS: Final = (".csv",)
"""Names that end so are taken as order lines, where the source's mapping reads them."""

SHEET_ENDINGS: Final = (".xlsx",)
"""The same, as a spreadsheet."""

JSON_ENDINGS: Final = (".json",)
"""Names that end so are taken as orders, where the source's mapping reads them."""

PDF_ENDINGS: Final = (".pdf",)
"""Artwork that is taken as an order, where the source has a standing ticket; else it waits like other artwork."""

ARTWORK_ENDINGS: Final = (".tif", ".tiff", ".jpg", ".jpeg", ".png", ".eps", ".svg")
"""Artwork that waits in the drop folder for the ticket that names it."""


class Kind(Enum):
    """What a name in a drop folder is taken for."""

    TICKET = "ticket"
    MESSAGE = "message"
    ORDER_LINES = "order lines"
    SHEET = "order lines in a spreadsheet"
    JSON = "orders as JSON"
    PDF = "artwork as PDF"
    ARTWORK = "artwork"
    LITTER = "litter"
    UNKNOWN = "unknown"


ENDS_ANYWHERE: Final = (Kind.ORDER_LINES, Kind.SHEET, Kind.JSON)
"""Kinds of files that nothing at their end shows to be whole."""


def kind_of(name: str) -> Kind:
    """What the name is taken for; nothing is opened for this."""
    folded = name.casefold()
    if (
        folded.startswith(tuple(LITTER_BEGINNINGS))
        or folded.endswith(tuple(LITTER_ENDINGS))
        or folded in LITTER_NAMES
    ):
        return Kind.LITTER
    if folded.endswith(TICKET_ENDINGS):
        return Kind.TICKET
    if folded.endswith(MESSAGE_ENDINGS):
        return Kind.MESSAGE
    if folded.endswith(ORDER_LINES_ENDINGS):
        return Kind.ORDER_LINES
    if folded.endswith(SHEET_ENDINGS):
        return Kind.SHEET
    if folded.endswith(JSON_ENDINGS):
        return Kind.JSON
    if folded.endswith(PDF_ENDINGS):
        return Kind.PDF
    if folded.endswith(ARTWORK_ENDINGS):
        return Kind.ARTWORK
    return Kind.UNKNOWN


_KIND_READ: Final = {
    FileKind.CSV: Kind.ORDER_LINES,
    FileKind.XLSX: Kind.SHEET,
    FileKind.JSON: Kind.JSON,
}


def kinds_taken(source: Source, mapping: Mapping) -> frozenset[Kind]:
    """What a source takes out of its drop folder; the rest stays there."""
    taken = {Kind.TICKET, Kind.MESSAGE}
    if mapping.reads is not None and mapping.reads.kind in _KIND_READ:
        taken.add(_KIND_READ[mapping.reads.kind])
    if source.standing_ticket is not None:
        taken.add(Kind.PDF)
    return frozenset(taken)


def shows_end(name: str) -> bool:
    """Whether a file of that name surely shows when it is whole.

    Order lines may end after any line, and a PDF that was changed has an end mark in its middle.
    """
    return kind_of(name) not in (Kind.PDF, *ENDS_ANYWHERE)
