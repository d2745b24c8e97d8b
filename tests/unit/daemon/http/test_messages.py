"""Every message asked and answered: valid by the official schema, with the code that the standard gives it."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from lxml import etree

from tests.outside.official import invalid, too_new
from tests.unit.daemon.http.office import (
    Office,
    command,
    jmf,
    open_office,
    package,
    query,
    submission,
    submit,
)
from tests.unit.flow.bench import BANNER, CANVAS
from ticketbridge.answer.messages import COMMANDS, QUERIES
from ticketbridge.jdf.check import check
from ticketbridge.model.job_states import State
from ticketbridge.vocabulary.names import jdf

ENTRY = '<QueueFilter><QueueEntryDef QueueEntryID="Q000001"/></QueueFilter>'
CHANNEL = '<Subscription URL="http://127.0.0.1:9/jmf"/>'


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Office]:
    with open_office(tmp_path / "shop") as office:
        yield office


@pytest.fixture
def judge(office: Office, shared: Path, tmp_path: Path) -> Iterator[None]:
    """After the test everything that was answered is judged, by the official schema and by ours."""
    yield
    for body in office.said:
        path = tmp_path / "said.xml"
        path.write_bytes(body)
        root = etree.fromstring(body)
        assert invalid(shared, path) + too_new(shared, root, root.get("Version", "")) == []
        assert check(root, "said") == []


pytestmark = pytest.mark.usefixtures("judge")


def state(office: Office, name: str = "Q000001") -> State:
    with office.desk.view.transaction() as tx:
        return tx.standing(name).state


@pytest.mark.parametrize("kind", [kind for kind in QUERIES if kind != "Notification"])
def test_every_query_is_answered(office: Office, kind: str) -> None:
    office.submit()

    said = office.post(jmf(query(kind)))

    assert (said.status, said.codes) == (200, ["0"])
    assert said.responses[0].get("refID") == "q1"
    assert len(said.responses[0]) >= 1 or kind == "KnownSubscriptions"


def test_known_messages_lists_what_is_done_and_nothing_else(office: Office) -> None:
    said = office.post(jmf(query("KnownMessages")))

    listed = {one.get("Type") for one in said.root.iter(jdf("MessageService"))}
    assert listed == {*QUERIES, *COMMANDS}
    for kind in sorted(listed):
        told = office.post(
            jmf(f'<Command ID="c" Type="{kind}"/>' if kind in COMMANDS else f'<Query ID="c" Type="{kind}"/>')
        )
        assert told.codes != ["5"], kind


@pytest.mark.parametrize(
    ("family", "kind"),
    [("Query", "Occupation"), ("Command", "NewJDF"), ("Command", "Resource"), ("Registration", "Resource")],
)
def test_what_is_not_done_is_answered_with_5_and_a_notification(
    office: Office, family: str, kind: str
) -> None:
    said = office.post(jmf(f'<{family} ID="x" Type="{kind}"/>'))

    assert said.codes == ["5"]
    assert said.find("Notification") is not None


def test_several_messages_in_one_document_are_answered_in_order(office: Office) -> None:
    said = office.post(jmf(query("QueueStatus", message_id="a"), command("OpenQueue", message_id="b"),
                           query("Status", message_id="c")))  # fmt: skip

    assert [one.get("refID") for one in said.responses] == ["a", "b", "c"]


def test_a_submitted_package_becomes_a_job_whose_ticket_and_artwork_lie_with_us(office: Office) -> None:
    said = office.submit()

    assert said.codes == ["0"]
    entry = said.find("QueueEntry")
    assert (entry.get("QueueEntryID"), entry.get("JobID"), entry.get("Status")) == (
        "Q000001",
        BANNER.job_id,
        "Waiting",
    )
    assert office.at(office.bench.source.accepted) == ["c1.jdf"]
    [art] = office.bench.source.artwork.glob("package-*/*.pdf")
    assert art.read_bytes().startswith(b"%PDF")


def test_the_same_again_is_the_same_entry_and_its_artwork_is_kept_once(office: Office) -> None:
    office.submit()

    said = office.submit(message=submit("c2"))

    assert said.codes == ["0"]
    assert said.find("QueueEntry").get("QueueEntryID") == "Q000001"
    assert len(list(office.bench.source.artwork.glob("package-*"))) == 1


def changed(message: str) -> tuple[bytes, str]:
    """The same order for four pieces instead of three."""
    body, kind = submission(message=message)
    assert b'Amount="3"' in body
    return body.replace(b'Amount="3"', b'Amount="4"'), kind


def test_other_content_for_a_known_job_is_refused_with_116_unless_it_is_resubmitted(office: Office) -> None:
    office.submit()
    again = '<ResubmissionParams QueueEntryID="Q000001" URL="cid:ticket"/>'

    refused = office.post(*changed(submit("c2")))
    renewed = office.post(*changed(command("ResubmitQueueEntry", again, "c3")))

    assert (refused.codes, renewed.codes) == (["116"], ["0"])
    with office.desk.view.transaction() as tx:
        [job] = tx.all_jobs()
        assert (job.queue_entry_id, job.quantity, job.revision) == ("Q000001", 4, 2)
        assert [row["what"] for row in tx.history("Q000001")] == ["accepted", "resubmitted"]


def test_a_resubmitted_entry_stays_held_and_keeps_its_place(office: Office) -> None:
    office.submit(message=submit("c1", Hold="true"))

    office.post(*changed(command("ResubmitQueueEntry",
                                 '<ResubmissionParams QueueEntryID="Q000001" URL="cid:ticket"/>', "c3")))  # fmt: skip

    assert state(office) is State.HELD


def test_another_order_is_not_taken_for_a_resubmission(office: Office) -> None:
    office.submit()
    again = command(
        "ResubmitQueueEntry", '<ResubmissionParams QueueEntryID="Q000001" URL="cid:ticket"/>', "c3"
    )

    said = office.submit(CANVAS, message=again)

    assert said.codes == ["200"]
    with office.desk.view.transaction() as tx:
        assert [job.job_id for job in tx.all_jobs()] == [BANNER.job_id]


def test_hold_and_priority_of_the_message_count(office: Office) -> None:
    said = office.submit(message=submit("c1", Hold="true", Priority="91"))

    entry = said.find("QueueEntry")
    assert (entry.get("Status"), entry.get("Priority")) == ("Held", "91")


def test_a_ticket_for_a_lane_is_judged_for_that_lane_alone(office: Office) -> None:
    body, kind = submission()
    to_b = body.replace(b'Version="1.7">', b'Version="1.7" DeviceID="HL-P1-B">', 1)
    nowhere = body.replace(b'Version="1.7">', b'Version="1.7" DeviceID="HL-X">', 1)

    assert office.post(nowhere, kind).codes == ["121"]
    office.post(to_b, kind)
    with office.desk.view.transaction() as tx:
        assert {job.device_id for job in tx.all_jobs()} <= {"HL-P1-B"}


def test_a_closed_queue_takes_nothing_and_an_open_one_does(office: Office) -> None:
    closed = office.post(jmf(command("CloseQueue")))
    refused = office.submit()
    opened = office.post(jmf(command("OpenQueue", message_id="c9")))
    taken = office.submit(message=submit("c2"))

    assert [one.codes for one in (closed, refused, opened, taken)] == [["0"], ["112"], ["0"], ["0"]]


def test_a_full_queue_takes_no_more(tmp_path: Path) -> None:
    with open_office(tmp_path / "small", "  limits: {queue_entries: 1}") as office:
        codes = []
        for name in ("HL-91", "HL-92"):
            body, kind = submission()
            body = body.replace(BANNER.job_id.encode(), name.encode())
            codes += office.post(
                body.replace(b'Version="1.7">', b'Version="1.7" DeviceID="HL-P1-A">', 1), kind
            ).codes
        said = office.post(jmf(query("QueueStatus"), device_id="HL-P1-A"))

    assert codes == ["0", "112"]
    assert said.find("Queue").get("QueueSize") == "1"


@pytest.mark.parametrize(
    ("kinds", "status"),
    [
        (["ResumeQueue"], "Waiting"),
        (["HoldQueue"], "Held"),
        (["ResumeQueue", "CloseQueue"], "Closed"),
        (["CloseQueue"], "Blocked"),
        (["CloseQueue", "ResumeQueue"], "Closed"),
        (["CloseQueue", "OpenQueue"], "Held"),
    ],
)
def test_queue_messages_lead_to_the_states_of_the_standard(
    office: Office, kinds: list[str], status: str
) -> None:
    for kind in kinds:
        assert office.post(jmf(command(kind, message_id=kind))).codes == ["0"]

    said = office.post(jmf(query("QueueStatus"), device_id="HL-P1-A"))

    assert said.find("Queue").get("Status") == status
    with office.bridge.store.transaction() as tx:
        assert tx.queue_states() == office.bridge.queues


@pytest.mark.parametrize(
    ("filtering", "found", "code"),
    [
        ("", ["Q000001", "Q000002"], "0"),
        ('<QueueFilter MaxEntries="1"/>', ["Q000001"], "0"),
        (f'<QueueFilter JobID="{CANVAS.job_id}"/>', ["Q000002"], "0"),
        (f'<QueueFilter JobID="{CANVAS.job_id}" JobPartID="9"/>', [], "108"),
        ('<QueueFilter StatusList="Held"/>', [], "0"),
        ('<QueueFilter StatusList="Held Waiting"/>', ["Q000001", "Q000002"], "0"),
        ('<QueueFilter NewerThan="2999-01-01T00:00:00Z"/>', [], "0"),
        ('<QueueFilter OlderThan="2999-01-01T00:00:00Z"/>', ["Q000001", "Q000002"], "0"),
        ('<QueueFilter NewerThan="2026-01-01T24:00:00Z"/>', ["Q000001", "Q000002"], "0"),
        ('<QueueFilter OlderThan="INF" NewerThan="-INF"/>', ["Q000001", "Q000002"], "0"),
        ('<QueueFilter NewerThan="20262026-01-01T00:00:00Z"/>', ["Q000001", "Q000002"], "0"),
        ('<QueueFilter QueueEntryDetails="None"/>', [], "0"),
        ('<QueueFilter><QueueEntryDef QueueEntryID="Q000002"/></QueueFilter>', ["Q000002"], "0"),
        ('<QueueFilter><QueueEntryDef QueueEntryID="Q9"/></QueueFilter>', [], "105"),
    ],
)  # fmt: skip
def test_a_queue_filter_chooses(office: Office, filtering: str, found: list[str], code: str) -> None:
    office.submit()
    office.submit(CANVAS)

    said = office.post(jmf(query("QueueStatus", filtering)))

    assert sorted(one.get("QueueEntryID") for one in said.root.iter(jdf("QueueEntry"))) == found
    assert said.codes == [code]


def test_details_of_a_job_come_on_request(office: Office) -> None:
    office.submit()

    said = office.post(jmf(query("QueueStatus", '<QueueFilter QueueEntryDetails="JobPhase"/>'),
                           query("Status", f'<StatusQuParams JobDetails="Full" JobID="{BANNER.job_id}"/>', "q2"),
                           query("Status", '<StatusQuParams DeviceDetails="Full" JobID="X"/>', "q3")))  # fmt: skip

    assert [one.get("JobID") for one in said.root.iter(jdf("JobPhase"))] == [BANNER.job_id] * 2
    assert said.codes == ["0", "0", "108"]
    assert said.find("Device").get("DescriptiveName")


def test_an_entry_is_put_in_its_place_and_goes_first(office: Office) -> None:
    for number in range(4):
        body, kind = submission(BANNER, submit(f"n{number}"))
        body = body.replace(BANNER.job_id.encode(), f"HL-9{number}".encode())
        office.post(body.replace(b'Version="1.7">', b'Version="1.7" DeviceID="HL-P1-A">', 1), kind)
    params = '<QueueEntryPosParams QueueEntryID="Q000004" {}/>'

    first = office.post(jmf(command("SetQueueEntryPosition", params.format('Position="0"'))))
    behind = office.post(jmf(command("SetQueueEntryPosition", params.format('PrevQueueEntryID="Q000002"'))))
    nobody = office.post(jmf(command("SetQueueEntryPosition", params.format('NextQueueEntryID="Q9"'))))

    assert [one.codes for one in (first, behind, nobody)] == [["0"], ["0"], ["6"]]
    said = office.post(jmf(query("QueueStatus"), device_id="HL-P1-A"))
    assert [one.get("QueueEntryID") for one in said.root.iter(jdf("QueueEntry"))] == [
        "Q000001", "Q000002", "Q000004", "Q000003"
    ]  # fmt: skip


def test_a_bare_flush_removes_what_has_ended_and_nothing_else(office: Office) -> None:
    office.submit()
    office.submit(CANVAS)
    office.post(
        jmf(
            command(
                "AbortQueueEntry",
                f'<AbortQueueEntryParams EndStatus="Aborted">{ENTRY}</AbortQueueEntryParams>',
            )
        )
    )

    said = office.post(jmf(command("FlushQueue")))

    assert [one.get("QueueEntryID") for one in said.root.iter(jdf("QueueEntryDef"))] == ["Q000001"]
    left = office.post(jmf(query("QueueStatus")))
    assert [one.get("QueueEntryID") for one in left.root.iter(jdf("QueueEntry"))] == ["Q000002"]
    assert state(office) is State.ABORTED, "its history stays"
    assert office.submit().find("QueueEntry").get("QueueEntryID") == "Q000001", "and it is not printed again"


def test_a_flush_that_names_them_removes_waiting_entries_too(office: Office) -> None:
    office.submit()

    office.post(
        jmf(command("FlushQueue", '<FlushQueueParams><QueueFilter StatusList="Waiting"/></FlushQueueParams>'))
    )

    assert state(office) is State.REMOVED


@pytest.mark.parametrize("narrowed", ['GangNames="A"', 'OlderThan="20262026-01-01T00:00:00Z"'])
def test_a_flush_that_is_narrowed_by_what_is_not_read_removes_nothing(office: Office, narrowed: str) -> None:
    office.submit()
    flush = f'<FlushQueueParams><QueueFilter StatusList="Waiting" {narrowed}/></FlushQueueParams>'

    said = [office.post(jmf(family("FlushQueue", flush))) for family in (query, command)]

    assert [one.codes for one in said] == [["6"], ["6"]]
    assert state(office) is State.WAITING


@pytest.mark.parametrize("family", [query, command])
def test_a_flush_with_a_filter_that_is_no_filter_is_refused(
    office: Office, family: Callable[[str, str], str]
) -> None:
    said = office.post(
        jmf(family("FlushQueue", '<FlushQueueParams><QueueFilter MaxEntries="all"/></FlushQueueParams>'))
    )

    assert said.codes == ["4"]


def test_a_channel_is_opened_listed_and_stopped(office: Office) -> None:
    opened = office.post(jmf(query("Status", CHANNEL, "ch1")))
    listed = office.post(jmf(query("KnownSubscriptions")))
    stopped = office.post(
        jmf(
            command(
                "StopPersistentChannel", '<StopPersChParams ChannelID="ch1" URL="http://127.0.0.1:9/jmf"/>'
            )
        )
    )
    gone = office.post(jmf(query("KnownSubscriptions")))

    assert opened.responses[0].get("Subscribed") == "true"
    assert opened.find("DeviceInfo") is not None, "many senders expect the state in the answer, too"
    assert [one.get("ChannelID") for one in listed.root.iter(jdf("SubscriptionInfo"))] == ["ch1"]
    assert stopped.codes == ["0"]
    assert list(gone.root.iter(jdf("SubscriptionInfo"))) == []


@pytest.mark.parametrize(
    "subscription",
    [
        '<Subscription URL="http://foreign.example/"/>',
        '<Subscription URL="http://127.0.0.1:9@foreign.example/"/>',
        '<Subscription URL="file:///etc/passwd"/>',
        "<Subscription/>",
        '<Subscription URL="http://127.0.0.1:9/"><ObservationTarget ObservationPath="a[1]//b"/></Subscription>',
    ],
)
def test_a_channel_to_where_nobody_allowed_it_is_refused_with_111(office: Office, subscription: str) -> None:
    assert office.post(jmf(query("Status", subscription))).codes == ["111"]
    assert office.bridge.subscriptions == []


def test_a_press_posts_what_it_could_have_laid_into_its_folder(office: Office) -> None:
    signal = ('<Signal xsi:type="SignalStatus" ID="s1" Type="Status" ChannelMode="Reliable"><StatusQuParams/>'
              '<DeviceInfo DeviceID="HL-P1-B" DeviceStatus="Idle"/></Signal>')  # fmt: skip
    returned = command("ReturnQueueEntry", '<ReturnQueueEntryParams QueueEntryID="x" URL="cid:t"/>')

    told = office.post(jmf(signal, sender="press-1"))
    body, kind = package(("j", "text/xml", jmf(returned, sender="press-1")), ("t", "text/xml", b"<JDF/>"))
    back = office.post(body, kind)

    assert (told.codes, back.codes) == (["0"], ["0"])
    assert [path.suffix for path in office.bench.lane("HL-P1-B").status.glob("http-*")] == [".jmf"]
    assert [path.read_bytes() for path in office.bench.lane("HL-P1-A").returned.glob("http-*")] == [b"<JDF/>"]


def test_a_press_cannot_submit_and_a_mis_cannot_return(office: Office) -> None:
    assert office.post(jmf(command("OpenQueue"), sender="press-1")).codes == ["5"]
    params = '<ReturnQueueEntryParams QueueEntryID="x" URL="cid:t"/>'
    assert office.post(jmf(command("ReturnQueueEntry", params))).codes == ["5"]


def test_every_message_of_a_document_that_is_not_valid_hears_why_by_its_id(office: Office) -> None:
    wrong = query("Status", '<StatusQuParams JobDetails="Everything"/>', "b")

    said = office.post(jmf(query("KnownDevices", message_id="a"), wrong))

    told = [(one.get("refID"), one.get("Type"), one.get("ReturnCode")) for one in said.responses]
    assert told == [("a", "KnownDevices", "4"), ("b", "Status", "4")]
    assert "JobDetails" in said.text


def test_what_a_press_may_have_to_answer_is_listed_as_acknowledged(office: Office) -> None:
    listed = office.post(jmf(query("KnownMessages"))).root.iter(jdf("MessageService"))

    later = {one.get("Type") for one in listed if one.get("Acknowledge") == "true"}
    assert later == {f"{what}QueueEntry" for what in ("Hold", "Resume", "Suspend", "Abort", "Remove")}
