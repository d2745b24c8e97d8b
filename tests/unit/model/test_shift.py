"""Who is on shift at a time of the shop's own day."""

from datetime import UTC, datetime

import pytest

from ticketbridge.model.shift import Shift
from ticketbridge.model.shop import Settings

EARLY = {"people": ["op-03"], "begins": "06:00", "ends": "14:00"}
NIGHT = {"people": ["op-07"], "days": ["Friday"], "begins": "22:00", "ends": "06:00"}


@pytest.mark.parametrize(
    ("shift", "time", "runs"),
    [
        (EARLY, "2026-03-06T06:00", True),
        (EARLY, "2026-03-06T13:59", True),
        (EARLY, "2026-03-06T14:00", False),
        (EARLY, "2026-03-07T08:00", False),  # a Saturday
        (NIGHT, "2026-03-06T22:00", True),
        (NIGHT, "2026-03-07T05:59", True),
        (NIGHT, "2026-03-07T22:00", False),
        (NIGHT, "2026-03-06T05:00", False),  # Thursday's night, which is none
    ],
)
def test_a_shift_runs_from_its_beginning_to_its_end(shift: dict[str, object], time: str, runs: bool) -> None:
    assert Shift.model_validate(shift).runs_at(datetime.fromisoformat(time)) is runs


def settings(*shifts: dict[str, object]) -> Settings:
    source = {"id": "mis", "folder": "hot", "mapping": "mis"}
    told = {
        "name": "S",
        "sender_id": "s",
        "time_zone": "Europe/Lisbon",
        "sources": [source],
        "shifts": shifts,
    }
    return Settings.model_validate(told)


def test_the_day_is_the_shop_s_own() -> None:
    # In June Lisbon is an hour ahead of UTC.
    assert settings(EARLY).on_shift(datetime(2026, 6, 5, 5, 30, tzinfo=UTC)) == {"op-03"}
    assert settings(EARLY).on_shift(datetime(2026, 6, 5, 13, 30, tzinfo=UTC)) == set()


def test_without_a_plan_of_shifts_nobody_s_absence_is_known() -> None:
    assert settings().on_shift(datetime(2026, 6, 5, 5, 30, tzinfo=UTC)) is None
