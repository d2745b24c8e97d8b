"""Who waits for a partner, until when, and who goes as a gang."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from tests.unit.decide.test_release import NOON, SWIFT, job
from ticketbridge.decide.partners import Partnered, with_partners
from ticketbridge.decide.release import WaitingJob, releases
from ticketbridge.model.lane_state import LaneState
from ticketbridge.model.shop import Shop

MakeShop = Callable[..., Shop]
HOUR = timedelta(hours=1)


@pytest.fixture
def patient(make_shop: MakeShop) -> Shop:
    """A shop whose narrow jobs wait an hour for a partner."""
    return make_shop({"settings.partner_wait_minutes": 60})


def come(name: str, side: str = "left", **changes: Any) -> WaitingJob:
    return job(name, side, **({"submitted_at": NOON, "print_s": 600.0} | changes))


def partnered(
    shop: Shop, *waiting: WaitingJob, after: timedelta = timedelta(), **states: LaneState
) -> Partnered:
    lanes = {f"tern-{side}": state for side, state in states.items()}
    released = releases(waiting, lanes, shop)
    return with_partners(released, waiting, lanes, shop, NOON + after)


def test_where_the_shop_waits_for_nobody_a_job_goes_alone(shop: Shop) -> None:
    assert partnered(shop, come("Q1")) == Partnered(("Q1",))


def test_a_narrow_job_waits_for_a_partner_until_its_time_is_up(patient: Shop) -> None:
    assert partnered(patient, come("Q1")) == Partnered((), {"Q1": NOON + HOUR})
    assert partnered(patient, come("Q1"), after=HOUR).going == ("Q1",)


def test_two_that_agree_go_at_once_as_a_gang(patient: Shop) -> None:
    found = partnered(patient, come("Q1"), come("Q2", "right"))
    assert (found.going, found.waits) == (("Q1", "Q2"), {})
    assert found.gangs == {"Q1": "G-Q1", "Q2": "G-Q1"}
    assert (found.beside("Q1"), found.beside("Q2"), found.beside("Q3")) == (("Q2",), ("Q1",), ())


def test_who_can_join_what_runs_does_not_wait_and_is_no_gang(patient: Shop) -> None:
    found = partnered(patient, come("Q1"), right=LaneState(running=SWIFT, given=1, given_work=(SWIFT,)))
    assert found == Partnered(("Q1",))


def test_the_due_time_wins_changes_and_print_included(patient: Shop) -> None:
    press = patient.presses["tern"]
    changes = press.changeover_minutes.roll + press.changeover_minutes.print_mode
    due = NOON + timedelta(minutes=30)
    found = partnered(patient, come("Q1", due=due))
    assert found.waits == {"Q1": due - timedelta(minutes=10 + changes)}
    assert partnered(patient, come("Q1", due=NOON)).going == ("Q1",)


def test_nobody_waits_in_vain_behind_a_job_that_does_not_agree(patient: Shop) -> None:
    found = partnered(patient, come("Q1"), come("Q2", "right", print_mode="fine"))
    assert (found.going, found.waits) == (("Q1",), {})


def test_a_job_for_a_lane_without_a_mate_never_waits(patient: Shop) -> None:
    assert partnered(patient, come("Q1", "wide")).going == ("Q1",)


def test_nobody_overtakes_a_job_that_waits_for_its_partner(make_shop: MakeShop) -> None:
    shop = make_shop({"settings.partner_wait_minutes": 60})
    lanes = [lane.model_dump() | {"ahead": 0} for lane in shop.presses["tern"].lanes]
    shop = make_shop(
        {"settings.partner_wait_minutes": 60}
        | {f"presses.tern.lanes.{n}": lane for n, lane in enumerate(lanes)}
    )
    late = come("Q2", submitted_at=NOON - 2 * HOUR, number=9)
    assert partnered(shop, come("Q1"), late).going == ()


def test_a_gang_whose_member_drops_out_is_none(patient: Shop) -> None:
    found = partnered(patient, come("Q1"), come("Q2", "right"))
    assert found.only(["Q1"]).gangs == {}
