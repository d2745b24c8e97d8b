"""Channels opened by message: the state first, then what was asked for, at the pace that was asked for."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tests.outside.official import invalid
from tests.unit.daemon.http.office import SENDERS, jmf
from tests.unit.flow.bench import BANNER, CANVAS, Bench, status_jmf
from ticketbridge.answer.messages import messages_of
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.channels import open_channel, stop_channels
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.reporting import send_states
from ticketbridge.model.codes import CODES
from ticketbridge.vocabulary.names import jdf

URL = "http://127.0.0.1:9/jmf"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path / "shop")
    shop = bench.folder / "shop.yaml"
    shop.write_text(shop.read_text() + SENDERS.format(more=""))
    return bench


@pytest.fixture
def bridge(bench: Bench) -> Bridge:
    return bench.restart()


def ask(kind: str, params: str = "", subscription: str = "", inside: str = "", name: str = "ch") -> Any:
    text = f'<Query ID="{name}" Type="{kind}">{params}<Subscription URL="{URL}"{subscription}>{inside}</Subscription></Query>'
    return messages_of(etree.fromstring(jmf(text)))[0]


def opened(bridge: Bridge, *args: str, device_id: str | None = None, **named: str) -> str:
    jmf_settings = bridge.shop.settings.jmf
    assert jmf_settings is not None
    [finding] = open_channel(
        bridge, jmf_settings.senders[0], ask(*args, **named), "Harbourlight MIS", device_id
    )
    assert finding.code == "channel.opened"
    return bridge.subscriptions[-1].channel


def signals(bridge: Bridge, channel: str) -> list[Any]:
    with bridge.store.transaction() as tx:
        bodies = [message.body for message in tx.unsent(channel, tx.sent_up_to(channel), 1000)]
    return [one for body in bodies for one in etree.fromstring(body)]


def entries(signal: Any) -> list[str]:
    return [f"{one.get('QueueEntryID')}:{one.get('Status')}" for one in signal.iter(jdf("QueueEntry"))]


def test_the_state_comes_first_and_then_every_change_with_the_whole_queue(
    bench: Bench, bridge: Bridge
) -> None:
    channel = opened(bridge, "QueueStatus")
    send_states(bridge)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    accept(bridge, [bench.claim(bench.drop(CANVAS))])
    send_states(bridge)

    said = signals(bridge, channel)
    assert [entries(one) for one in said] == [[], ["Q000001:Waiting"], ["Q000001:Waiting", "Q000002:Waiting"]]
    assert {(one.get("refID"), one.get("ChannelMode"), one.get("Type")) for one in said} == {
        ("ch", "Reliable", "QueueStatus")
    }


def test_changes_alone_on_request(bench: Bench, bridge: Bridge) -> None:
    channel = opened(bridge, "QueueStatus", '<QueueFilter UpdateGranularity="ChangesOnly"/>')
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    accept(bridge, [bench.claim(bench.drop(CANVAS))])

    assert [entries(one) for one in signals(bridge, channel)] == [["Q000001:Waiting"], ["Q000002:Waiting"]]


def test_a_channel_hears_only_of_its_job_its_lane_and_its_type(bench: Bench, bridge: Bridge) -> None:
    mine = opened(bridge, "Status", f'<StatusQuParams JobID="{BANNER.job_id}"/>', name="mine")
    other = opened(bridge, "Status", '<StatusQuParams JobID="X"/>', name="other")
    lane = opened(bridge, "Status", device_id="HL-P2-W", name="lane")
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    part = etree.parse(next(bench.lane("HL-P1-A").tickets.glob("Q*.jdf"))).getroot().get("JobPartID")
    bench.press_says(
        bridge, "HL-P1-A", "s1.jmf", status_jmf("HL-P1-A", (BANNER.job_id, part), "InProgress", 1, 3, "s1")
    )

    assert [one.find(f".//{jdf('JobPhase')}").get("Amount") for one in signals(bridge, mine)] == ["1"]
    assert signals(bridge, other) == []
    assert signals(bridge, lane) == []


def test_notifications_by_class(bench: Bench, bridge: Bridge) -> None:
    errors = opened(bridge, "Notification", '<NotificationFilter Classes="Error Fatal"/>', name="e")
    everything = opened(bridge, "Notification", name="a")
    accept(bridge, [bench.claim(bench.drop(BANNER))])

    assert signals(bridge, errors) == []
    assert [one.find(jdf("Notification")).get("Class") for one in signals(bridge, everything)] == [
        "Information"
    ]


def test_the_state_is_repeated_as_often_as_was_asked_for(bench: Bench, bridge: Bridge) -> None:
    channel = opened(bridge, "Status", "", ' RepeatTime="60"')
    start, passed = bridge.now(), [0]
    bridge.now = lambda: start + timedelta(seconds=passed[0])
    for passed[0] in range(0, 200, 10):
        send_states(bridge)

    assert len(signals(bridge, channel)) == 4, "at 0, 60, 120 and 180 s"


def test_every_third_change_on_request(bench: Bench, bridge: Bridge) -> None:
    channel = opened(bridge, "Notification", "", ' RepeatStep="3"')
    for number in range(7):
        name = bench.drop(
            BANNER, lambda data, n=number: data.replace(b'Amount="3"', b'Amount="%d"' % (n + 4))
        )
        accept(bridge, [bench.claim(name)])

    assert len(signals(bridge, channel)) == 2


def test_only_when_what_is_observed_has_changed(bench: Bench, bridge: Bridge) -> None:
    observed = '<ObservationTarget ObservationPath="DeviceInfo/@DeviceStatus"/>'
    channel = opened(bridge, "Status", inside=observed, device_id="HL-P1-A")
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    part = etree.parse(next(bench.lane("HL-P1-A").tickets.glob("Q*.jdf"))).getroot().get("JobPartID")
    for number, (status, amount) in enumerate(
        [("Setup", 0), ("InProgress", 1), ("InProgress", 2), ("Stopped", 2)]
    ):
        data = status_jmf("HL-P1-A", (BANNER.job_id, part), status, amount, 3, f"s{number}")
        bench.press_says(bridge, "HL-P1-A", f"s{number}.jmf", data)

    told = [one.find(jdf("DeviceInfo")).get("DeviceStatus") for one in signals(bridge, channel)]
    assert told == ["Setup", "Running", "Stopped"]


def test_a_channel_outlives_a_restart_and_begins_again_with_the_state(bench: Bench, bridge: Bridge) -> None:
    channel = opened(bridge, "QueueStatus")
    bridge.store.close()

    bridge = bench.restart()
    send_states(bridge)

    assert [one.channel for one in bridge.subscriptions] == [channel]
    assert len(signals(bridge, channel)) == 1


def test_the_same_type_to_the_same_address_takes_the_place_of_the_first(bridge: Bridge) -> None:
    opened(bridge, "QueueStatus", name="one")
    second = opened(bridge, "QueueStatus", name="two")

    assert [one.channel for one in bridge.subscriptions] == [second]


def test_a_stopped_channel_hears_nothing_more_not_even_what_waits(bench: Bench, bridge: Bridge) -> None:
    channel = opened(bridge, "QueueStatus")
    send_states(bridge)
    stop = f'<Command ID="c" Type="StopPersistentChannel"><StopPersChParams URL="{URL}"/></Command>'
    settings = bridge.shop.settings.jmf
    assert settings is not None

    [finding] = stop_channels(bridge, settings.senders[0], messages_of(etree.fromstring(jmf(stop)))[0])
    [again] = stop_channels(bridge, settings.senders[0], messages_of(etree.fromstring(jmf(stop)))[0])
    accept(bridge, [bench.claim(bench.drop(BANNER))])

    assert (finding.code, CODES[again.code].return_code) == ("channel.closed", 6)
    assert signals(bridge, channel) == []


@pytest.mark.parametrize("kind", ["QueueStatus", "Status", "Resource"])
def test_every_state_signal_is_valid(
    bench: Bench, bridge: Bridge, shared: Path, tmp_path: Path, kind: str
) -> None:
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    channel = opened(bridge, kind)
    send_states(bridge)

    with bridge.store.transaction() as tx:
        [message] = tx.unsent(channel, 0, 10)
    path = tmp_path / "said.xml"
    path.write_bytes(message.body)
    assert invalid(shared, path) == []
