"""What holds for every packing, whatever the pieces and the strip."""

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.packing_checker import comes_apart, faults, overlapping
from ticketbridge.decide.layout.packing import (
    Cutting,
    Effort,
    Packing,
    Piece,
    Strip,
    pack,
    panel_set,
    whole_piece,
)

EFFORT = Effort(steps=600)
EXACT = Effort(steps=200, branches=3_000)

sizes = (
    st.floats(20, 1200)
    | st.integers(20, 1200).map(float)
    | st.integers(60, 3400).map(lambda pt: pt * 25.4 / 72)
)
size_pairs = st.lists(st.tuples(sizes, sizes), min_size=1, max_size=14)
strips = st.builds(Strip, st.floats(1200, 3200), st.sampled_from([0.0, 4.5, 10.0]), st.sampled_from(Cutting))


def whole(pairs: list[tuple[float, float]], *, may_turn: bool) -> list[Piece]:
    return [whole_piece(width, height, may_turn=may_turn) for width, height in pairs]


def rectangles(packing: Packing) -> list[tuple[float, float, float, float]]:
    return [
        (part.x_mm, part.y_mm, part.x_mm + part.width_mm, part.y_mm + part.height_mm)
        for placed in packing.placed
        for part in placed.parts
    ]


@st.composite
def mixed(draw: st.DrawFn) -> tuple[list[Piece], Strip]:
    strip = draw(strips)
    sets: Any = st.builds(
        lambda width, count, height: panel_set([width] * count, height, strip),
        st.floats(300, 1200), st.integers(1, 5), st.floats(100, 2500),
    )  # fmt: skip
    single: Any = st.builds(
        lambda size, may_turn: whole_piece(*size, may_turn=may_turn), st.tuples(sizes, sizes), st.booleans()
    )
    return draw(st.lists(sets | single, min_size=1, max_size=12)), strip


@given(mixed())
def test_every_packing_is_sound(case: tuple[list[Piece], Strip]) -> None:
    pieces, strip = case
    packing = pack(pieces, strip, EFFORT)
    assert faults(packing, pieces, strip) == []


@given(mixed())
def test_every_packing_for_guillotine_cuts_comes_apart(case: tuple[list[Piece], Strip]) -> None:
    pieces, strip = case
    packing = pack(pieces, Strip(strip.width_mm, strip.gap_mm, Cutting.GUILLOTINE), EFFORT)
    whole_pieces = [
        (one.x_mm, one.y_mm, one.x_mm + one.shape.width_mm, one.y_mm + one.shape.height_mm)
        for one in packing.placed
    ]
    assert comes_apart(whole_pieces)


@given(size_pairs, strips)
def test_leave_to_turn_never_costs_length(pairs: list[tuple[float, float]], strip: Strip) -> None:
    upright, turning = (pack(whole(pairs, may_turn=may), strip, EFFORT) for may in (False, True))
    assert turning.length_mm <= upright.length_mm


@settings(max_examples=40)
@given(st.lists(st.tuples(sizes, sizes), min_size=1, max_size=5), st.floats(1200, 2000))
def test_what_is_proved_shortest_is_no_longer_than_any_search_finds(
    pairs: list[tuple[float, float]], width_mm: float
) -> None:
    pieces = whole(pairs, may_turn=True)
    exact, searched = (pack(pieces, Strip(width_mm), effort) for effort in (EXACT, EFFORT))
    if exact.length_mm == exact.bound_mm:
        assert exact.length_mm <= searched.length_mm
    assert searched.bound_mm <= exact.length_mm


@settings(max_examples=40)
@given(st.lists(st.tuples(sizes, sizes), min_size=2, max_size=5), st.floats(1200, 2000))
def test_a_piece_less_never_needs_more_roll(pairs: list[tuple[float, float]], width_mm: float) -> None:
    """Of what is proved shortest; a search may stumble on the larger order and not on the smaller."""
    fewer, all_of_them = (
        pack(whole(some, may_turn=False), Strip(width_mm), EXACT) for some in (pairs[1:], pairs)
    )
    if fewer.length_mm == fewer.bound_mm:
        assert fewer.length_mm <= all_of_them.length_mm


@given(mixed())
def test_the_panels_of_a_set_have_nothing_between_them(case: tuple[list[Piece], Strip]) -> None:
    pieces, strip = case
    packing = pack(pieces, strip, EFFORT)
    outlines = [
        (one.x_mm, one.y_mm, one.x_mm + one.shape.width_mm, one.y_mm + one.shape.height_mm)
        for one in packing.placed
        if one.shape.parts
    ]
    singles = [
        (
            one.x_mm + 0.01,
            one.y_mm + 0.01,
            one.x_mm + one.shape.width_mm - 0.01,
            one.y_mm + one.shape.height_mm - 0.01,
        )
        for one in packing.placed
        if not one.shape.parts
    ]
    assert not any(overlapping([outline, single]) for outline in outlines for single in singles)
