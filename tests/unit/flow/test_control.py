"""Commands to the queue by folder: done, answered by a Response each, in the old form and the new."""

from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, CANVAS, Bench
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.keep.rescue import rescue
from ticketbridge.jdf.check import check
from ticketbridge.model.job_states import State
from ticketbridge.vocabulary.names import jdf

BY_ID = '<QueueFilter><QueueEntryDef QueueEntryID="Q000001"/></QueueFilter>'
BY_NAME = f'<QueueFilter JobID="{BANNER.job_id}" JobPartID="1"/>'


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    """A bridge with one job that no lane has yet."""
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    return bridge


def jmf(*messages: str) -> bytes:
    head = '<JMF xmlns="http://www.CIP4.org/JDFSchema_1_1" SenderID="mis" TimeStamp="2026-11-25T09:00:00Z" Version="1.7">'
    return "".join([head, *messages, "</JMF>"]).encode()


def command(kind: str, content: str, message_id: str = "c1") -> str:
    return f'<Command ID="{message_id}" Type="{kind}">{content}</Command>'


def say(bench: Bench, bridge: Bridge, data: bytes, name: str = "say.jmf") -> list[tuple[str, str, str]]:
    """Drop it, and give what the Responses in the outbox say: refID, Type, ReturnCode."""
    (bench.source.drop / name).write_bytes(data)
    accept(bridge, [bench.claim(name)])
    return responses(bridge)


def responses(bridge: Bridge) -> list[tuple[str, str, str]]:
    with bridge.store.transaction() as tx:
        bodies = [message.body for message in tx.unsent("mis.folder", 0, 1000)]
    roots = [etree.fromstring(body) for body in bodies]
    assert [check(root, "out") for root in roots] == [[]] * len(roots)
    return [
        (answer.get("refID", ""), answer.get("Type", ""), answer.get("ReturnCode", ""))
        for root in roots
        for answer in root.iter(jdf("Response"))
    ]


def state(bridge: Bridge, name: str = "Q000001") -> tuple[State, int]:
    with bridge.store.transaction() as tx:
        job = tx.standing(name)
    return job.state, job.priority


