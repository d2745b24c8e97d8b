"""The ticket that goes back to the MIS: its own, as it came, with the press's node and its audits hung in.

Everything foreign stays as received: unknown namespaces, comments, order, IDs (JDF specification: a writer
keeps what it does not know).
"""

from collections.abc import Iterable, Mapping
from datetime import datetime

from ticketbridge.jdf.versions import fit_to_version
from ticketbridge.jdf.writing import Element, as_bytes, child, clean, moment
from ticketbridge.vocabulary.names import XSI_TYPE, jdf
from ticketbridge.vocabulary.units import number


def returned_ticket(
    original: Element,
    pressed: Element | None,
    *,
    job_part_id: str,
    queue_entry_id: str,
    amount: float,
    completed: bool,
    at: datetime,
    agent_version: str,
) -> bytes:
    """The MIS's ticket after the work.

    Args:
        original: Root of the ticket as it was dropped; changed in place.
        pressed: Root of the ticket as the press gave it back, or None where it gave none.
        job_part_id: The item that was printed.
        queue_entry_id: Ours.
        amount: Good pieces.
        completed: False where the press broke it off.
        at: Now.
        agent_version: Version of the bridge.
    """
    node = _node_of(original, job_part_id)
    node.set("Status", "Completed" if completed else "Aborted")
    for output in node.iterfind(f"{jdf('ResourceLinkPool')}/{jdf('ComponentLink')}"):
        if output.get("Usage") == "Output" and output.find(jdf("AmountPool")) is None:
            output.set("ActualAmount", number(amount))
    taken = _ids_of(original)
    limit = _version_limit(original)
    _add_modified(node, taken, limit, queue_entry_id, at, agent_version)
    if pressed is not None:
        _hang_in(node, pressed, taken, limit, queue_entry_id)
    return as_bytes(original)


def unprinted_ticket(
    original: Element, *, job_part_id: str, queue_entry_id: str, at: datetime, agent_version: str
) -> tuple[bytes, str]:
    """The MIS's ticket of a job that was aborted before any press had it, and the ID of its node.

    Args:
        original: Root of the ticket as it was dropped; changed in place.
        job_part_id: The item.
        queue_entry_id: Ours.
        at: Now.
        agent_version: Version of the bridge.
    """
    node, taken, limit = _node_of(original, job_part_id), _ids_of(original), _version_limit(original)
    node.set("Status", "Aborted")
    run = child(
        _audits_of(node),
        "ProcessRun",
        ID=_free(f"{queue_entry_id}.run", taken),
        AgentName="ticketbridge",
        AgentVersion=agent_version,
        TimeStamp=moment(at),
        Start=moment(at),
        End=moment(at),
        EndStatus="Aborted",
    )
    if limit is not None:
        fit_to_version(run, limit)
    _add_modified(node, taken, limit, queue_entry_id, at, agent_version)
    return as_bytes(original), node.get("ID", "")


def _ids_of(root: Element) -> set[str | None]:
    return {element.get("ID") for element in root.iter() if element.get("ID")}


def _add_modified(
    node: Element, taken: set[str | None], limit: str | None, queue_entry_id: str, at: datetime, version: str
) -> None:
    modified = child(
        _audits_of(node),
        "Modified",
        ID=_free(f"{queue_entry_id}.modified", taken),
        AgentName="ticketbridge",
        AgentVersion=version,
        TimeStamp=moment(at),
    )
    if limit is not None:
        fit_to_version(modified, limit)


def mark_refused(original: Element, reasons: Mapping[str, str], at: datetime, agent_version: str) -> None:
    """Set the nodes of refused items to Aborted, each with a Notification audit that says why.

    An item whose node has no JobPartID is told of by its audit at the root alone.

    Args:
        original: Root of the ticket as it was dropped; changed in place.
        reasons: By JobPartID, what is wrong with the item, in words.
        at: Now.
        agent_version: Version of the bridge.
    """
    limit = _version_limit(original)
    taken = _ids_of(original)
    for count, (job_part_id, reason) in enumerate(reasons.items(), 1):
        node = _node_of(original, job_part_id)
        if node.get("JobPartID") == job_part_id:
            node.set("Status", "Aborted")
        note = child(
            _audits_of(node),
            "Notification",
            ID=_free(f"ticketbridge.refused{count}", taken),
            AgentName="ticketbridge",
            AgentVersion=agent_version,
            TimeStamp=moment(at),
            Class="Error",
        )
        child(note, "Comment").text = clean(reason)
        if limit is not None:
            fit_to_version(note, limit)


def _audits_of(node: Element) -> Element:
    audits = node.find(jdf("AuditPool"))
    return child(node, "AuditPool") if audits is None else audits


def _node_of(root: Element, job_part_id: str) -> Element:
    for node in root.iter(jdf("JDF")):
        if node.get("JobPartID") == job_part_id:
            return node
    return root


def _version_limit(root: Element) -> str | None:
    """The newest version that may be written into this ticket (``JDF@MaxVersion``, else its own)."""
    return root.get("MaxVersion") or root.get("Version")


def _hang_in(node: Element, pressed: Element, taken: set[str | None], limit: str | None, prefix: str) -> None:
    _rename_ids(pressed, taken, prefix)
    pressed.attrib.pop(XSI_TYPE, None)  # its prefix may mean something else, or nothing, in the MIS's ticket
    version = pressed.get("Version")
    if limit is not None and version is not None and limit < version:
        pressed.set("Version", limit)
        pressed.set("MaxVersion", limit)
        fit_to_version(pressed, limit)
    node.append(pressed)


def _rename_ids(root: Element, taken: Iterable[str | None], prefix: str) -> None:
    """IDs that the press made up may be taken in the MIS's ticket; they and what points at them get new names."""
    occupied = set(taken)
    renamed: dict[str, str] = {}
    for element in root.iter():
        old = element.get("ID")
        if old in occupied and old is not None:
            renamed[old] = _free(f"{prefix}.{old}", occupied)
            element.set("ID", renamed[old])
    for element in root.iter():
        for name in ("rRef", "rRefs"):
            value = element.get(name)
            if value is not None and renamed:
                element.set(name, " ".join(renamed.get(one, one) for one in value.split()))


def _free(wanted: str, taken: Iterable[str | None]) -> str:
    """The name, or the name with the first number that nobody has."""
    occupied = set(taken)
    name, count = wanted, 1
    while name in occupied:
        count += 1
        name = f"{wanted}.{count}"
    return name
