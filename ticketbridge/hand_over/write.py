"""The lane's ticket: one Combined node from which a press can print without asking anybody.

IDs all begin with the queue entry's name, so that they stay unique when the node is later hung into the
ticket that the MIS sent (JDF specification: xs:ID must be unique in a file).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ticketbridge.hand_over.instructions import finishing_in_words, panels_in_words
from ticketbridge.hand_over.lane_ticket import LaneTicket
from ticketbridge.hand_over.write_resources import add_resources
from ticketbridge.jdf.check import check
from ticketbridge.jdf.versions import fit_to_version
from ticketbridge.jdf.writing import Element, as_bytes, child, clean, jdf_root, moment
from ticketbridge.model.finding import Finding
from ticketbridge.model.order import Item

AGENT_NAME = "ticketbridge"


@dataclass(frozen=True, slots=True)
class Written:
    """A ticket as it goes to its lane.

    Attributes:
        data: The file.
        findings: What our own reading finds wrong with it; nothing, unless we are at fault.
    """

    data: bytes
    findings: tuple[Finding, ...]


def write_checked(tickets: Sequence[LaneTicket]) -> list[Written]:
    """Write tickets, and read each as if it came from somebody else."""
    roots = [(write_ticket(ticket), ticket.queue_entry_id) for ticket in tickets]
    return [Written(as_bytes(root), tuple(check(root, name, spent=True))) for root, name in roots]


def write_ticket(ticket: LaneTicket) -> Element:
    """The ticket's root element, nothing newer in it than the press's version of JDF."""
    version = ticket.press.jdf_version
    root = jdf_root(
        "JDF",
        xsi_type="Combined",
        ID=ticket.id("n"),
        JobID=ticket.order.job_id,
        JobPartID=ticket.press_part_id,
        Type="Combined",
        Types=" ".join(ticket.processes),
        Category="DigitalPrinting",
        Status="Waiting",
        Version=version,
        MaxVersion=version,
        DescriptiveName=_name(ticket),
    )
    _add_comment(root, ticket)
    child(root, "GeneralID", IDUsage="QueueEntryID", IDValue=ticket.queue_entry_id, DataType="string")
    mode_name = ticket.print_mode.named_feature or ticket.print_mode.id
    child(root, "GeneralID", IDUsage="PrintMode", IDValue=mode_name, DataType="NamedFeature")
    audits = child(root, "AuditPool")
    child(
        audits,
        "Created",
        ID=ticket.id("a1"),
        AgentName=AGENT_NAME,
        AgentVersion=ticket.agent_version,
        TimeStamp=moment(ticket.at),
    )
    add_resources(root, ticket)
    fit_to_version(root, version)
    return root


def _name(ticket: LaneTicket) -> str:
    return (ticket.item.descriptive_name or ticket.order.descriptive_name or ticket.order.job_id)[:255]


def _add_comment(root: Element, ticket: LaneTicket) -> None:
    """For people, and for presses that do not know our namespace."""
    layout = ticket.layout
    pieces = ", ".join(
        _pieces(part.item, part.queue_entry_id if ticket.gang else "") for part in ticket.parts
    )
    words = [
        f"{ticket.lane.name}: {pieces}",
        f"on {ticket.substrate.name}, {ticket.print_mode.name}.",
        f"Layers, first printed first: {ticket.item.layer_stack.value}.",
        f"{_rows(ticket)}, {layout.length_mm:.0f} mm of print.",
    ]
    for part in ticket.parts:
        finishing = [*panels_in_words(part.item, part.layout), *finishing_in_words(part.item)]
        if finishing and ticket.gang:
            words.append(f"{part.queue_entry_id}:")
        words += finishing
    comment = child(root, "Comment", Name="Instruction")
    comment.text = clean(" ".join(words))


def _rows(ticket: LaneTicket) -> str:
    layout = ticket.layout
    if ticket.gang:
        return "Packed together"
    return f"{layout.across} across, {layout.rows} rows, {layout.orientation}"


def _pieces(item: Item, of: str) -> str:
    words = f"{item.quantity} x {item.finished_width_mm:g} x {item.finished_height_mm:g} mm"
    return f"{words} of {of}" if of else words
