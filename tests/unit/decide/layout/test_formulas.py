"""The formulas of a layout, one by one."""

import pytest

from ticketbridge.decide.layout.formulas import (
    copies_across,
    even_panel_width,
    length_for_rows,
    panel_count,
    waste_percent,
)


def test_the_last_copy_needs_no_gap_behind_it() -> None:
    assert copies_across(usable_width_mm=320, width_mm=100, gap_mm=10) == 3


def test_a_copy_that_misses_by_a_hundredth_of_a_millimetre_does_not_fit() -> None:
    assert copies_across(usable_width_mm=319.99, width_mm=100, gap_mm=10) == 2


def test_noise_in_the_last_digits_costs_no_column() -> None:
    noisy = 0.1 + 0.2  # 0.30000000000000004
    assert copies_across(usable_width_mm=0.9, width_mm=noisy, gap_mm=0) == 3


def test_a_piece_wider_than_the_roll_has_no_copies() -> None:
    assert copies_across(usable_width_mm=999, width_mm=1000, gap_mm=10) == 0


def test_rows_have_gaps_between_them_only() -> None:
    assert length_for_rows(rows=3, height_mm=200, gap_mm=10) == 620


def test_a_piece_as_wide_as_the_roll_is_one_panel() -> None:
    assert panel_count(width_mm=1580, printable_width_mm=1580, overlap_mm=20) == 1


def test_a_piece_a_millimetre_wider_is_two_panels() -> None:
    assert panel_count(width_mm=1581, printable_width_mm=1580, overlap_mm=20) == 2


def test_panels_at_the_limit_are_not_one_more_through_noise() -> None:
    widest_in_four = 4 * 1580 - 3 * 20
    assert panel_count(width_mm=widest_in_four + 1e-9, printable_width_mm=1580, overlap_mm=20) == 4


def test_an_overlap_as_wide_as_the_roll_is_an_error() -> None:
    with pytest.raises(ValueError, match="leaves nothing"):
        panel_count(width_mm=5000, printable_width_mm=20, overlap_mm=20)


def test_even_panels_cover_the_piece_with_their_overlaps() -> None:
    assert 4 * even_panel_width(5000, 4, 20) - 3 * 20 == 5000


def test_half_a_roll_of_pieces_is_half_waste() -> None:
    assert waste_percent(piece_area_mm2=50, roll_area_mm2=100) == 50
