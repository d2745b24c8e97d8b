"""Packing pieces of different sizes."""

import pytest

from tests.packing_checker import comes_apart, faults
from ticketbridge.decide.layout.packing import (
    QUICK,
    Cutting,
    DoesNotFit,
    Effort,
    Packing,
    Part,
    Strip,
    pack,
    panel_set,
    whole_piece,
)

EXACT = Effort(steps=500, branches=20_000)


def test_one_piece_is_as_long_as_it_is_high() -> None:
    packing = pack([whole_piece(800, 300)], Strip(1000))
    assert (packing.length_mm, packing.bound_mm) == (300, 300)
    assert packing.placed[0].parts == (Part(0, 0, 800, 300),)


def test_pieces_fill_the_width_to_its_last_millimetre() -> None:
    pieces = [whole_piece(400, 300), whole_piece(600, 300), whole_piece(1000, 200)]
    assert pack(pieces, Strip(1000)).length_mm == 500


def test_a_gap_is_kept_between_neighbours_and_not_at_the_edges() -> None:
    pieces = [whole_piece(495, 300), whole_piece(495, 300), whole_piece(1000, 200)]
    packing = pack(pieces, Strip(1000, gap_mm=10))
    assert packing.length_mm == 510
    assert faults(packing, pieces, Strip(1000, gap_mm=10)) == []


def test_sizes_that_came_in_points_still_fit_beside_each_other() -> None:
    third = 1500 / 3 * 72 / 25.4 * 25.4 / 72 + 1e-10
    assert pack([whole_piece(third, 200)] * 3, Strip(1500)).length_mm == pytest.approx(200)


def test_a_piece_that_only_fits_turned_is_turned() -> None:
    packing = pack([whole_piece(1200, 300, may_turn=True)], Strip(1000))
    assert packing.placed[0].shape.turned
    assert packing.length_mm == 1200


def test_a_piece_is_turned_where_that_saves_length() -> None:
    pieces = [whole_piece(500, 1000, may_turn=True), whole_piece(1000, 400)]
    assert pack(pieces, Strip(1000), EXACT).length_mm == 900
    assert pack([whole_piece(500, 1000), whole_piece(1000, 400)], Strip(1000), EXACT).length_mm == 1400


def test_a_piece_too_wide_says_which_it_is() -> None:
    with pytest.raises(DoesNotFit, match="piece 2 fits a strip of 1000 mm no way") as caught:
        pack([whole_piece(800, 300), whole_piece(1200, 1100, may_turn=True)], Strip(1000))
    assert caught.value.piece == 1


def test_nothing_to_pack_is_an_error() -> None:
    with pytest.raises(ValueError, match="nothing to pack"):
        pack([], Strip(1000))


def test_the_same_question_has_the_same_answer() -> None:
    pieces = [whole_piece(100 + 37 * n % 300, 90 + 53 * n % 400, may_turn=True) for n in range(30)]
    assert pack(pieces, Strip(1000), QUICK) == pack(pieces, Strip(1000), QUICK)


def test_a_longer_search_is_never_worse() -> None:
    pieces = [whole_piece(100 + 37 * n % 300, 90 + 53 * n % 400) for n in range(30)]
    lengths = [pack(pieces, Strip(1000), Effort(steps)).length_mm for steps in (0, 500, 5_000, 20_000)]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] < lengths[0]


def test_the_exact_method_finds_what_no_order_gives_and_proves_it() -> None:
    """Five pieces round a hole: the smallest packing that no cut from edge to edge takes apart."""
    pieces = [whole_piece(*size) for size in ((200, 100), (100, 200), (200, 100), (100, 200), (100, 100))]
    packing = pack(pieces, Strip(300), EXACT)
    assert (packing.length_mm, packing.bound_mm) == (300, 300)
    assert not comes_apart(edges_of(packing))


def test_the_exact_method_proves_more_than_the_area_says() -> None:
    """Three pieces wider than half the strip lie one after another, however small they are."""
    packing = pack([whole_piece(501, 100)] * 3, Strip(1000), EXACT)
    assert (packing.length_mm, packing.bound_mm) == (300, 300)


def test_guillotine_cuts_take_every_piece_off() -> None:
    pieces = [whole_piece(90 + 41 * n % 300, 80 + 67 * n % 350, may_turn=n % 2 == 0) for n in range(25)]
    strip = Strip(1000, gap_mm=5, cutting=Cutting.GUILLOTINE)
    packing = pack(pieces, strip)
    assert faults(packing, pieces, strip) == []
    assert comes_apart(edges_of(packing))


def test_five_pieces_round_a_hole_cost_length_where_cuts_go_from_edge_to_edge() -> None:
    pieces = [whole_piece(*size) for size in ((200, 100), (100, 200), (200, 100), (100, 200), (100, 100))]
    assert pack(pieces, Strip(300, cutting=Cutting.GUILLOTINE)).length_mm > 300


def test_the_panels_of_a_set_stay_together_and_in_order() -> None:
    strip = Strip(1000, gap_mm=10)
    pieces = [panel_set([480, 480, 480], 700, strip), whole_piece(480, 700), whole_piece(900, 200)]
    packing = pack(pieces, strip, EXACT)
    panels = packing.placed[0].parts
    assert [(part.width_mm, part.height_mm) for part in panels] == [(480, 700)] * 3
    places = [(part.y_mm, part.x_mm) for part in panels]
    assert places == sorted(places)
    assert faults(packing, pieces, strip) == []
    assert packing.length_mm == 3 * 700 + 2 * 10 + 10 + 200, "the whole piece lies beside the set"


def test_a_set_stands_in_rows_where_its_panels_fit_beside_each_other() -> None:
    strip = Strip(1000)
    assert pack([panel_set([500] * 4, 300, strip)], strip).length_mm == 600


def edges_of(packing: Packing) -> list[tuple[float, float, float, float]]:
    return [
        (part.x_mm, part.y_mm, part.x_mm + part.width_mm, part.y_mm + part.height_mm)
        for placed in packing.placed
        for part in placed.parts
    ]


def test_alike_pieces_take_turns_whoever_may_be_turned() -> None:
    """Pieces of one size are one kind only where they may lie alike."""
    pieces = [whole_piece(400, 600, may_turn=number % 2 == 0) for number in range(6)]
    strip = Strip(1000)
    packing = pack(pieces, strip, EXACT)
    assert faults(packing, pieces, strip) == []
    assert not any(placed.shape.turned for placed in packing.placed[1::2])


def test_edges_that_differ_by_the_noise_of_floats_part_nothing() -> None:
    beside = [(0.0, 0.0, 100.0, 50.0), (0.0, 60.0, 100.0 + 1e-10, 110.0)]

    assert comes_apart(beside)
    assert not comes_apart([(0.0, 0.0, 100.0, 50.0), (50.0, 25.0, 100.0 + 1e-10, 50.0 + 1e-10)])
