"""The cuts that take pieces off the roll."""

from collections.abc import Callable

from ticketbridge.decide.layout import lay_out
from ticketbridge.decide.layout.cut_list import cut_list
from ticketbridge.model.cut_list import Cut, Direction
from ticketbridge.model.layout import Layout, Placement
from ticketbridge.model.order import Item

Make = Callable[..., Item]


def placed(*rectangles: tuple[float, float, float, float]) -> list[Placement]:
    return [Placement(number, 0, *rectangle, rotated=False) for number, rectangle in enumerate(rectangles)]


def test_one_piece_needs_no_cut_between_pieces() -> None:
    assert cut_list(placed((0, 0, 500, 300))).cuts == ()


def test_rows_are_cut_across_and_then_along() -> None:
    found = cut_list(placed((0, 0, 500, 300), (510, 0, 500, 300), (0, 310, 500, 300)))
    assert found.cuts == (
        Cut(Direction.ACROSS, 305, 0, 1010),
        Cut(Direction.ALONG, 505, 0, 300),
    )
    assert found.by_hand == ()


def test_a_piece_beside_a_stack_is_cut_along_first() -> None:
    found = cut_list(placed((0, 0, 500, 610), (510, 0, 500, 300), (510, 310, 500, 300)))
    assert [(cut.direction, cut.at_mm) for cut in found.cuts] == [
        (Direction.ALONG, 505),
        (Direction.ACROSS, 305),
    ]


def test_pieces_round_a_hole_are_left_to_the_hand() -> None:
    round_a_hole = placed((0, 0, 200, 100), (200, 0, 100, 200), (100, 200, 200, 100), (0, 100, 100, 200))
    found = cut_list([*round_a_hole, *placed((0, 300, 300, 50))])
    assert [(cut.direction, cut.at_mm) for cut in found.cuts] == [(Direction.ACROSS, 300)]
    assert [len(group) for group in found.by_hand] == [4]


def test_every_layout_of_one_item_comes_apart(make_item: Make) -> None:
    layout = lay_out(
        make_item(finished_width_mm=297, finished_height_mm=420, quantity=23), 1580, 1600, 10, 500, 300
    )
    assert isinstance(layout, Layout)
    found = cut_list(layout.placements)
    assert found.by_hand == ()
    assert len(found.cuts) == len(layout.placements) - 1
