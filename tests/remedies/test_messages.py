"""What is answered to messages by HTTP, and to the packages they come in; then as the remedy wants it."""

import gzip
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from threading import Event

import pytest

from tests.remedies.changes import BANNER
from tests.remedies.provokes import provokes
from tests.remedies.scene import MadeBench, Scene
from tests.unit.daemon.http.office import (
    JMF,
    Office,
    command,
    jmf,
    listen,
    package,
    query,
    serving,
    submission,
    submit,
)
from ticketbridge.daemon.http import exchange
from ticketbridge.demo.orders import DemoOrder, artwork, ticket

Steps = Iterator[None]
CHANNEL = '<Subscription URL="http://127.0.0.1:9/jmf"/>'
OTHER = replace(BANNER, job_id="HL-24117-9", file_name="other.jdf")
ABORT = command(
    "AbortQueueEntry",
    '<AbortQueueEntryParams EndStatus="Aborted">'
    '<QueueFilter><QueueEntryDef QueueEntryID="Q000001"/></QueueFilter></AbortQueueEntryParams>',
)
FIVE = replace(BANNER, quantity=5)
"""The same order with other content."""
TICKET = "application/vnd.cip4-jdf+xml"


class Desk:
    """An MIS that posts to the bridge; every answer is heard."""

    def __init__(self, scene: Scene, office: Office) -> None:
        self.office = office
        self._scene = scene

    def post(self, body: bytes, content_type: str = JMF) -> None:
        """A body as it is."""
        self._scene.hear_answer(self.office.post(body, content_type).body)

    def say(self, *messages: str, device_id: str | None = None) -> None:
        """Messages in one JMF."""
        self.post(jmf(*messages, device_id=device_id))

    def submit(
        self, order: DemoOrder = BANNER, message: str | None = None, device_id: str | None = None
    ) -> None:
        """A ticket with its artwork in one package."""
        body, content_type = submission(order, message)
        if device_id is not None:
            body = body.replace(b"<JMF", f'<JMF DeviceID="{device_id}"'.encode(), 1)
        self.post(body, content_type)

    @property
    def entries(self) -> int:
        """How many entries the queue has."""
        with self.office.desk.view.transaction() as tx:
            return len(tx.all_jobs())


@contextmanager
def at_the_desk(scene: Scene, limits: str = "") -> Iterator[Desk]:
    """A bridge that listens, for as long as the block lasts."""
    listen(scene.folder, f"  limits: {{{limits}}}" if limits else "", only_mis=True)
    with again_at_the_desk(scene) as desk:
        yield desk


@contextmanager
def again_at_the_desk(scene: Scene) -> Iterator[Desk]:
    """The same, started anew."""
    with serving(MadeBench(scene.folder)) as office:
        yield Desk(scene, office)


# Packages


