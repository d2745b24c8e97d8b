"""The returned ticket of a gang run, parted: for each member a node of its own, with nothing of the others in it. Pure.

The node is the one that would have been written for the member alone. The press's audits go into it as they are,
but for amounts: pieces are the member's own, roll and ink its share by area.
"""

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass

from ticketbridge.jdf.writing import Element
from ticketbridge.model.gang_share import shared_pieces
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.units import number

AMOUNTS = ("Amount", "ActualAmount")


@dataclass(frozen=True, slots=True)
class Share:
    """One member of a gang.

    Attributes:
        queue_entry_id: The member.
        quantity: The pieces it wants.
        waste: Its spoilt pieces.
        area: Its part of the printed area, 0 to 1.
        owners: Whose each piece of the run is, in print order.
    """

    queue_entry_id: str
    quantity: int
    waste: float
    area: float
    owners: tuple[str, ...]

    def good(self, amount: float) -> float:
        """How many of so many good pieces of the run are its own."""
        return shared_pieces(amount, self.owners)[self.queue_entry_id]


def good_amount(root: Element) -> float | None:
    """Good pieces of the whole by the press's own link; None where it says nothing."""
    return _output_amount(root, "Good")


def waste_amount(root: Element) -> float | None:
    """Spoilt pieces of the whole by the press's own link; None where it says nothing."""
    return _output_amount(root, "Waste")


def _output_amount(root: Element, condition: str) -> float | None:
    link = _output(root)
    if link is None:
        return None
    for part_amount in link.iterfind(f"{jdf('AmountPool')}/{jdf('PartAmount')}"):
        if _condition(part_amount) == condition and part_amount.get("ActualAmount"):
            return float(part_amount.get("ActualAmount", "0"))
    whole = link.get("ActualAmount") if condition == "Good" else None
    return None if whole is None else float(whole)


def member_node(own: Element, pressed: Element, gang: str, share: Share) -> Element:
    """The member's node as the press would have given it back.

    Args:
        own: The node as it would be written for the member alone; changed in place.
        pressed: Root of the gang's ticket as the press gave it back.
        gang: The gang's queue entry.
        share: The member.
    """
    status = pressed.get("Status", "")
    own.set("Status", status)
    for planning in own.iterfind(f"{jdf('ResourcePool')}/{jdf('NodeInfo')}"):
        planning.set("NodeStatus", status)
    audits = own.find(jdf("AuditPool"))
    made = 0.0
    for theirs in pressed.iterfind(f"{jdf('AuditPool')}/*"):
        if audits is None or theirs.tag == jdf("Created"):
            continue
        audit = deepcopy(theirs)
        for link in audit.iter(jdf("ComponentLink")):
            pieces = float(link.get("ActualAmount", "0"))
            link.set("ActualAmount", number(share.good(made + pieces) - share.good(made)))
            made += pieces
        for name in ("MediaLink", "InkLink"):
            for link in audit.iter(jdf(name)):
                _scale(link, share.area)
        audits.append(_renamed(audit, own, pressed, gang, share))
    for kind, link in _used_links(pressed):
        _take_over(own, kind, _renamed(deepcopy(link), own, pressed, gang, share), share)
    _add_what_the_press_added(own, pressed, gang)
    return own


def _renamed(element: Element, own: Element, pressed: Element, gang: str, share: Share) -> Element:
    """What names the gang names the member."""
    names = {pressed.get(name, ""): own.get(name, "") for name in ("JobID", "JobPartID")}
    for one in element.iter():
        for attribute, value in one.attrib.items():
            if value.startswith(f"{gang}."):
                one.set(attribute, share.queue_entry_id + value.removeprefix(gang))
            elif attribute in ("JobID", "JobPartID") and value in names:
                one.set(attribute, names[value])
    return element


def _used_links(pressed: Element) -> Iterator[tuple[str, Element]]:
    output = _output(pressed)
    if output is not None:
        yield "ComponentLink", output
    for name in ("MediaLink", "InkLink"):
        link = pressed.find(f"{jdf('ResourceLinkPool')}/{jdf(name)}")
        if link is not None:
            yield name, link


def _take_over(own: Element, kind: str, theirs: Element, share: Share) -> None:
    """The press's link in place of our own, with the member's amounts."""
    if kind == "ComponentLink":
        for one in theirs.iter():
            if one.get("Amount"):
                one.set("Amount", str(share.quantity))
            if one.get("ActualAmount") and _condition(one) == "Waste":
                one.set("ActualAmount", number(share.waste))
            elif one.get("ActualAmount"):
                one.set("ActualAmount", number(share.good(float(one.get("ActualAmount", "0")))))
        mine = _output(own)
    else:
        _scale(theirs, share.area)
        mine = own.find(f"{jdf('ResourceLinkPool')}/{jdf(kind)}")
    pool = own.find(jdf("ResourceLinkPool"))
    if mine is not None and pool is not None:
        pool.replace(mine, theirs)


def _scale(link: Element, share: float) -> None:
    for one in link.iter():
        for name in AMOUNTS:
            if one.get(name):
                one.set(name, number(float(one.get(name, "0")) * share))


def _add_what_the_press_added(own: Element, pressed: Element, gang: str) -> None:
    """Resources that are not of our ticket, such as the operator, and the links to them."""
    pool, links = own.find(jdf("ResourcePool")), own.find(jdf("ResourceLinkPool"))
    theirs = pressed.find(jdf("ResourcePool"))
    if pool is None or links is None or theirs is None:
        return
    added = [one for one in theirs if not (one.get("ID") or f"{gang}.").startswith(f"{gang}.")]
    ids = {one.get("ID") for one in added}
    pool.extend(deepcopy(one) for one in added)
    links.extend(
        deepcopy(link) for link in pressed.iterfind(f"{jdf('ResourceLinkPool')}/*") if link.get("rRef") in ids
    )


def _output(root: Element) -> Element | None:
    links = root.iterfind(f"{jdf('ResourceLinkPool')}/{jdf('ComponentLink')}")
    return next((link for link in links if link.get("Usage") == "Output"), None)


def _condition(part_amount: Element) -> str:
    part = part_amount.find(jdf("Part"))
    return "" if part is None else part.get("Condition", "")
