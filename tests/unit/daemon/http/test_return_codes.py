"""Every return code that the bridge gives, brought about by what a partner would have done."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.unit.daemon.http.office import Office, command, jmf, open_office, query, submission, submit
from ticketbridge.daemon.http import exchange
from ticketbridge.demo.orders import ORDERS
from ticketbridge.model.codes import CODES
from ticketbridge.model.return_codes import ReturnCode

BOARD = ORDERS[6]
ENTRY = '<QueueFilter><QueueEntryDef QueueEntryID="Q000001"/></QueueFilter>'
HOLD = command("HoldQueueEntry", f"<HoldQueueEntryParams>{ENTRY}</HoldQueueEntryParams>", "h1")


def after_submission(message: str) -> Callable[[Office], list[str]]:
    def bring_about(office: Office) -> list[str]:
        office.submit()
        return office.post(jmf(message)).codes

    return bring_about


def asked(message: str, **named: str) -> Callable[[Office], list[str]]:
    return lambda office: office.post(jmf(message, **named)).codes


def fault_of_ours(office: Office) -> list[str]:
    whole = exchange.answer
    exchange.answer = lambda *_: 1 / 0
    try:
        return office.post(jmf(query("Status"))).codes
    finally:
        exchange.answer = whole


def flow_that_hangs(office: Office) -> list[str]:
    """The thread that moves jobs is busy with something else; the same again is done later."""
    released = threading.Event()
    office.flow.do(lambda _: released.wait(20))
    codes = office.submit().codes
    released.set()
    assert office.submit(message=submit("c2")).codes == ["0"]
    with office.desk.view.transaction() as tx:
        assert len(tx.all_jobs()) == 1
    return codes


def changed(office: Office) -> list[str]:
    office.submit()
    body, kind = submission(message=submit("c2"))
    return office.post(body.replace(b'Amount="3"', b'Amount="5"'), kind).codes


def other_job(office: Office) -> list[str]:
    office.submit()
    again = '<ResubmissionParams QueueEntryID="Q000001" URL="cid:ticket"/>'
    return office.submit(ORDERS[1], command("ResubmitQueueEntry", again, "c2")).codes


def closed(office: Office) -> list[str]:
    office.post(jmf(command("CloseQueue")))
    return office.submit().codes


BROUGHT_ABOUT: dict[ReturnCode, Callable[[Office], list[str]]] = {
    ReturnCode.SUCCESS: after_submission(HOLD),
    ReturnCode.INTERNAL_ERROR: fault_of_ours,
    ReturnCode.NOT_PARSEABLE: lambda office: office.post(b"<JMF").codes,
    ReturnCode.NOT_VALID: asked(
        '<Query ID="q" Type="Status"><StatusQuParams JobDetails="Everything"/></Query>'
    ),
    ReturnCode.NOT_IMPLEMENTED: asked('<Command ID="c" Type="ShutDown"/>'),
    ReturnCode.WRONG_PARAMETERS: after_submission(
        command(
            "SetQueueEntryPosition", '<QueueEntryPosParams QueueEntryID="Q000001" NextQueueEntryID="Q9"/>'
        )
    ),
    ReturnCode.PARAMETERS_MISSING: asked(command("SubmitQueueEntry")),
    ReturnCode.BUSY: flow_that_hangs,
    ReturnCode.CANNOT_DO: lambda office: office.submit(BOARD).codes,
    ReturnCode.UNKNOWN_ENTRY: asked(HOLD),
    ReturnCode.FILTER_EMPTY: asked(query("QueueStatus", '<QueueFilter JobID="X"/>')),
    ReturnCode.SUBSCRIPTION_REFUSED: asked(query("Status", '<Subscription URL="http://10.0.0.1/"/>')),
    ReturnCode.QUEUE_CLOSED: closed,
    ReturnCode.ALREADY_SO: after_submission(HOLD.replace("Hold", "Resume")),
    ReturnCode.ENTRY_NOT_RUNNING: after_submission(HOLD.replace("Hold", "Suspend")),
    ReturnCode.ENTRY_EXISTS: changed,
    ReturnCode.URL_UNREACHABLE: asked(submit("c1", "file:///etc/hostname")),
    ReturnCode.UNKNOWN_DEVICE: asked(query("Status"), device_id="nobody"),
    ReturnCode.WRONG_RESOURCE: other_job,
}
BY_THE_TABLE = {ReturnCode.ENTRY_RUNS, ReturnCode.TOO_LATE, ReturnCode.ENTRY_ENDED}
"""Shown in ``unit/flow/test_queue_messages.py``, as an entry must be at the press, or have ended, for them."""
NEVER_GIVEN = {ReturnCode.GENERAL_ERROR, ReturnCode.NOTHING_TO_RUN}
"""1 is what a finding without a better code gives; 102 is given as 101, which says the same of our lanes."""


@pytest.mark.parametrize("code", BROUGHT_ABOUT, ids=lambda code: f"{code.value} {code.name}")
def test_a_return_code_is_given_when_it_should_be(tmp_path: Path, code: ReturnCode) -> None:
    with open_office(tmp_path / "shop", "  limits: {answer_s: 2}", only_mis=True) as office:
        assert BROUGHT_ABOUT[code](office) == [str(code.value)]


def test_every_code_is_shown_somewhere() -> None:
    assert set(BROUGHT_ABOUT) | BY_THE_TABLE | NEVER_GIVEN == set(ReturnCode)


def test_what_findings_answer_is_in_the_table_of_codes() -> None:
    partners = [
        row
        for name, row in CODES.items()
        if name.partition(".")[0] in ("message", "package", "queue", "channel", "request", "command")
    ]

    assert {row.return_code for row in partners} - set(ReturnCode) <= {11}
