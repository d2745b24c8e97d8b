"""Everything that comes from a press by message, and where it goes in the flow.

A message of a press is answered when it is in the store, and not before: what was answered with 0 is not lost.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import unquote, urlsplit

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.following import follow_answers, follow_signals
from ticketbridge.flow.passing_on import PressAnswered, settle_command
from ticketbridge.flow.returning import return_job
from ticketbridge.flow.submitting import Submitted, settle_submission
from ticketbridge.jdf.check import check
from ticketbridge.jdf.safe_xml import XmlRefused, parse
from ticketbridge.jdf.writing import Element, child
from ticketbridge.model.codes import CODES, refuses
from ticketbridge.model.finding import Finding
from ticketbridge.model.job import queue_entry_id_in
from ticketbridge.spool import durable
from ticketbridge.vocabulary.names import jdf


@dataclass(frozen=True, slots=True)
class PressMessage:
    """A JMF that a press sent.

    Attributes:
        lanes: DeviceIDs that its sender may speak for.
        root: The JMF element, checked.
        parts: What its package holds besides, by Content-ID.
    """

    lanes: tuple[str, ...]
    root: Element
    parts: Mapping[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PressPolled:
    """What a press answered when it was asked where it stands."""

    device_id: str
    root: Element


FromPress = PressMessage | PressPolled | Submitted | PressAnswered


@dataclass(frozen=True, slots=True)
class Handed:
    """Something from a press, and whoever waits until it is in the store.

    Attributes:
        item: What came.
        done: Told the Responses, none where the item wants none; or None where a fault of the world came between:
            it is not taken, and whoever waits says so or tries again.
    """

    item: FromPress
    done: Callable[[Sequence[Element] | None], None]


def take_handed(bridge: Bridge, handed: Handed) -> None:
    """Apply one thing that came from a press, and tell whoever waits, also where it could not be applied."""
    responses: Sequence[Element] | None = None
    try:
        responses = take_from_press(bridge, handed.item)
    finally:
        handed.done(responses)


def take_from_press(bridge: Bridge, item: FromPress) -> Sequence[Element]:
    """Apply one thing that came from a press. Returns the Responses to it."""
    match item:
        case PressMessage():
            return follow_message(bridge, item)
        case PressPolled():
            follow_answers(bridge, item.root, item.device_id)
        case Submitted():
            settle_submission(bridge, item)
        case PressAnswered():
            settle_command(bridge, item)
    return ()


def follow_message(bridge: Bridge, message: PressMessage) -> list[Element]:
    """Apply a JMF of a press: its signals, and the tickets that it gives back.

    Anything else is not implemented (5): the bridge asks a press for no Acknowledge.

    Returns:
        A Response for each message that wants one.
    """
    responses = []
    device_id = _lane_of(message)
    for said in message.root:
        if said.tag == jdf("Signal"):
            if said is next(
                message.root.iterchildren(jdf("Signal"))
            ):  # all signals of a document are one step
                follow_signals(bridge, message.root, device_id, message.lanes)
            if said.get("ChannelMode") != "FireAndForget":
                responses.append(_response(said, 0))
        elif said.tag == jdf("Command") and said.get("Type") == "ReturnQueueEntry":
            responses.append(_response(said, _take_back(bridge, said, message, device_id)))
        elif said.get("ID"):
            responses.append(_response(said, 5))
    return responses


def _lane_of(message: PressMessage) -> str:
    """The lane that a document speaks of where its messages do not say: its only one, or the one it names."""
    named = message.root.get("DeviceID") or message.root.get("SenderID", "")
    return named if named in message.lanes else message.lanes[0]


def _take_back(bridge: Bridge, command: Element, message: PressMessage, device_id: str) -> int:
    """The ReturnCode for a ticket that a press gives back."""
    params = command.find(jdf("ReturnQueueEntryParams"))
    url = "" if params is None else params.get("URL", "")
    data = _ticket_at(bridge, url, message)
    if data is None:
        return 120
    try:
        root = parse(data, bridge.shop.settings.limits, url)
    except XmlRefused as refusal:
        return CODES[refusal.findings[0].code].return_code
    findings: Sequence[Finding] = check(root, url)
    if refuses(findings):
        return CODES[next(iter(findings)).code].return_code
    name = queue_entry_id_in(root.get("JobPartID", ""))
    with bridge.store.transaction() as tx:
        lane = next((lane for lane in message.lanes if tx.job_at_lane(lane, name)), None)
    if lane is None:
        return_job(bridge, root, device_id)  # tells that nobody knows it
        return 105
    _keep(bridge, lane, name, data)
    return_job(bridge, root, lane)
    return 0


def _ticket_at(bridge: Bridge, url: str, message: PressMessage) -> bytes | None:
    """The ticket that a press names: in its package, or in the folder ``returned`` of one of its lanes."""
    parts = urlsplit(url)
    if parts.scheme == "cid":
        return message.parts.get(unquote(url.removeprefix("cid:")))
    if parts.scheme != "file" or parts.netloc not in ("", "localhost"):
        return None
    path = Path(unquote(parts.path))
    folders = [bridge.lane_places(lane).returned.resolve() for lane in message.lanes]
    if path.parent.resolve() not in folders or path.name.startswith("."):
        return None
    try:
        return durable.read(path, bridge.shop.settings.limits.ticket_bytes)
    except OSError:
        return None


def _keep(bridge: Bridge, device_id: str, name: str, data: bytes) -> None:
    """The press's own ticket, for people who want to see what it said; the MIS's copy is the one that counts."""
    followed = bridge.lane_places(device_id).followed
    if followed.is_dir():
        durable.show_new(followed / f"{name}.returned.jdf", data)


def _response(message: Element, return_code: int) -> Element:
    kind, ref_id = message.get("Type", ""), message.get("ID", "")
    return child(None, "Response", Type=kind, refID=ref_id, ReturnCode=str(return_code))
