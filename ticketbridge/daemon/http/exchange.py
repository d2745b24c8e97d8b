"""One JMF document that was received: each of its messages answered, in order."""

import asyncio
from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from ticketbridge.answer.commands import EntryCommand, entry_command
from ticketbridge.answer.flushing import flush_info
from ticketbridge.answer.messages import FROM_A_PRESS, Message, messages_of
from ticketbridge.answer.queries import answer, filter_of
from ticketbridge.answer.responses import response
from ticketbridge.answer.submit import ticket_offered
from ticketbridge.answer.world import SMALL_QUEUE
from ticketbridge.daemon.http.desk import Busy, Desk
from ticketbridge.daemon.http.known_answers import Question
from ticketbridge.daemon.http.receiving import Received, Refused
from ticketbridge.daemon.http.tickets import find_ticket
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.channels import open_channel, stop_channels
from ticketbridge.flow.intake.submitted_to_us import Submitted
from ticketbridge.flow.press.press_posts import keep_returned, keep_signals
from ticketbridge.flow.queue.commanding import command_entries, command_queues, flush
from ticketbridge.jdf.message_parts import queue_entry
from ticketbridge.jdf.safe_xml import XmlRefused
from ticketbridge.jdf.writing import Element, child
from ticketbridge.model.finding import Finding
from ticketbridge.model.jmf_partner import JmfSender
from ticketbridge.model.queue_state import QueueMessage
from ticketbridge.report.compose import message as document
from ticketbridge.spool import durable
from ticketbridge.store.records import WorldFault
from ticketbridge.vocabulary.names import WRITABLE_VERSIONS, jdf
from ticketbridge.vocabulary.urls import url_begins_with

T = TypeVar("T")

BUSY = Finding("message.busy")
QUEUE_MESSAGES = frozenset(QueueMessage)


