"""Every cell of the table of messages, by the bridge itself: the new state, the code, or the press is asked."""

from itertools import product
from pathlib import Path

import pytest
from lxml import etree

from tests.unit.flow.bench import BANNER, Bench
from ticketbridge.accept.claim import Claimed, Claimer
from ticketbridge.accept.submitted import RESUBMITTED, lay_down
from ticketbridge.answer.commands import entry_command
from ticketbridge.answer.messages import messages_of
from ticketbridge.demo.orders import ticket
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.intake.submitted_to_us import Submitted
from ticketbridge.flow.queue.commanding import command_entries
from ticketbridge.model.codes import CODES
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State
from ticketbridge.model.queue_messages import ASK, TABLE, EntryMessage, Stand, stand_of
from ticketbridge.model.return_codes import ReturnCode
from ticketbridge.model.submission import Submission

NAMED = '<QueueFilter><QueueEntryDef QueueEntryID="Q000001"/></QueueFilter>'
CONTENT = {
    EntryMessage.HOLD: f"<HoldQueueEntryParams>{NAMED}</HoldQueueEntryParams>",
    EntryMessage.RESUME: f"<ResumeQueueEntryParams>{NAMED}</ResumeQueueEntryParams>",
    EntryMessage.SUSPEND: f"<SuspendQueueEntryParams>{NAMED}</SuspendQueueEntryParams>",
    EntryMessage.ABORT: f'<AbortQueueEntryParams EndStatus="Aborted">{NAMED}</AbortQueueEntryParams>',
    EntryMessage.REMOVE: f"<RemoveQueueEntryParams>{NAMED}</RemoveQueueEntryParams>",
    EntryMessage.PRIORITY: f'<QueueEntryPriParams Priority="90">{NAMED}</QueueEntryPriParams>',
    EntryMessage.POSITION: '<QueueEntryPosParams QueueEntryID="Q000001" Position="0"/>',
}
COMMANDED = [cell for cell in product(Stand, EntryMessage) if cell[1] is not EntryMessage.RESUBMIT]


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


def put(bridge: Bridge, stand: Stand) -> None:
    """Where the entry stands, as if all that leads there had happened."""
    with bridge.store.transaction() as tx:
        job = tx.standing("Q000001")
        state = State.WAITING if stand is Stand.AT_LANE else State(stand.value)
        given = stand not in (Stand.WAITING, Stand.HELD, Stand.REMOVED)
        tx.change_job(job, state=state, given=given)


def standing(bridge: Bridge) -> Standing:
    with bridge.store.transaction() as tx:
        return tx.standing("Q000001")


def test_the_table_has_every_cell() -> None:
    assert set(TABLE) == set(Stand)
    assert all(set(row) == set(EntryMessage) for row in TABLE.values())


@pytest.mark.parametrize(("stand", "message"), COMMANDED)
def test_a_command_does_what_its_cell_says(bridge: Bridge, stand: Stand, message: EntryMessage) -> None:
    put(bridge, stand)
    text = (
        '<JMF xmlns="http://www.CIP4.org/JDFSchema_1_1" SenderID="mis" TimeStamp="2026-11-25T09:00:00Z" '
        f'Version="1.7"><Command ID="c" Type="{message}">{CONTENT[message]}</Command></JMF>'
    )
    command = entry_command(messages_of(etree.fromstring(text))[0])
    assert command is not None
    with bridge.store.transaction() as tx:
        [finding] = command_entries(bridge, tx, "mis", command, "mis", "r1")

    cell, code = TABLE[stand][message], CODES[finding.code].return_code
    now = standing(bridge)
    if cell is ASK:
        assert finding.code == "request.at-press", "a press that is reached by folder is asked by a person"
        assert stand_of(now) is stand
    elif isinstance(cell, ReturnCode):
        assert (code, stand_of(now)) == (cell, stand)
    else:
        assert code == 0
        assert (State.REMOVED if not now.listed else now.state) is cell


@pytest.mark.parametrize("stand", Stand)
def test_a_resubmission_does_what_its_cell_says(bench: Bench, bridge: Bridge, stand: Stand) -> None:
    put(bridge, stand)
    places = bench.source
    claimed: Claimed = Claimer("mis", places, RESUBMITTED).name("c.jdf", bridge.now())
    said: list[Submitted] = []
    bridge.awaited[claimed.claim_id.rpartition("-")[0]] = said.append
    other = ticket(BANNER).replace(b'Amount="3"', b'Amount="4"')
    lay_down(claimed, other, Submission("mis", "c", resubmits="Q000001"))

    accept(bridge, [claimed])

    cell = TABLE[stand][EntryMessage.RESUBMIT]
    [submitted] = said
    now = standing(bridge)
    if isinstance(cell, ReturnCode):
        assert CODES[submitted.findings[-1].code].return_code == cell
        assert now.quantity == 3
    else:
        assert (now.state, now.quantity, submitted.queue_entry_ids) == (cell, 4, ("Q000001",))
    assert bench.files(places.claimed) == []
