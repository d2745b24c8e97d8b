"""What people ask by command."""

from pathlib import Path
from typing import Any

import pytest

from tests.unit.flow.bench import BANNER, Bench, press_returns
from ticketbridge.config.load import load_shop
from ticketbridge.demo.orders import ORDERS
from ticketbridge.flow.asked.requests import answer
from ticketbridge.flow.bridge import Bridge, ShopFaulty
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.model.job_states import State
from ticketbridge.model.request import Reply, Request, Wish

UNKNOWN_STOCK = ORDERS[7]


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


@pytest.fixture
def held_back(bench: Bench) -> Bridge:
    """A bridge whose jobs wait, because no lane is ready."""
    bridge = bench.restart()
    bridge.unfinished_lanes.update(bridge.lanes)
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    return bridge


def ask(bridge: Bridge, wish: Wish, request_id: str = "r1", **args: Any) -> Reply:
    return answer(bridge, Request(wish, "op-07", {"queue_entry_id": "Q000001", **args}), request_id)


def codes(reply: Reply) -> list[str]:
    return [finding.code for finding in reply.findings]


def state(bridge: Bridge, name: str = "Q000001") -> State:
    with bridge.store.transaction() as tx:
        return tx.standing(name).state


def test_a_waiting_job_can_be_held_and_resumed_and_its_history_says_who(held_back: Bridge) -> None:
    assert ask(held_back, Wish.HOLD).done
    assert state(held_back) is State.HELD
    assert ask(held_back, Wish.RESUME, "r2").done
    assert state(held_back) is State.WAITING
    with held_back.store.transaction() as tx:
        assert [(e["what"], e["who"]) for e in tx.history("Q000001")][-2:] == [
            ("hold", "op-07"),
            ("resume", "op-07"),
        ]


def test_a_waiting_job_can_be_cancelled_once(held_back: Bridge) -> None:
    assert ask(held_back, Wish.CANCEL).done
    assert state(held_back) is State.REMOVED
    assert codes(ask(held_back, Wish.CANCEL, "r2")) == ["request.not-now"]


def test_due_time_and_priority_change_what_goes_first(held_back: Bridge) -> None:
    assert ask(held_back, Wish.DUE, due="2026-12-01T17:00:00+01:00").done
    assert ask(held_back, Wish.PRIORITY, "r2", priority=90).done
    with held_back.store.transaction() as tx:
        standing = tx.standing("Q000001")
    assert (standing.due and standing.due.isoformat(), standing.priority) == ("2026-12-01T16:00:00+00:00", 90)


def test_an_unknown_job_is_said_to_be_unknown(held_back: Bridge) -> None:
    reply = answer(held_back, Request(Wish.HOLD, "op-07", {"queue_entry_id": "Q9"}), "r1")

    assert (reply.done, codes(reply)) == (False, ["request.unknown-job"])


def test_what_the_press_has_only_the_press_can_change(bench: Bench) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])

    assert codes(ask(bridge, Wish.CANCEL)) == ["request.at-press"]


def test_printing_again_takes_a_finished_job_and_the_same_request_again_makes_no_third(bench: Bench) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    assert codes(ask(bridge, Wish.PRINT_AGAIN)) == ["request.not-now"]
    lane = bench.lane("HL-P1-A")
    bench.press_says(bridge, "HL-P1-A", "P1.jdf", press_returns((lane.tickets / "Q000001.jdf").read_bytes()))

    assert [ask(bridge, Wish.PRINT_AGAIN, "r2").done for _ in range(2)] == [True, True]

    with bridge.store.transaction() as tx:
        assert [job.queue_entry_id for job in tx.all_jobs()] == ["Q000001", "Q000002"]


def test_a_refused_ticket_is_taken_after_the_mapping_was_mended(bench: Bench) -> None:
    bridge = bench.restart()
    bridge.reload = lambda: load_shop(bench.folder).shop
    accept(bridge, [bench.claim(bench.drop(UNKNOWN_STOCK))])
    assert bench.files(bench.source.refused) == [
        UNKNOWN_STOCK.file_name,
        f"{UNKNOWN_STOCK.file_name}.findings.txt",
    ]
    mapping = bench.folder / "mappings" / "mis.yaml"
    text = mapping.read_text()
    assert "substrates:\n" in text
    mapping.write_text(
        text.replace(
            "substrates:\n", "substrates:\n  - {stock_brand: Moonbeam Film 9, substrate: VINYL-WHITE}\n", 1
        )
    )

    reply = ask(bridge, Wish.RETRY)

    assert [finding.facts for finding in reply.findings] == [
        {"name": UNKNOWN_STOCK.file_name, "before": "mapping.substrate-unknown", "after": "accepted"}
    ]
    assert bench.files(bench.source.refused) == []
    assert bench.files(bench.source.accepted) == [UNKNOWN_STOCK.file_name]
    assert codes(ask(bridge, Wish.RETRY, "r2")) == ["request.nothing-refused"]


def test_a_ticket_that_is_refused_again_says_so(bench: Bench) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(UNKNOWN_STOCK))])

    [finding] = ask(bridge, Wish.RETRY, names=[UNKNOWN_STOCK.file_name]).findings

    assert finding.facts["after"] == "refused again (mapping.substrate-unknown)"
    assert bench.files(bench.source.refused) == [
        UNKNOWN_STOCK.file_name,
        f"{UNKNOWN_STOCK.file_name}.findings.txt",
    ]


def test_a_faulty_shop_folder_changes_nothing(bench: Bench) -> None:
    def reload() -> Any:
        raise ShopFaulty("mappings/mis.yaml:3:5 substrate: no such substrate")

    bridge = bench.restart()
    bridge.reload = reload
    accept(bridge, [bench.claim(bench.drop(UNKNOWN_STOCK))])

    assert codes(ask(bridge, Wish.RETRY)) == ["request.shop-faulty"]
    assert len(bench.files(bench.source.refused)) == 2
