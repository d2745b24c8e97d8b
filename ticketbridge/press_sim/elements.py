"""Writing JDF and JMF elements that hold nothing newer than the version they are written for.

The dates are facts of the standard's schema (its version notes), for the names the press writes.
"""

from collections.abc import Mapping
from typing import Final

from lxml import etree

from ticketbridge.press_sim.consumption import Used
from ticketbridge.vocabulary.names import JDF_NAMESPACE, XSI_NAMESPACE, jdf
from ticketbridge.vocabulary.units import number

Version = tuple[int, int]

SINCE: Final[Mapping[str, Version]] = {
    "DeviceInfo@IdleStartTime": (1, 4),
    "JobPhase@EndTime": (1, 7),
    "Notification@QueueEntryID": (1, 4),
    "Part@LotID": (1, 6),
    "PhaseTime@QueueEntryID": (1, 4),
    "ProcessRun@QueueEntryID": (1, 4),
    "ProcessRun@ReturnTime": (1, 4),
    "ProcessRun@SubmissionTime": (1, 4),
    "ResourceInfo@DeviceID": (1, 5),
    "ResourceInfo@Scope": (1, 5),
}
"""Attributes of ours that came after 1.3, the oldest version the press can speak."""

LOT_ELEMENT: Final[tuple[Version, Version]] = ((1, 3), (1, 5))
"""First and last version in which a link names its lots by a Lot element; later ones use ``Part@LotID``."""

LOT_ELEMENT_IN_SIGNAL: Final[tuple[Version, Version]] = ((1, 4), (1, 5))
"""The same for ``ResourceInfo/Lot``."""


def add(
    parent: "etree._Element", name: str, version: Version, attributes: Mapping[str, str | None]
) -> "etree._Element":
    """Append an element; attributes without a value, or newer than the version, are left out."""
    element = etree.SubElement(parent, jdf(name))
    for attribute, value in attributes.items():
        if value is not None and SINCE.get(f"{name}@{attribute}", version) <= version:
            element.set(attribute, value)
    return element


def new_message(attributes: Mapping[str, str]) -> "etree._Element":
    """An empty JMF."""
    return etree.Element(jdf("JMF"), dict(attributes), nsmap={None: JDF_NAMESPACE, "xsi": XSI_NAMESPACE})


def as_bytes(root: "etree._Element") -> bytes:
    """The whole document, comments before and after the root included."""
    return etree.tostring(root.getroottree(), xml_declaration=True, encoding="UTF-8")


def set_actual(
    link: "etree._Element", part: Mapping[str, str | None], amount: float, version: Version
) -> "etree._Element":
    """Say in a link's (or ResourceInfo's) AmountPool what was really used or made of one part.

    A planned ``PartAmount`` for the same part keeps its plan beside the actual amount.
    """
    pool = link.find(jdf("AmountPool"))
    if pool is None:
        pool = add(link, "AmountPool", version, {})
    wanted = {
        key: value for key, value in part.items() if value and SINCE.get(f"Part@{key}", version) <= version
    }
    for planned in pool.iterfind(jdf("PartAmount")):
        parts = planned.findall(jdf("Part"))
        if len(parts) == 1 and parts[0].attrib and dict(parts[0].attrib).items() <= wanted.items():
            parts[0].attrib.update(wanted)
            break
    else:
        planned = add(pool, "PartAmount", version, {})
        add(planned, "Part", version, wanted)
    planned.set("ActualAmount", number(amount))
    return planned


def set_media_amounts(
    parent: "etree._Element",
    used: Used,
    lot_id: str | None,
    version: Version,
    lot_element: tuple[Version, Version] = LOT_ELEMENT,
) -> None:
    """Good and waste m2 of one lot, in the form of the version."""
    set_actual(parent, {"LotID": lot_id, "Condition": "Good"}, used.good_m2, version)
    set_actual(parent, {"LotID": lot_id, "Condition": "Waste"}, used.waste_m2, version)
    if lot_id and lot_element[0] <= version <= lot_element[1]:
        total_m2 = used.good_m2 + used.waste_m2
        add(parent, "Lot", version, {"LotID": lot_id, "ActualAmount": number(total_m2)})
