"""The rolls' account: filled once from the shop folder, then the store's own."""

from datetime import timedelta
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from tests.unit.flow.bench import BANNER, Bench, press_returns, status_jmf
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.intake.accepting import accept
from ticketbridge.flow.roll_account import settle
from ticketbridge.model.substrate import Roll

LANE = "HL-P1-A"
PART = ("HL-24117", "1.Q000001")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "shop")


def places(bridge: Bridge) -> dict[str, str]:
    with bridge.store.transaction() as tx:
        return {f"{one.roll.lot}/{one.roll.number}": one.place for one in tx.stock()}


def test_the_first_start_takes_over_what_the_shop_folder_names(bench: Bench) -> None:
    found = places(bench.restart())

    assert (found["B510-2207/1"], found["C380-0915/1"], found["B510-2211/1"]) == (
        "HL-P1-A",
        "HL-P1-B",
        "HL-P2-W",
    )
    assert [lot for lot, place in found.items() if place == "shelf"] == [
        "L210-1102/1",
        "B510-2208/1",
        "B510-2212/1",
        "P115-2040/1",
        "F115-0630/1",
        "M270-0411/1",
        "M270-0418/1",
        "S-0009/1",
        "V-5120/1",
        "T300-3301/1",
        "W-0077/1",
    ]


def test_a_later_start_changes_nothing_that_the_store_knows(bench: Bench) -> None:
    bridge = bench.restart()
    with bridge.store.transaction() as tx:
        tx.take_off(LANE, bridge.now())
        tx.load_roll(LANE, tx.rolls_of_lot("W-0077")[0].roll, bridge.now())
        tx.take_off("HL-P1-B", bridge.now(), gone=True)
    before = places(bridge)
    bridge.store.close()

    assert places(bench.restart()) == before


def test_a_roll_added_to_the_shop_folder_is_taken_over_at_the_next_start(bench: Bench) -> None:
    bench.restart().store.close()
    add_to_shelf(bench, {"substrate": "BAN510", "lot": "NEW-1", "width_mm": 1600, "length_left_m": 9})

    assert places(bench.restart())["NEW-1/1"] == "shelf"


def test_rolls_of_one_lot_that_nobody_numbered_are_numbered_in_their_order(bench: Bench) -> None:
    for length_m in (50, 20):
        add_to_shelf(
            bench,
            {"substrate": "BAN510", "lot": "B510-2207", "width_mm": 1600, "length_left_m": length_m},
        )
    bridge = bench.restart()
    found = places(bridge)

    assert [found[f"B510-2207/{number}"] for number in (1, 2, 3)] == [LANE, "shelf", "shelf"]
    bridge.store.close()
    assert places(bench.restart()) == found


def add_to_shelf(bench: Bench, roll: dict[str, object]) -> None:
    file, yaml = bench.folder / "stock.yaml", YAML()
    data = yaml.load(file)
    data["stock"].append(roll)
    yaml.dump(data, file)


def test_a_job_is_laid_out_for_a_roll_that_the_store_has_and_the_shop_folder_does_not(bench: Bench) -> None:
    bridge = bench.restart()
    with bridge.store.transaction() as tx:
        for device_id in (LANE, "HL-P2-W"):
            tx.take_off(device_id, bridge.now(), gone=True)
        for one in tx.stock():
            if one.roll.substrate == "BAN510" and one.place == "shelf":
                tx.load_roll("away", one.roll, bridge.now())
                tx.take_off("away", bridge.now(), gone=True)
        received = Roll(substrate="BAN510", lot="NEW-2", width_mm=1600, length_left_m=40)
        tx.receive_roll(received, bridge.now())
    accept(bridge, [bench.claim(bench.drop(BANNER))])

    with bridge.store.transaction() as tx:
        assert tx.job("Q000001").roll == received


def say(bench: Bench, bridge: Bridge, status: str, amount: int, message_id: str) -> None:
    bench.press_says(bridge, LANE, f"{message_id}.jmf", status_jmf(LANE, PART, status, amount, 3, message_id))


@pytest.fixture
def printing(bench: Bench) -> Bridge:
    """A bridge with a job of three banners at the press, one of them printed."""
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    say(bench, bridge, "InProgress", 0, "S1")
    say(bench, bridge, "InProgress", 1, "S2")
    return bridge


def test_a_roll_changed_in_the_middle_of_a_job_is_charged_with_its_share_and_no_more(
    bench: Bench, printing: Bridge
) -> None:
    with printing.store.transaction() as tx:
        used_m = tx.standing("Q000001").roll_length_mm / 1000
        [second] = tx.rolls_of_lot("B510-2208")
        for _ in range(2):
            settle(printing, tx, LANE)
        tx.load_roll(LANE, second.roll, printing.now())
    written = (bench.lane(LANE).tickets / "Q000001.jdf").read_bytes()
    bench.press_says(printing, LANE, "P1-000001.jdf", press_returns(written))

    with printing.store.transaction() as tx:
        left = {one.roll.lot: one.roll.length_left_m for one in tx.stock()}
    assert left["B510-2207"] == pytest.approx(50 - used_m / 3)
    assert left["B510-2208"] == pytest.approx(50 - used_m * 2 / 3)


def test_a_roll_used_up_is_told_to_the_mis_as_empty(bench: Bench, printing: Bridge) -> None:
    with printing.store.transaction() as tx:
        short = tx.rolls()[LANE].model_copy(update={"length_left_m": 0.5})
        tx.correct_roll(short, printing.now())
    say(bench, printing, "Completed", 3, "S3")

    with printing.store.transaction() as tx:
        bodies = [message.body for message in tx.unsent("mis.folder", 0, 1000)]
    [told] = [body for body in bodies if b'Level="Empty"' in body]
    assert b'BatchID="B510-2207"' in told


def test_a_press_that_ends_a_job_on_a_lane_without_a_roll_breaks_nothing(
    bench: Bench, printing: Bridge
) -> None:
    with printing.store.transaction() as tx:
        tx.take_off(LANE, printing.now())
    say(bench, printing, "Completed", 3, "S3")

    with printing.store.transaction() as tx:
        assert tx.standing("Q000001").phase == "Completed"


def test_a_like_roll_that_a_person_loaded_later_is_not_taken_off_again_by_the_start_of_a_job(
    bench: Bench,
) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    with bridge.store.transaction() as tx:
        laid_out = tx.job("Q000001").submitted_at
        [second] = tx.rolls_of_lot("B510-2208")
        tx.load_roll(LANE, second.roll, laid_out + timedelta(seconds=1))
    say(bench, bridge, "InProgress", 0, "S1")

    assert places(bridge)["B510-2208/1"] == LANE


def test_a_job_laid_out_for_another_substrate_than_is_on_the_lane_tells_of_a_change(bench: Bench) -> None:
    bridge = bench.restart()
    accept(bridge, [bench.claim(bench.drop(BANNER))])
    with bridge.store.transaction() as tx:
        [film] = tx.rolls_of_lot("V-5120")
        tx.load_roll(LANE, film.roll, bridge.now())
    say(bench, bridge, "InProgress", 0, "S1")

    assert (places(bridge)["B510-2207/1"], places(bridge)["V-5120/1"]) == (LANE, "shelf")
