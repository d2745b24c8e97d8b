"""The returned ticket: as it came, with the story of the run in its AuditPool and actual amounts."""

from dataclasses import dataclass

from lxml import etree

from ticketbridge.press_sim.clock import seconds_between
from ticketbridge.press_sim.consumption import Used
from ticketbridge.press_sim.elements import Version, add, as_bytes, set_actual, set_media_amounts
from ticketbridge.press_sim.jmf import Subject, add_fault
from ticketbridge.press_sim.record import COMPLETED, IN_PROGRESS, STOPPED, Record
from ticketbridge.press_sim.settings import version_numbers
from ticketbridge.press_sim.values import link_to, linked
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.units import number

_DETAILS = {"Setup": "SizeChange", "InProgress": "Good", "Stopped": "ShutDown"}


@dataclass(frozen=True, slots=True)
class Run:
    """What a finished run has to tell.

    Attributes:
        record: Its phases; the last entry is the end.
        piece_times: When each piece was finished.
        used: Roll and ink.
        lot_id: ``Media@BatchID``, or None.
        operator: ``Employee@PersonalID``, or None.
    """

    record: Record
    piece_times: tuple[str, ...]
    used: Used
    lot_id: str | None
    operator: str | None


def completed_ticket(root: "etree._Element", subject: Subject, run: Run) -> bytes:
    """The ticket of a finished job.

    Args:
        root: The ticket as received; it is changed in place. IDs, comments and foreign data stay.
        subject: The press and the job; its version is the ticket's, nothing newer is added.
        run: What happened.
    """
    _set_status(root, "Completed")
    employee_id = _operator(root, subject, run.operator)
    audits = _Audits(root, subject)
    pieces_before = 0
    ends = [phase.at for phase in run.record.phases[1:]]
    for phase, end in zip(run.record.phases, ends, strict=False):
        audit = audits.add("PhaseTime", end, {
            "Status": phase.status, "StatusDetails": phase.details or _DETAILS.get(phase.status),
            "Start": phase.at, "End": end,
        })  # fmt: skip
        _add_references(audit, root, subject, employee_id)
        if phase.status == IN_PROGRESS:
            pieces = sum(at <= end for at in run.piece_times)
            _add_component(audit, root, subject, pieces - pieces_before)
            pieces_before = pieces
    end = run.record.since(COMPLETED)
    _media(root, audits, subject, run, end)
    audits.add("Modified", end, {})
    audits.add("ProcessRun", end, {
        "EndStatus": "Completed", "Start": run.record.phases[0].at, "End": end,
        "Duration": f"PT{number(_working_s(run.record))}S",
        "SubmissionTime": run.record.taken_at, "ReturnTime": end,
    })  # fmt: skip
    _output(root, subject, run)
    return as_bytes(root)


def aborted_ticket(root: "etree._Element", subject: Subject, at: str, event_id: str, sentence: str) -> bytes:
    """The ticket of a job that the press refuses, with the reason among its audits."""
    _set_status(root, "Aborted")
    audits = _Audits(root, subject)
    add_fault(audits.pool, subject, audits.free_id(), at, event_id, sentence).set(
        "AgentName", subject.sender_id
    )
    audits.add("Modified", at, {})
    audits.add("ProcessRun", at, {"EndStatus": "Aborted", "Start": at, "End": at})
    return as_bytes(root)


class _Audits:
    """The node's AuditPool, and IDs that nothing else in the document has."""

    def __init__(self, root: "etree._Element", subject: Subject) -> None:
        self._subject = subject
        self._taken = {element.get("ID") for element in root.iter(etree.Element)}
        pool = root.find(jdf("AuditPool"))
        self.pool = add(root, "AuditPool", subject.version, {}) if pool is None else pool

    def free_id(self) -> str:
        return free_id(self._taken, f"A-{self._subject.serial}")

    def add(self, name: str, at: str, attributes: dict[str, str | None]) -> "etree._Element":
        common = {
            "ID": self.free_id(),
            "AgentName": self._subject.sender_id,
            "QueueEntryID": self._subject.serial if name in ("PhaseTime", "ProcessRun") else None,
            "TimeStamp": at,
        }
        return add(self.pool, name, self._subject.version, common | attributes)