@dataclass
class Exchange:
    """One document from one partner.

    Attributes:
        desk: The bridge.
        sender: Who sent it.
        root: The JMF.
        received: The package around it.
        threads: Where slow things are done.
        questions: What was asked and answered without more to say; of a document of nothing else all of it.
        keeps_files: Whether a ticket was kept, which may name files of the package.
    """

    desk: Desk
    sender: JmfSender
    root: Element
    received: Received
    threads: Executor
    questions: list[Question] = field(default_factory=list)
    keeps_files: bool = False

    async def answered(self) -> bytes | None:
        """The JMF with a Response to each message; None where nothing in it wants one."""
        responses = [await self._answer_to(message) for message in self._messages()]
        responses += await self._what_a_press_said()
        if not responses:
            return None
        if max((len(content) for one in responses for content in one), default=0) <= SMALL_QUEUE:
            return self.document(responses)
        return await self._in_thread(lambda: self.document(responses))

    @property
    def may_be_asked_again(self) -> bool:
        """Whether the same document, while nothing has changed, has the same answer."""
        return len(self.questions) == len(self.root)

    def document(self, responses: list[Element]) -> bytes:
        """These Responses as a document, in a version that the asker reads."""
        return answer_document(self.desk, self.sender, responses, self.root.get("Version"))

    def _messages(self) -> list[Message]:
        return messages_of(self.root)

    async def _answer_to(self, message: Message) -> Element:
        """A Response to one message. Whatever goes wrong is answered, and the others go on."""
        try:
            return await self._done(message)
        except Refused as refused:
            return self._response(message, [refused.finding])
        except XmlRefused as refused:
            return self._response(message, list(refused.findings))
        except (Busy, TimeoutError, OSError, *WorldFault, durable.PlaceNotReady) as error:
            self.desk.notices.tell("jmf.busy", kind=message.kind, reason=str(error) or type(error).__name__)
            return self._response(message, [BUSY])
        except Exception as error:
            self.desk.notices.broke(f"answering {message.kind} broke", error)
            return self._response(message, [Finding("message.broke")])

    async def _done(self, message: Message) -> Element:
        device_id = self._addressed()
        if self.sender.lanes and message.kind == "ReturnQueueEntry" and message.family == "Command":
            return await self._take_back(message)
        if not message.known or self.sender.source is None:
            return self._response(message, [Finding("command.not-done", facts={"kind": message.kind})])
        if message.kind == "FlushQueue" and (unread := filter_of(message).not_read):
            facts = {"kind": message.kind, "what": ", ".join(unread)}
            raise Refused(Finding("command.filter-not-read", facts=facts))
        if message.family == "Query":
            return await self._asked(message, device_id)
        if message.kind in ("SubmitQueueEntry", "ResubmitQueueEntry"):
            return await self._submitted(message, device_id)
        return await self._commanded(message, device_id)

    def _addressed(self) -> str | None:
        """The lane that the document is for; None means the bridge itself."""
        said = self.root.get("DeviceID")
        if said is None or said == self.desk.bridge.shop.settings.sender_id:
            return None
        if said not in self.desk.bridge.lanes:
            raise Refused(Finding("message.unknown-device", facts={"device_id": said}))
        return said

    async def _asked(self, message: Message, device_id: str | None) -> Element:
        findings: list[Finding] = []
        opened = message.element.find(jdf("Subscription")) is not None
        if opened:
            findings = await self._in_flow(
                lambda bridge: open_channel(bridge, self.sender, message, self._sender_id(), device_id)
            )
            if findings[0].code == "channel.refused":
                return self._response(message, findings)
        entries = filter_of(message)
        world = self.desk.seen(self.sender, device_id, entries)
        if world is None:
            world = await self._in_thread(lambda: self.desk.world(self.sender, device_id, entries))
        if world.is_small:
            content, more = answer(message, world)
        else:
            content, more = await self._in_thread(lambda: answer(message, world))
        if opened:
            made = self._response(message, findings, *content)
            made.set("Subscribed", "true")
            return made
        if not more:
            self.questions.append(Question(device_id, entries, world))
        return self._response(message, more, *content)

    async def _submitted(self, message: Message, device_id: str | None) -> Element:
        source_id = self.sender.source or ""
        offered = ticket_offered(message, self._sender_id(), device_id)
        if offered is None:
            facts = {"kind": message.kind, "what": "its parameters"}
            raise Refused(Finding("message.lacks", facts=facts))

        def hand_in() -> Any:
            self.received.settle()
            bridge = self.desk.bridge
            limits = bridge.shop.settings.limits
            ticket = find_ticket(offered.url, self.sender, self.received, bridge.places.folder, limits)
            self.desk.require_room()
            self.keeps_files = True
            return self.desk.hand_in(source_id, offered.file_name, ticket, offered.submission)

        waiting = await self._in_thread(hand_in)
        async with asyncio.timeout(self.desk.settings.limits.answer_s):
            submitted: Submitted = await asyncio.wrap_future(waiting)
        return await self._in_thread(lambda: self._outcome(message, submitted))

    def _outcome(self, message: Message, submitted: Submitted) -> Element:
        """The answer to a submission: its entry, or why there is none."""
        if submitted.place == "refused" or not submitted.queue_entry_ids:
            return self._response(message, list(submitted.findings))
        with self.desk.view.transaction() as tx:
            entry = tx.standing(submitted.queue_entry_ids[0])
        if submitted.place == "repeated":
            self.received.discard()  # the same artwork, byte for byte, is here already
        if message.kind == "ResubmitQueueEntry":
            return self._response(message, [])
        holder = child(None, "Response")
        queue_entry(holder, entry)
        return self._response(message, [], holder[0])

    async def _commanded(self, message: Message, device_id: str | None) -> Element:
        source_id, who, request_id = self.sender.source or "", self._sender_id(), self.desk.fresh_id()
        lanes = [device_id] if device_id is not None else list(self.desk.bridge.lanes)

        def work(bridge: Bridge) -> tuple[list[Element], list[Finding]]:
            if message.kind == "StopPersistentChannel":
                return [], stop_channels(bridge, self.sender, message)
            with bridge.store.transaction() as tx:
                if message.kind in QUEUE_MESSAGES:
                    found = list(command_queues(bridge, tx, lanes, QueueMessage(message.kind), who))
                elif message.kind == "FlushQueue":
                    gone = flush(bridge, tx, source_id, filter_of(message), lanes, who, request_id)
                    return [flush_info(gone)], [Finding("command.flushed", facts={"count": len(gone)})]
                else:
                    command = self._entry_command(message)
                    found = list(command_entries(bridge, tx, source_id, command, who, request_id, device_id))
            with bridge.store.transaction() as tx:
                bridge.queues = tx.queue_states()
            return [], found

        content, findings = await self._in_flow(work)
        made = self._response(message, findings, *content)
        if any(one.code == "request.passed-on" for one in findings):
            made.set("Acknowledged", "true")
        return made

    def _entry_command(self, message: Message) -> EntryCommand:
        """The command; an Acknowledge goes nowhere but to configured addresses."""
        command = entry_command(message)
        assert command is not None  # noqa: S101  what is known and nothing else is an entry command
        allowed = url_begins_with(command.acknowledge_url or "", self.sender.signal_urls)
        return command if allowed else replace(command, acknowledge_url=None)

    async def _take_back(self, message: Message) -> Element:
        """A press returns a ticket: kept where it could have laid it."""
        params = message.element.find(jdf("ReturnQueueEntryParams"))
        if params is None:
            facts = {"kind": message.kind, "what": "its parameters"}
            raise Refused(Finding("message.lacks", facts=facts))
        url = params.get("URL", "")

        def keep() -> None:
            bridge = self.desk.bridge
            self.received.settle()
            limits = bridge.shop.settings.limits
            ticket = find_ticket(url, self.sender, self.received, bridge.places.folder, limits)
            self.keeps_files = True
            keep_returned(bridge, self._lane(), ticket)

        await self._in_thread(keep)
        return self._response(message, [])

    async def _what_a_press_said(self) -> list[Element]:
        """Signals and acknowledgements are kept; those that want to be sure are answered."""
        said = list(self.root.iterchildren(*(jdf(family) for family in FROM_A_PRESS)))
        if not said or not self.sender.lanes:
            return []
        try:
            await self._in_thread(lambda: keep_signals(self.desk.bridge, self._lane(), self.root))
            findings: list[Finding] = []
        except (OSError, durable.PlaceNotReady) as error:
            self.desk.notices.tell("jmf.busy", kind="Signal", reason=str(error))
            findings = [BUSY]
        sure = [one for one in said if findings or one.get("ChannelMode") == "Reliable"]
        at = self.desk.bridge.now()
        return [response(one.get("ID"), one.get("Type", ""), findings, at) for one in sure]

    def _lane(self) -> str:
        """The lane that a press speaks of: the one it names, or its only one."""
        named = {
            self.root.get("DeviceID"),
            *(one.get("DeviceID") for one in self.root.iter(jdf("DeviceInfo"), jdf("Queue"))),
        }
        return next((lane for lane in self.sender.lanes if lane in named), self.sender.lanes[0])

    def _response(self, message: Message, findings: list[Finding], *content: Element) -> Element:
        return response(message.message_id, message.kind, findings, self.desk.bridge.now(), *content)

    def _sender_id(self) -> str:
        return str(self.root.get("SenderID", ""))

    async def _in_flow(self, work: Callable[[Bridge], T]) -> T:
        async with asyncio.timeout(self.desk.settings.limits.answer_s):
            done: T = await asyncio.wrap_future(self.desk.ask(work))
        return done

    async def _in_thread(self, work: Callable[[], T]) -> T:
        return await asyncio.get_running_loop().run_in_executor(self.threads, work)


def answer_document(desk: Desk, sender: JmfSender, responses: list[Element], asked: str | None) -> bytes:
    """Responses as one JMF document: in the asker's version, where that is older than the source's."""
    settings = desk.bridge.shop.settings
    source = desk.bridge.sources.get(sender.source or "")
    version = source.jdf_version if source else "1.7"
    if asked in WRITABLE_VERSIONS:
        version = min(version, asked or version)
    return document(
        responses,
        sender_id=(source.sender_id if source else None) or settings.sender_id,
        version=version,
        at=desk.bridge.now(),
        id_prefix=desk.fresh_id(),
        agent_version=desk.bridge.agent_version,
    )
