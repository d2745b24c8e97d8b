"""The stock of rolls in the store."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from sqlalchemy.exc import IntegrityError

from tests.unit.made import NOW, ROLL
from ticketbridge.model.stock import Whereabouts
from ticketbridge.model.substrate import Flaw, Roll
from ticketbridge.store.opening import Address
from ticketbridge.store.store import Store, open_store

LANE = "HL-P1-A"
LATER = NOW + timedelta(hours=1)
OTHER = ROLL.model_copy(update={"lot": "L2"})


@pytest.fixture
def store(database: Address) -> Iterator[Store]:
    store = open_store(database)
    yield store
    store.close()


def places(store: Store) -> dict[str, str]:
    with store.transaction() as tx:
        return {f"{one.roll.lot}/{one.roll.number}": one.place for one in tx.stock()}


def test_a_received_roll_is_on_the_shelf_with_everything_known_of_it(store: Store) -> None:
    flawed = ROLL.model_copy(
        update={"core_outside_mm": 100.0, "flaws": (Flaw(at_mm=3000, length_mm=40, what="crease"),)}
    )
    with store.transaction() as tx:
        tx.receive_roll(flawed, NOW)
        assert tx.shelf() == (flawed,)


def test_the_same_lot_and_number_is_never_taken_in_twice(store: Store) -> None:
    with store.transaction() as tx:
        tx.receive_roll(ROLL, NOW)
        assert tx.next_roll_number("L1") == 2
        assert tx.next_roll_number("L9") == 1

    with pytest.raises(IntegrityError), store.transaction() as tx:
        tx.receive_roll(ROLL.model_copy(update={"width_mm": 3200}), NOW)


def test_a_roll_that_is_changed_for_another_goes_back_to_the_shelf_with_its_account(store: Store) -> None:
    with store.transaction() as tx:
        tx.load_roll(LANE, ROLL, NOW)
        tx.use_roll(LANE, 12.5, NOW)
        tx.load_roll(LANE, OTHER, LATER)
        assert [roll.length_left_m for roll in tx.shelf()] == [37.5]
        assert tx.rolls() == {LANE: OTHER}
        assert tx.load_roll(LANE, ROLL, LATER).length_left_m == 37.5
    assert places(store) == {"L1/1": LANE, "L2/1": "shelf"}


def test_an_empty_roll_that_comes_off_is_gone(store: Store) -> None:
    with store.transaction() as tx:
        tx.load_roll(LANE, ROLL, NOW)
        tx.use_roll(LANE, 50, NOW)
        tx.take_off(LANE, LATER)
        [gone] = tx.stock()
    assert (gone.where, gone.device_id, gone.placed_at) == (Whereabouts.GONE, None, LATER)


def test_a_remnant_can_be_said_to_be_gone(store: Store) -> None:
    with store.transaction() as tx:
        tx.load_roll(LANE, ROLL, NOW)
        tx.take_off(LANE, LATER, gone=True)
        tx.take_off(LANE, LATER)
    assert places(store) == {"L1/1": "gone"}


def test_a_roll_moves_from_lane_to_lane(store: Store) -> None:
    with store.transaction() as tx:
        tx.load_roll(LANE, ROLL, NOW)
        tx.load_roll("HL-P1-B", ROLL, LATER)
    assert places(store) == {"L1/1": "HL-P1-B"}


def test_what_is_used_of_an_empty_lane_is_no_fault(store: Store) -> None:
    with store.transaction() as tx:
        assert tx.use_roll(LANE, 5, NOW) == 0
        assert tx.roll_on(LANE) is None


def test_flaws_come_nearer_as_the_roll_is_used_and_are_forgotten_when_they_are_past(store: Store) -> None:
    flaws = (Flaw(at_mm=1000, length_mm=500), Flaw(at_mm=9000, length_mm=100, what="stain"))
    with store.transaction() as tx:
        tx.load_roll(LANE, ROLL.model_copy(update={"flaws": flaws}), NOW)
        tx.use_roll(LANE, 1.2, NOW)
        assert tx.rolls()[LANE].flaws == (
            Flaw(at_mm=0, length_mm=300),
            Flaw(at_mm=7800, length_mm=100, what="stain"),
        )
        tx.use_roll(LANE, 1, NOW)
        assert tx.rolls()[LANE].flaws == (Flaw(at_mm=6800, length_mm=100, what="stain"),)


def test_a_measurement_is_kept_with_its_time_and_changes_no_account(store: Store) -> None:
    with store.transaction() as tx:
        tx.receive_roll(ROLL, NOW)
        tx.note_diameter(ROLL, 180.5, LATER)
        [one] = tx.rolls_of_lot("L1")
    assert (one.measured_diameter_mm, one.measured_at, one.roll) == (180.5, LATER, ROLL)


def test_a_corrected_roll_keeps_its_place(store: Store) -> None:
    with store.transaction() as tx:
        tx.load_roll(LANE, ROLL, NOW)
        tx.correct_roll(Roll(**(ROLL.model_dump() | {"length_left_m": 31})), LATER)
        assert tx.rolls()[LANE].length_left_m == 31
