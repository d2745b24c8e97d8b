"""What JDF tickets say beyond the standard's own reading: comments, ids, attributes of somebody's own."""

from collections.abc import Sequence
from typing import Any, Final

from ticketbridge.accept.readers.jdf_rows import read_jdf
from ticketbridge.extract.found import Found
from ticketbridge.jdf.safe_xml import parse
from ticketbridge.jdf.writing import Element
from ticketbridge.model.reads import FileKind, Within
from ticketbridge.model.shop import Limits
from ticketbridge.model.ticket import TicketItem
from ticketbridge.model.ticket_field import OF_THE_ORDER, TicketField
from ticketbridge.prove.draft.survey import NothingFound, Spot, Survey
from ticketbridge.vocabulary.names import JDF_NAMESPACE

PREFIX: Final = "jdf"
_HELD: Final = {
    "Comment": ("@Name", ""),
    "GeneralID": ("@IDUsage", "/@IDValue"),
}
"""Elements that hold what the standard has no place for: what names them, and where their value stands."""
_READ_ANYWAY: Final = frozenset({"PrintMode"})


def survey_jdf(samples: Sequence[tuple[str, bytes]], limits: Limits, time_zone: str) -> Survey:
    """What tickets hold besides.

    Args:
        samples: Names and contents.
        limits: What a single ticket may ask of the machine.
        time_zone: The shop's.

    Raises:
        NothingFound: One is no ticket.
    """
    standard: dict[TicketField, list[Found | None]] = {}
    nodes: list[Element] = []
    for file, data in samples:
        ticket, findings = read_jdf(data, None, limits, time_zone, file)
        if ticket is None:
            codes = ", ".join(dict.fromkeys(finding.code for finding in findings))
            raise NothingFound(f"{file} is no ticket by the standard: {codes}")
        root = parse(data, limits, file)
        for item in ticket.items or (TicketItem({}),):
            node_id = item.values.get("node_id")
            found: Any = root.xpath("descendant-or-self::*[@ID = $id]", id=node_id.raw) if node_id else []
            nodes.append(found[0] if found else root)
            for field in TicketField:
                read = (ticket.values if field in OF_THE_ORDER else item.values).get(field.ticket_name)
                standard.setdefault(field, []).append(Found(read.raw, read.path, read.line) if read else None)
    given = {field: tuple(values) for field, values in standard.items() if any(values)}
    spots = [Spot(at, Within.ITEM, name, (), values) for at, name, values in _held(nodes)]
    survey = Survey(FileKind.JDF, spots, levels=(Within.FILE, Within.ORDER, Within.ITEM))
    survey.standard = given
    return survey


def _held(nodes: Sequence[Element]) -> list[tuple[str, str, tuple[Found | None, ...]]]:
    found: dict[tuple[str, str], list[Found | None]] = {}
    for place, node in enumerate(nodes):
        for child in node:
            for element, (key, value) in _HELD.items():
                if child.tag != f"{{{JDF_NAMESPACE}}}{element}":
                    continue
                name = child.get(key[1:], "")
                text = child.get(value[2:], "") if value else "".join(child.itertext())
                if not name or name in _READ_ANYWAY or "'" in name or not text.strip():
                    continue
                at = f"{PREFIX}:{element}[{key}='{name}']{value}"
                values = found.setdefault((at, name), [None] * len(nodes))
                values[place] = Found(" ".join(text.split()), at, child.sourceline)
    return [(at, name, tuple(values)) for (at, name), values in found.items()]