@provokes("package.broken", "Send it as multipart/related, the JMF as its first part")
def test_a_package_that_is_cut_off(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        body, content_type = submission()
        desk.post(body[:-20], content_type)
        yield
        desk.post(body, content_type)


@provokes("package.too-large", "Put the artwork where both sides can open it and name it by its URL")
def test_a_package_with_more_than_a_message_may_have(scene: Scene) -> Steps:
    art = artwork(BANNER) + b"%" * 3_000_000
    shared = scene.drop_folder() / "art" / f"{BANNER.job_id}.pdf"
    with at_the_desk(scene, "package_bytes: 2000000") as desk:
        body, content_type = submission(art=art)
        said = desk.office.post(gzip.compress(body), content_type, **{"Content-Encoding": "gzip"})
        scene.hear_answer(said.body)
        yield
        shared.write_bytes(art)
        data = ticket(BANNER).replace(f"art/{BANNER.job_id}.pdf".encode(), shared.as_uri().encode())
        desk.post(*package(("jmf", JMF, jmf(submit())), ("ticket", TICKET, data)))


@provokes("package.id-twice", "Give each part an ID of its own")
def test_two_parts_of_one_name(scene: Scene) -> Steps:
    data = ticket(BANNER).replace(f"art/{BANNER.job_id}.pdf".encode(), b"cid:art")
    parts = [
        ("jmf", JMF, jmf(submit())),
        ("ticket", TICKET, data),
        ("art", "application/pdf", artwork(BANNER)),
    ]
    with at_the_desk(scene) as desk:
        desk.post(*package(*parts, parts[-1]))
        yield
        desk.post(*package(*parts, ("proof", *parts[-1][1:])))


@provokes("package.part-missing", "Give the part that is meant this Content-ID, or correct the URL")
def test_a_ticket_of_another_name(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.submit(message=submit(url="cid:order"))
        yield
        desk.submit(message=submit(url="cid:ticket"))


@provokes("package.no-jmf", "Post a JMF, or a package whose first part is one")
def test_a_ticket_without_its_message(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.post(ticket(BANNER), TICKET)
        yield
        desk.submit()


# Messages


@provokes("message.too-many", "Send them one after the other")
def test_more_messages_than_a_document_may_hold(scene: Scene) -> Steps:
    asked = [query("KnownDevices", message_id=f"q{number}") for number in range(3)]
    with at_the_desk(scene, "messages: 2") as desk:
        desk.say(*asked)
        yield
        for one in asked:
            desk.say(one)


@provokes("message.unknown-device", "KnownDevices lists them; without a DeviceID the bridge itself is meant")
def test_a_message_for_a_device_that_there_is_not(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.say(query("Status"), device_id="press")
        yield
        listed = desk.office.post(jmf(query("KnownDevices"))).find("DeviceInfo")
        desk.say(query("Status"), device_id=listed.get("DeviceID"))
        desk.say(query("Status"))


@provokes("message.lacks", "Give it, and send the message again")
def test_a_submission_that_names_no_ticket(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.submit(message=command("SubmitQueueEntry"))
        yield
        desk.submit(message=submit())


@provokes("message.busy", "Send the same message again later; what was taken in meanwhile is not taken twice")
def test_a_bridge_that_is_busy(scene: Scene) -> Steps:
    released = Event()
    with at_the_desk(scene, "answer_s: 1") as desk:
        desk.office.flow.do(lambda _: released.wait(20))
        desk.submit()
        released.set()
        yield
        desk.office.flow.do(lambda _: None).result(20)
        desk.submit()
        assert desk.entries == 1


@provokes("message.broke", "its log shows the fault")
def test_a_fault_of_ours(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> Steps:
    faults: list[BaseException] = []
    with at_the_desk(scene) as desk:
        monkeypatch.setattr(desk.office.desk.notices, "broke", lambda _what, error: faults.append(error))
        with monkeypatch.context() as broken:
            broken.setattr(exchange, "answer", lambda *_: 1 / 0)
            desk.say(query("Status"))
        yield
        assert [type(fault) for fault in faults] == [ZeroDivisionError]
        desk.say(query("Status"))  # as when it is mended


@provokes("message.nothing-found", "QueueStatus without a filter lists what there is")
def test_a_question_about_a_job_that_there_is_not(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.office.submit()
        desk.say(query("QueueStatus", '<QueueFilter JobID="HL-1"/>'))
        yield
        listed = desk.office.post(jmf(query("QueueStatus"))).find("QueueEntry")
        desk.say(query("QueueStatus", f'<QueueFilter JobID="{listed.get("JobID")}"/>'))


# Where a ticket lies


@provokes("ticket.url-refused", "Send it in the package by cid:")
def test_a_ticket_somewhere_on_the_machine(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.say(submit(url="file:///etc/hostname"))
        yield
        desk.submit(message=submit(url="cid:ticket"))


@provokes("ticket.url-unreachable", "Put it there, and send the message again")
def test_a_ticket_that_is_not_where_it_is_named(scene: Scene) -> Steps:
    folder = scene.folder / "artwork"
    with at_the_desk(scene) as desk:
        folder.mkdir(exist_ok=True)
        named = partial(desk.say, submit(url=(folder / "banner.jdf").as_uri()))
        named()
        yield
        (folder / "art").mkdir()
        (folder / "art" / f"{BANNER.job_id}.pdf").write_bytes(artwork(BANNER))
        (folder / "banner.jdf").write_bytes(ticket(BANNER))
        named()


# The queue


@provokes("command.queue-is")
def test_a_queue_is_held(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.say(command("HoldQueue"), device_id="HL-P1-A")
        yield


@provokes("queue.closed", "OpenQueue opens it")
def test_a_queue_that_is_closed(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.say(command("CloseQueue"))
        desk.submit()
        yield
        desk.say(command("OpenQueue"))
        desk.submit(message=submit("c2"))


@provokes("queue.full", "Submit it again when some have ended")
def test_a_queue_that_is_full(scene: Scene) -> Steps:
    with at_the_desk(scene, "queue_entries: 1") as desk:
        desk.submit(device_id="HL-P1-A")
        desk.submit(OTHER, submit("c2"), device_id="HL-P1-A")
        yield
        desk.say(ABORT)
        desk.submit(OTHER, submit("c3"), device_id="HL-P1-A")


def _resubmit(message_id: str) -> str:
    params = '<ResubmissionParams QueueEntryID="Q000001" URL="cid:ticket"/>'
    return command("ResubmitQueueEntry", params, message_id)


@provokes("queue.entry-exists", "Change it by ResubmitQueueEntry")
def test_a_changed_ticket_of_a_job_that_is_in_the_queue(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.office.submit()
        desk.submit(FIVE, submit("c2"))
        yield
        desk.submit(FIVE, _resubmit("c3"))
        assert desk.entries == 1


@provokes("queue.other-job", "submit another one as a new entry")
def test_a_ticket_of_another_job_in_the_place_of_one(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.office.submit()
        desk.submit(OTHER, _resubmit("c2"))
        yield
        desk.submit(OTHER, submit("c3"))
        assert desk.entries == 2


@provokes("command.flushed")
def test_what_has_ended_is_removed(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.office.submit()
        desk.office.post(jmf(ABORT))
        desk.say(command("FlushQueue"))
        assert scene.heard[0].facts == {"count": "1"}
        yield


# Channels


@provokes("channel.refused", "let the administrator allow it for this sender in shop.yaml")
def test_a_subscription_to_somewhere_else(scene: Scene) -> Steps:
    asked = query("QueueStatus", CHANNEL.replace("127.0.0.1", "192.0.2.7"))
    with at_the_desk(scene) as desk:
        desk.say(asked)
    yield
    scene.edit("shop.yaml", "http://127.0.0.1:9", "http://192.0.2.7:9")
    with again_at_the_desk(scene) as desk:
        desk.say(asked)


@provokes("channel.opened", "StopPersistentChannel ends it")
def test_a_subscription(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.say(query("QueueStatus", CHANNEL))
        yield
        desk.say(command("StopPersistentChannel", '<StopPersChParams URL="http://127.0.0.1:9/jmf"/>'))
        assert desk.office.post(jmf(query("KnownSubscriptions"))).find("SubscriptionInfo") is None


@provokes("channel.unknown", "KnownSubscriptions lists them")
def test_the_end_of_a_channel_that_there_is_not(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.office.post(jmf(query("QueueStatus", CHANNEL)))
        desk.say(command("StopPersistentChannel", '<StopPersChParams URL="http://127.0.0.1:9/"/>'))
        yield
        listed = desk.office.post(jmf(query("KnownSubscriptions"))).find("Subscription").get("URL")
        desk.say(command("StopPersistentChannel", f'<StopPersChParams URL="{listed}"/>'))


@provokes("channel.closed")
def test_the_end_of_a_channel(scene: Scene) -> Steps:
    with at_the_desk(scene) as desk:
        desk.office.post(jmf(query("QueueStatus", CHANNEL)))
        desk.say(command("StopPersistentChannel", '<StopPersChParams URL="http://127.0.0.1:9/jmf"/>'))
        yield
