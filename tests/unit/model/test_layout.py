"""A layout in the store."""

from tests.unit.made import LAYOUT, MARKED, PANELS, with_all_marks
from ticketbridge.model.layout import Layout
from ticketbridge.model.marks import NO_MARKS


def test_a_layout_stored_before_there_were_marks_and_drops_is_still_read() -> None:
    stored = PANELS.as_json()
    del stored["marks"], stored["pitch_mm"]
    stored["panels"] = [row[:3] for row in stored["panels"]]
    read = Layout.from_json(stored)
    assert (read.marks, read.pitch_mm, read.placements) == (NO_MARKS, None, PANELS.placements)


def test_the_marks_that_room_was_left_for_survive_the_store() -> None:
    layout = with_all_marks(MARKED["a half drop"])
    assert Layout.from_json(layout.as_json()) == layout
    assert Layout.from_json(LAYOUT.as_json()) == LAYOUT
