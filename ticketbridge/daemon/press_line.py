"""The talk with one lane of a press that speaks JMF: submissions, commands, subscriptions, polls. One at a time.

What the press says goes to the flow, which is waited for; what was sent stands in the store before it is sent.
So a kill at any moment leaves a submission either untouched or one that the press is asked about first.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from lxml import etree

from ticketbridge.daemon.channel import Channel, Clocks
from ticketbridge.daemon.logs import Notices
from ticketbridge.flow.press.passing_on import PressAnswered
from ticketbridge.flow.press.press_answers import FromPress, PressPolled
from ticketbridge.flow.press.submitted_to_press import SubmissionSettled
from ticketbridge.hand_over.follow import comment_of
from ticketbridge.hand_over.press_messages import (
    SUBSCRIBED,
    Entry,
    Letterhead,
    ask_all,
    ask_queue,
    submit,
    subscribe,
)
from ticketbridge.hand_over.submission import (
    MOVES,
    Found,
    Move,
    Word,
    entry_named,
    found_in_queue,
    word_of,
)
from ticketbridge.jdf.package import content_type_of
from ticketbridge.jdf.post import Answer, Poster
from ticketbridge.model.exchange import Outcome
from ticketbridge.model.job import press_part_id
from ticketbridge.model.press_link import PressLink
from ticketbridge.model.retry import wait_s
from ticketbridge.report.send import NotReceived
from ticketbridge.spool import durable
from ticketbridge.spool.gate import ShareHangs
from ticketbridge.store.records import Delivery, DeliveryState
from ticketbridge.store.store import Store

OPEN: Final = (DeliveryState.INTENDED, DeliveryState.SUBMITTING)
SELDOM: Final = 6
"""A press that signals is still polled, so many times more seldom: a lost signal is made good."""
MOST_BYTES: Final = 64 * 1024 * 1024


@dataclass(slots=True)
class _Open:
    """The submission in hand: what the press answered last, and when it may be asked."""

    queue_entry_id: str = ""
    word: Word = Word.LOST
    reason: str = "the bridge was ended while it waited for the answer"
    ask_at_s: float = 0.0


@dataclass(slots=True)
class PressLine:
    """Everything that is said to one lane. Turned by one thread.

    Attributes:
        head: Who writes to which lane.
        link: How it is reached.
        tickets: The folder where tickets lie under temporary names.
        store: Deliveries and commands.
        poster: Posts to the press.
        commands: The outbox of commands about jobs that the press has.
        hand: Gives to the flow what the press said, and comes back when it is in the store; False where it is not.
        beat: Called before each exchange.
        notices: The log.
        clocks: The time.
    """

    head: Letterhead
    link: PressLink
    tickets: Path
    store: Store
    poster: Poster
    commands: Channel
    hand: Callable[[FromPress], bool]
    beat: Callable[[], None]
    notices: Notices
    clocks: Clocks
    _open: _Open = field(default_factory=_Open)
    _away_since_s: float | None = None
    _again_at_s: float = 0.0
    _signals: bool | None = None
    """Whether the press opened its channels; None where it was not asked since it was last away."""
    _poll_at_s: float = 0.0
    _command_at_s: float = 0.0
    _asked: int = 0

    def turn(self) -> bool:
        """Say what is due. True where more may be due at once."""
        if self.clocks.monotonic() < self._again_at_s:
            return False
        if self._signals is None and not self._subscribe():
            return False
        if self._submit():
            return True
        if self._open.queue_entry_id:
            return False  # a command could speak of the very entry
        self._poll()
        return self._command()

    def close(self) -> None:
        """Note what was sent, and let go of the connection."""
        self.commands.close()

    def _command(self) -> bool:
        if self.clocks.monotonic() < self._command_at_s:
            return False
        turn = self.commands.turn()
        self._command_at_s = self.clocks.monotonic() + min(turn.failing_s, self.link.poll_s)
        return turn.more

    def _submit(self) -> bool:
        """One step of the oldest open submission. True where it came to its end, so that the next may follow."""
        with self.store.transaction() as tx:
            delivery = tx.next_submission(self.head.device_id)
        if self._open.queue_entry_id not in ("", delivery and delivery.queue_entry_id):
            self._settle_by_word(self._open.queue_entry_id)
        if delivery is None:
            self._open = _Open()
            return False
        if self._open.queue_entry_id != delivery.queue_entry_id:
            self._open = _Open(delivery.queue_entry_id)
        move, entry_id = Move.SEND, delivery.press_entry_id
        if delivery.state is DeliveryState.SUBMITTING:
            if self.clocks.monotonic() < self._open.ask_at_s:
                return False
            found = self._ask_for(delivery)
            move, entry_id = MOVES[self._open.word, found.knowledge], found.press_entry_id
        if move is Move.SEND:
            return self._send(delivery)
        if move is Move.WAIT:
            self._away()
            return False
        self._settle(delivery, move, entry_id, self._open.reason)
        return True

    def _send(self, delivery: Delivery) -> bool:
        name = delivery.queue_entry_id
        try:
            ticket = durable.read(self.tickets / delivery.temporary_name, MOST_BYTES)
        except ShareHangs:
            return False  # nothing was sent, and nothing is known of the ticket; the next turn asks again
        except OSError as error:
            self._settle(delivery, Move.ASK_A_PERSON, None, f"its ticket cannot be read: {error}")
            return True
        with self.store.transaction() as tx:
            if not tx.move_delivery(name, OPEN, DeliveryState.SUBMITTING):
                return False
            priority = tx.standing(name).priority
        body = submit(
            self.head, f"{name}.submit", self.clocks.now(), ticket,
            priority=priority, return_jmf=self.link.answer_url,
        )  # fmt: skip
        answer = self._post(body)
        word = word_of(answer.outcome, answer.return_code)
        if word is Word.TAKEN:
            self._back()
            self._settle(delivery, Move.DELIVERED, entry_named(answer.jmf), "")
            return True
        self._tell_failing(answer)
        if word is Word.NOT_SENT:
            with self.store.transaction() as tx:
                tx.move_delivery(name, (DeliveryState.SUBMITTING,), DeliveryState.INTENDED)
            self._away()
            return False
        settle_s = self.link.settle_s if word is Word.LOST else 0.0
        self._open = _Open(name, word, answer.reason, self.clocks.monotonic() + settle_s)
        if word is Word.REFUSED_FOR_NOW:
            self._pause()
        return False

    def _ask_for(self, delivery: Delivery) -> Found:
        """Whether the press has the entry of a submission whose answer was lost, or was no yes."""
        with self.store.transaction() as tx:
            job = tx.standing(delivery.queue_entry_id)
        entry = Entry(job.job_id, press_part_id(job.job_part_id, job.queue_entry_id))
        answer = self._post(ask_queue(self.head, self._message_id(), self.clocks.now(), entry))
        return found_in_queue(answer.outcome, answer.return_code, answer.jmf, delivery.queue_entry_id)

    def _settle(self, delivery: Delivery, move: Move, press_entry_id: str | None, reason: str) -> None:
        self._open = _Open()
        name = delivery.queue_entry_id
        self.hand(SubmissionSettled(self.head.device_id, name, move, press_entry_id, reason))

    def _settle_by_word(self, name: str) -> None:
        """The press spoke of the job before its answer was had: then it has the ticket, and the copy here has served."""
        with self.store.transaction() as tx:
            delivery = tx.delivery(name)
        if delivery is not None and delivery.delivered:
            self._settle(delivery, Move.DELIVERED, delivery.press_entry_id, "")

    def _subscribe(self) -> bool:
        """Open the channels anew after a start, and after the press was away. False where it cannot be reached."""
        if self.link.answer_url is None:
            self._signals = False
            return True
        opened = True
        for kind in SUBSCRIBED:
            message_id = f"B-{self.head.device_id}-{kind}"
            body = subscribe(self.head, message_id, self.clocks.now(), kind, self.link.answer_url)
            answer = self._post(body)
            if answer.outcome not in (Outcome.RECEIVED, Outcome.NEVER):
                self._tell_failing(answer)
                self._away()
                return False
            opened = opened and answer.outcome is Outcome.RECEIVED
        self._signals = opened
        self.notices.tell("press channels", device_id=self.head.device_id, signals=opened)
        self._poll_at_s = 0.0
        return True

    def _poll(self) -> None:
        """Ask where lane and queue stand, when that is due."""
        if self.clocks.monotonic() < self._poll_at_s:
            return
        answer = self._post(ask_all(self.head, self._message_id(), self.clocks.now()))
        self._poll_at_s = self.clocks.monotonic() + self.link.poll_s * (SELDOM if self._signals else 1)
        if answer.jmf is not None:
            self._back()
            self.hand(PressPolled(self.head.device_id, answer.jmf))
        elif answer.outcome is not Outcome.RECEIVED:
            self._tell_failing(answer)
            self._away()

    def _post(self, body: bytes) -> Answer:
        """One exchange; each is progress, however long the press takes over it."""
        self.beat()
        return self.poster.post(body, content_type_of(body))

    def _message_id(self) -> str:
        """Questions change nothing, so their numbers need not outlive a start."""
        self._asked += 1
        return f"A{int(self.clocks.now().timestamp())}-{self._asked}"

    def _tell_failing(self, answer: Answer) -> None:
        self.notices.failing(
            f"press {self.head.device_id} does not answer as it should", reason=answer.reason
        )

    def _away(self) -> None:
        """The press cannot be reached; its channels are opened anew when it is back, as it may have lost them."""
        self._pause()
        self._signals = None

    def _pause(self) -> None:
        """Leave the press alone for a while, the longer the longer it says no."""
        now_s = self.clocks.monotonic()
        if self._away_since_s is None:
            self._away_since_s = now_s
        self._again_at_s = now_s + min(wait_s(now_s - self._away_since_s), self.link.poll_s)

    def _back(self) -> None:
        self.notices.well(f"press {self.head.device_id} does not answer as it should")
        self._away_since_s = None


class CommandSender:
    """Posts the commands of a lane's channel and hands on what the press answers, also a no."""

    def __init__(self, device_id: str, poster: Poster, hand: Callable[[FromPress], bool]) -> None:
        self._device_id = device_id
        self._poster = poster
        self._hand = hand

    def send(self, body: bytes, file_name: str) -> None:
        """Post one command; its file is named after the job that it speaks of.

        Raises:
            NotReceived: No answer that can be passed on, or it could not be noted.
        """
        answer = self._poster.post(body)
        if answer.outcome not in (Outcome.RECEIVED, Outcome.NEVER):
            raise NotReceived(answer.reason, answer.outcome)
        message_id = etree.fromstring(body)[0].get("ID", "")
        text = "" if answer.jmf is None else comment_of(answer.jmf)
        name = file_name.removesuffix(".jmf")
        if not self._hand(PressAnswered(self._device_id, name, message_id, answer.return_code, text)):
            raise NotReceived("the answer could not be noted")

    def settle(self, file_names: Sequence[str]) -> None:
        """The press has it; nothing lies here."""

    def close(self) -> None:
        """Close the connection."""
        self._poster.close()