def free_id(taken: "set[str | None]", stem: str) -> str:
    """The first of ``stem-1``, ``stem-2`` ... that is not taken; it is taken then."""
    count = 1
    while f"{stem}-{count}" in taken:
        count += 1
    taken.add(f"{stem}-{count}")
    return f"{stem}-{count}"


def _set_status(root: "etree._Element", status: str) -> None:
    root.set("Status", status)
    node_info = linked(root, "NodeInfo")
    if node_info is not None and node_info.get("NodeStatus"):
        node_info.set("NodeStatus", status)


def _operator(root: "etree._Element", subject: Subject, operator: str | None) -> str | None:
    pool = root.find(jdf("ResourcePool"))
    links = root.find(jdf("ResourceLinkPool"))
    if operator is None or pool is None or links is None:
        return None
    employee_id = free_id({element.get("ID") for element in root.iter(etree.Element)}, "Operator")
    add(pool, "Employee", subject.version, {
        "ID": employee_id, "Class": "Implementation", "Status": "Available",
        "PersonalID": operator, "Roles": "Operator",
    })  # fmt: skip
    add(links, "EmployeeLink", subject.version, {"Usage": "Input", "rRef": employee_id})
    return employee_id


def _add_references(
    audit: "etree._Element", root: "etree._Element", subject: Subject, employee_id: str | None
) -> None:
    device = link_to(root, "Device")
    if device is not None:
        add(audit, "DeviceRef", subject.version, {"rRef": device.get("rRef")})
    if employee_id is not None and subject.version >= (1, 4):
        add(audit, "EmployeeRef", subject.version, {"rRef": employee_id})


def _add_component(audit: "etree._Element", root: "etree._Element", subject: Subject, pieces: int) -> None:
    link = link_to(root, "Component", "Output")
    if link is not None:
        attributes = {"Usage": "Output", "rRef": link.get("rRef"), "ActualAmount": number(pieces)}
        add(audit, "ComponentLink", subject.version, attributes)


def _media(root: "etree._Element", audits: _Audits, subject: Subject, run: Run, at: str) -> None:
    link = link_to(root, "Media")
    if link is None:
        return
    audit = audits.add("ResourceAudit", at, {"Reason": "ProcessResult"})
    told = add(audit, "MediaLink", subject.version, {"Usage": "Input", "rRef": link.get("rRef")})
    set_media_amounts(told, run.used, run.lot_id, subject.version)
    _plan_into_pool(link, subject)
    set_media_amounts(link, run.used, run.lot_id, subject.version)


def _output(root: "etree._Element", subject: Subject, run: Run) -> None:
    ink = link_to(root, "Ink")
    if ink is not None:
        for channel, litres in run.used.ink_l.items():
            set_actual(ink, {"Separation": channel}, litres, subject.version)
    link = link_to(root, "Component", "Output")
    if link is not None:
        _plan_into_pool(link, subject)
        set_actual(link, {"Condition": "Good"}, len(run.piece_times), subject.version)
        waste = sum(phase.waste for phase in run.record.faults)
        if waste:
            set_actual(link, {"Condition": "Waste"}, waste, subject.version)
    component = linked(root, "Component", "Output")
    if component is not None:
        component.set("Status", "Available")


def _plan_into_pool(link: "etree._Element", subject: Subject) -> None:
    """Where a link has an AmountPool, its own Amount is not used: move the plan to the good part."""
    if link.get("Amount") and link.find(jdf("AmountPool")) is None:
        planned = link.attrib.pop("Amount")
        pool = add(link, "AmountPool", subject.version, {})
        part_amount = add(pool, "PartAmount", subject.version, {"Amount": planned})
        add(part_amount, "Part", subject.version, {"Condition": "Good"})


def _working_s(record: Record) -> float:
    """Seconds in all phases but standstill."""
    return sum(
        seconds_between(phase.at, following.at)
        for phase, following in zip(record.phases, record.phases[1:], strict=False)
        if phase.status != STOPPED
    )


def version_to_write(root: "etree._Element", newest: Version) -> Version:
    """The version to write a ticket back in: its own, where it can be read, else the press's."""
    try:
        return min(version_numbers(root.get("Version", "")), newest)
    except ValueError:
        return newest