@pytest.mark.parametrize(
    ("kind", "content", "becomes"),
    [
        ("HoldQueueEntry", f"<HoldQueueEntryParams>{BY_ID}</HoldQueueEntryParams>", (State.HELD, 60)),
        ("HoldQueueEntry", f"<HoldQueueEntryParams>{BY_NAME}</HoldQueueEntryParams>", (State.HELD, 60)),
        ("HoldQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>', (State.HELD, 60)),
        ("RemoveQueueEntry", f"<RemoveQueueEntryParams>{BY_ID}</RemoveQueueEntryParams>", (State.REMOVED, 60)),
        ("RemoveQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>', (State.REMOVED, 60)),
        ("SetQueueEntryPriority", f'<QueueEntryPriParams Priority="90">{BY_NAME}</QueueEntryPriParams>',
         (State.WAITING, 90)),
        ("SetQueueEntryPriority", '<QueueEntryPriParams Priority="9" QueueEntryID="Q000001"/>', (State.WAITING, 9)),
    ],
)  # fmt: skip
def test_a_command_is_done_and_answered_and_its_file_lies_in_accepted(
    bench: Bench, bridge: Bridge, kind: str, content: str, becomes: tuple[State, int]
) -> None:
    assert say(bench, bridge, jmf(command(kind, content))) == [("c1", kind, "0")]

    assert state(bridge) == becomes
    assert "say.jmf" in bench.files(bench.source.accepted)
    with bridge.store.transaction() as tx:
        assert tx.history("Q000001")[-1]["who"] == "mis by say.jmf"


def test_a_held_job_is_resumed_and_both_stand_in_one_file(bench: Bench, bridge: Bridge) -> None:
    told = say(
        bench,
        bridge,
        jmf(
            command("HoldQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>', "a"),
            command("ResumeQueueEntry", f"<ResumeQueueEntryParams>{BY_ID}</ResumeQueueEntryParams>", "b"),
        ),
    )

    assert told == [("a", "HoldQueueEntry", "0"), ("b", "ResumeQueueEntry", "0")]
    assert state(bridge)[0] is State.WAITING


@pytest.mark.parametrize(
    ("what", "message", "code"),
    [
        ("a job nobody knows", command("HoldQueueEntry", '<QueueEntryDef QueueEntryID="Q9"/>'), "105"),
        ("a JobID nobody knows", command("HoldQueueEntry", '<HoldQueueEntryParams><QueueFilter JobID="X"/>'
         "</HoldQueueEntryParams>"), "105"),
        ("no job", command("HoldQueueEntry", ""), "105"),
        ("a filter without a name", command("RemoveQueueEntry",
         "<RemoveQueueEntryParams><QueueFilter/></RemoveQueueEntryParams>"), "105"),
        ("a filter that narrows", command("RemoveQueueEntry", "<RemoveQueueEntryParams>"
         f'<QueueFilter JobID="{BANNER.job_id}" GangNames="G"/></RemoveQueueEntryParams>'), "6"),
        ("a filter that leaves none", command("RemoveQueueEntry", "<RemoveQueueEntryParams>"
         f'<QueueFilter JobID="{BANNER.job_id}" StatusList="Held"/></RemoveQueueEntryParams>'), "105"),
        ("what cannot be now", command("ResumeQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>'), "113"),
        ("a priority without one", command("SetQueueEntryPriority", '<QueueEntryDef QueueEntryID="Q000001"/>'), "7"),
        ("another command", command("OpenQueue", ""), "5"),
        ("a question", '<Query ID="c1" Type="Status"/>', "5"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_answered_with_its_code_and_changes_nothing(
    bench: Bench, bridge: Bridge, what: str, message: str, code: str
) -> None:
    [(ref_id, _, found)] = say(bench, bridge, jmf(message))

    assert (ref_id, found) == ("c1", code)
    assert state(bridge) == (State.WAITING, 60)


def test_what_the_press_has_is_answered_as_too_late(bench: Bench) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])

    told = say(bench, bridge, jmf(command("RemoveQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>')))

    assert told == [("c1", "RemoveQueueEntry", "107")]


def test_a_source_cannot_touch_the_jobs_of_another(bench: Bench, bridge: Bridge) -> None:
    text = jmf(command("RemoveQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>'))
    (bench.counter.drop / "say.jmf").write_bytes(text)
    accept(bridge, [bench.claim("say.jmf", at="counter")])

    assert state(bridge)[0] is State.WAITING


def test_a_message_beside_the_ticket_that_it_speaks_of_comes_after_it(bench: Bench, bridge: Bridge) -> None:
    (bench.source.drop / "a.jmf").write_bytes(
        jmf(command("HoldQueueEntry", f'<HoldQueueEntryParams><QueueFilter JobID="{CANVAS.job_id}"/>'
                    "</HoldQueueEntryParams>"))
    )  # fmt: skip
    accept(bridge, [bench.claim("a.jmf"), bench.claim(bench.drop(CANVAS))])

    assert state(bridge, "Q000002")[0] is State.HELD


@pytest.mark.parametrize(
    "data", [b"<JMF", b"<JMF/>", b'<JDF xmlns="http://www.CIP4.org/JDFSchema_1_1"/>', b""]
)
def test_what_is_no_message_is_refused_with_its_reason(bench: Bench, bridge: Bridge, data: bytes) -> None:
    assert say(bench, bridge, data) == []

    assert bench.files(bench.source.refused) == ["say.jmf", "say.jmf.findings.txt"]
    assert bench.signals(bridge)[-1].startswith("Notification ")


def test_after_a_crash_between_the_answer_and_the_move_the_command_is_not_done_again(
    bench: Bench, bridge: Bridge, monkeypatch: pytest.MonkeyPatch
) -> None:
    def crash(*_: object) -> None:
        raise KeyboardInterrupt

    text = jmf(command("HoldQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>'))
    (bench.source.drop / "say.jmf").write_bytes(text)
    claimed = bench.claim("say.jmf")
    with monkeypatch.context() as patched:
        patched.setattr("ticketbridge.flow.queue.control.move_out", crash)
        with pytest.raises(KeyboardInterrupt):
            accept(bridge, [claimed])
    rescue(bridge, crashed=True)

    assert responses(bridge) == [("c1", "HoldQueueEntry", "0")]
    assert "say.jmf" in bench.files(bench.source.accepted)
