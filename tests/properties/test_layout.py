"""What holds for every layout, whatever the item and the roll."""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ticketbridge.decide.estimate.time import Image, side_by_side_seconds
from ticketbridge.decide.layout import LayoutProblem, lay_out
from ticketbridge.decide.layout.formulas import TOLERANCE_MM
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.finishing import ALL_EDGES, Finishing, Hem, PolePocket
from ticketbridge.model.layout import Layout, Placement
from ticketbridge.model.marks import NO_MARKS, Marks
from ticketbridge.model.order import Item, Panels
from ticketbridge.model.pattern import Drops, Match, Pattern
from ticketbridge.model.press import CarriageSpan, Press
from ticketbridge.model.substrate import Direction, LayerStack, PrintMode

NOISE_MM = 2 * TOLERANCE_MM
"""The tolerance of the layout, and what floating point adds in sums of some thousand pieces."""

sides = (
    st.floats(5, 6000)
    | st.integers(5, 6000).map(float)
    | st.integers(15, 15_000).map(lambda pt: pt * 25.4 / 72)
)

edges = st.lists(st.sampled_from(ALL_EDGES), unique=True).map(tuple)
finishings = st.just(Finishing()) | st.builds(
    Finishing,
    hem=st.none() | st.builds(Hem, width_mm=st.floats(5, 60), edges=edges),
    pole_pocket=st.none() | st.builds(PolePocket, flat_mm=st.floats(20, 200), edges=edges),
)

items = st.builds(
    Item,
    job_part_id=st.just("P1"),
    finished_width_mm=sides,
    finished_height_mm=sides,
    quantity=st.integers(1, 12),
    bleed_mm=st.sampled_from([0.0, 3.0, 10.0]),
    substrate=st.just("banner"),
    print_mode=st.just("swift"),
    may_rotate=st.booleans(),
    panels=st.sampled_from(Panels),
    panel_overlap_mm=st.floats(0, 60),
    finishing=finishings,
)

marks = st.just(NO_MARKS) | st.builds(
    Marks, slug_line=st.booleans(), slug_height_mm=st.floats(5, 40), cut=st.booleans(), eyelets=st.booleans()
)


@dataclass(frozen=True)
class Case:
    """An item, a usable width and a gap; the layout is made in the test, for it is long to print."""

    item: Item
    usable_width_mm: float
    gap_mm: float
    marks: Marks = NO_MARKS

    def answer(self, item: Item | None = None) -> Layout | LayoutProblem:
        width = self.usable_width_mm
        return lay_out(item or self.item, width, width + 20, self.gap_mm, 500, 300, self.marks)

    def layout(self) -> Layout:
        layout = self.answer()
        assume(isinstance(layout, Layout))
        assert isinstance(layout, Layout)
        return layout


gaps = st.sampled_from([0.0, 4.5, 10.0]) | st.floats(0, 30)
cases = st.builds(Case, items, st.floats(300, 5000) | st.integers(300, 5000).map(float), gaps, marks)


@st.composite
def panelled(draw: st.DrawFn) -> Case:
    """An item wider than the roll that is wanted in panels."""
    usable = draw(st.floats(300, 3300))
    wide = {"finished_width_mm": draw(st.floats(1.001, 9)) * usable, "panels": Panels.WANTED}
    return Case(draw(items).model_copy(update=wide), usable, draw(gaps), draw(marks))


@st.composite
def walls(draw: st.DrawFn) -> Case:
    """A wall, as a mural or with a repeat."""
    match = draw(st.sampled_from(Match))
    pattern = Pattern(
        match=match,
        repeat_mm=None if match is Match.NONE else draw(st.floats(50, 1200)),
        drops=draw(st.sampled_from(Drops)),
        strip_mm=draw(st.none() | st.floats(200, 1600)),
    )
    wall = {"pattern": pattern, "panels": Panels.ALLOWED, "quantity": draw(st.integers(1, 3))}
    return Case(draw(items).model_copy(update=wall), draw(st.floats(300, 3300)), draw(gaps), draw(marks))


def right(placed: Placement) -> float:
    return placed.x_mm + placed.width_mm


def bottom(placed: Placement) -> float:
    return placed.y_mm + placed.height_mm


@given(cases | walls())
def test_no_two_pieces_overlap_or_come_nearer_than_gap_and_marks_need(case: Case) -> None:
    """The slug line stands after a piece, cut marks all round it."""
    layout, margins = case.layout(), 2 * case.marks.margin_mm
    across, along = case.gap_mm + margins, case.gap_mm + margins + case.marks.slug_mm
    for number, one in enumerate(layout.placements):
        for other in layout.placements[number + 1 :]:
            assert (
                other.x_mm - right(one) >= across - NOISE_MM
                or one.x_mm - right(other) >= across - NOISE_MM
                or other.y_mm - bottom(one) >= along - NOISE_MM
                or _printed_in_one_go(layout, one, other)
            )


def _printed_in_one_go(layout: Layout, one: Placement, other: Placement) -> bool:
    """Drops of one wall with a repeat are printed on, and yet none covers another."""
    return layout.pitch_mm is not None and one.piece == other.piece and other.y_mm >= bottom(one) - NOISE_MM


@given(cases | walls())
def test_every_piece_and_its_marks_lie_within_the_usable_width(case: Case) -> None:
    layout, margin = case.layout(), case.marks.margin_mm
    assert min(placed.x_mm for placed in layout.placements) == margin
    assert max(right(placed) for placed in layout.placements) <= layout.usable_width_mm - margin + NOISE_MM


@given(cases | walls())
def test_the_image_reaches_from_the_leftmost_to_the_rightmost_edge_marks_included(case: Case) -> None:
    layout = case.layout()
    assert layout.image_left_mm == 0
    assert layout.image_width_mm == max(right(placed) for placed in layout.placements) + case.marks.margin_mm


@given(cases | walls())
def test_every_panel_of_every_piece_is_placed_once(case: Case) -> None:
    item, layout = case.item, case.layout()
    columns = range(max(1, len(layout.panels)))
    expected = [(piece, column) for piece in range(item.quantity) for column in columns]
    assert [(placed.piece, placed.panel) for placed in layout.placements] == expected


@given(cases)
def test_a_piece_or_panel_keeps_its_printed_size(case: Case) -> None:
    item, layout = case.item, case.layout()
    whole = (item.printed_width_mm, item.printed_height_mm)
    size = (layout.panels[0].width_mm, whole[1]) if layout.panels else whole
    for placed in layout.placements:
        assert (placed.width_mm, placed.height_mm) == (size[::-1] if placed.rotated else size)


@given(panelled())
def test_panels_cover_the_whole_piece_with_at_least_the_overlap(case: Case) -> None:
    item, layout = case.item, case.layout()
    assert len(layout.panels) > 1
    assert layout.panels[0].left_mm == 0
    for one, other in pairwise(layout.panels):
        assert one.left_mm + one.width_mm - other.left_mm >= item.panel_overlap_mm - NOISE_MM
    last = layout.panels[-1]
    assert last.left_mm + last.width_mm == pytest.approx(item.printed_width_mm, abs=NOISE_MM)
    assert {placed.height_mm for placed in layout.placements} == {item.printed_height_mm}
    assert not any(placed.rotated for placed in layout.placements)


@given(panelled())
def test_no_fewer_panels_would_do(case: Case) -> None:
    item, layout = case.item, case.layout()
    assert len(layout.panels) > 1
    fewer = len(layout.panels) - 1
    usable = layout.usable_width_mm - 2 * case.marks.margin_mm
    widest = fewer * usable - (fewer - 1) * item.panel_overlap_mm
    assert widest < item.printed_width_mm


@given(cases | walls())
def test_the_length_is_the_farthest_trailing_edge(case: Case) -> None:
    layout = case.layout()
    room = case.marks.margin_mm + case.marks.slug_mm
    farthest = max(bottom(placed) for placed in layout.placements) + room
    summed_otherwise = room or layout.pitch_mm is not None
    assert layout.length_mm == (pytest.approx(farthest) if summed_otherwise else farthest)
    assert layout.consumed_length_mm == 500 + layout.length_mm + 300


@given(cases)
def test_leave_to_turn_never_costs_length(case: Case) -> None:
    layout, item = case.layout(), case.item
    upright = case.answer(item.model_copy(update={"may_rotate": False}))
    if isinstance(upright, Layout) and not upright.panels:
        assert layout.length_mm <= upright.length_mm + NOISE_MM
    assert item.may_rotate or not any(placed.rotated for placed in layout.placements)


@given(cases)
def test_more_pieces_never_take_less_roll(case: Case) -> None:
    layout = case.layout()
    more = case.answer(case.item.model_copy(update={"quantity": case.item.quantity + 1}))
    assert isinstance(more, Layout)
    assert layout.length_mm <= more.length_mm + NOISE_MM


@given(st.floats(50, 250), st.floats(50, 250), st.integers(1, 40), st.floats(300, 2000), gaps, marks)
def test_no_mixture_of_rows_is_shorter(
    width: float, height: float, quantity: int, usable_mm: float, gap_mm: float, marks: Marks
) -> None:
    """All mixtures tried, not only those that can be worth it."""
    item = Item(
        job_part_id="P1",
        finished_width_mm=width,
        finished_height_mm=height,
        quantity=quantity,
        substrate="banner",
        print_mode="swift",
    )
    room, slug = 2 * marks.margin_mm, marks.slug_mm
    sides = (width + room, height + room)
    across, across_turned = (int((usable_mm + gap_mm + TOLERANCE_MM) / (side + gap_mm)) for side in sides)
    mixtures = [
        (rows, max(0, ceil((quantity - rows * across) / across_turned))) for rows in range(quantity + 1)
    ]
    pitches = [side + slug + gap_mm for side in sides]
    shortest = min(rows * pitches[1] + turned * pitches[0] for rows, turned in mixtures) - gap_mm
    assert Case(item, usable_mm, gap_mm, marks).layout().length_mm == pytest.approx(shortest, abs=NOISE_MM)


@given(cases | walls())
def test_waste_is_a_share(case: Case) -> None:
    layout = case.layout()
    assert 0 <= layout.waste_percent < 100


@given(cases | walls())
def test_a_layout_survives_the_store(case: Case) -> None:
    layout = case.layout()
    assert Layout.from_json(layout.as_json()) == layout


@given(walls())
def test_drops_cover_the_wall_with_the_overlap_and_are_hung_upright(case: Case) -> None:
    item, layout = case.item, case.layout()
    drops = [(panel.left_mm, panel.width_mm) for panel in layout.panels] or [(0, item.printed_width_mm)]
    assert drops[0][0] == 0
    for (left, width), (next_left, _) in pairwise(drops):
        assert left + width - next_left == pytest.approx(item.panel_overlap_mm, abs=NOISE_MM)
    assert drops[-1][0] + drops[-1][1] == pytest.approx(item.printed_width_mm, abs=NOISE_MM)
    assert item.pattern is not None
    widest = min(item.pattern.strip_mm or layout.usable_width_mm, layout.usable_width_mm)
    assert max(width for _, width in drops) <= widest + NOISE_MM
    assert not any(placed.rotated for placed in layout.placements)


@given(walls())
def test_a_repeat_goes_on_from_drop_to_drop_at_the_phase_that_each_drop_has(case: Case) -> None:
    layout, pattern = case.layout(), case.item.pattern
    assert pattern is not None
    assume(layout.pitch_mm is not None)
    assert pattern.repeat_mm is not None
    for one, other in pairwise(layout.placements):
        if one.piece == other.piece:
            assert bottom(one) == pytest.approx(other.y_mm, abs=NOISE_MM)
    first = {placed.piece: placed.y_mm for placed in layout.placements if placed.panel == 0}
    for placed in layout.placements:
        along = placed.y_mm - first[placed.piece] - layout.panels[placed.panel].phase_mm
        assert along / pattern.repeat_mm == pytest.approx(round(along / pattern.repeat_mm), abs=1e-3)
    assert placed.height_mm == case.item.printed_height_mm


@given(walls())
def test_neighbouring_drops_begin_alike_or_half_a_repeat_apart(case: Case) -> None:
    layout, pattern = case.layout(), case.item.pattern
    assert pattern is not None
    apart = pattern.repeat_mm / 2 if pattern.match is Match.HALF_DROP and pattern.repeat_mm else 0
    for one, other in pairwise(layout.panels):
        assert abs(other.phase_mm - one.phase_mm) == pytest.approx(apart, abs=0.01)


@given(walls() | panelled())
def test_panels_say_which_of_how_many_they_are(case: Case) -> None:
    panels = case.layout().panels
    assert [panel.label for panel in panels] == [f"{n} of {len(panels)}" for n in range(1, len(panels) + 1)]


@given(items, st.floats(0, 3000))
def test_a_problem_is_only_told_where_the_piece_fits_neither_way(item: Item, usable_width_mm: float) -> None:
    answer = lay_out(item, usable_width_mm, usable_width_mm + 20, 10, 500, 300)
    if isinstance(answer, LayoutProblem):
        assert item.printed_width_mm > usable_width_mm
        turned_fits = item.may_rotate and item.printed_height_mm <= usable_width_mm
        assert not turned_fits or item.panels is Panels.WANTED


lane: dict[str, Any] = {"id": "a", "name": "A", "device_id": "a", "width_mm": 1500, "folder": "a"}

presses = st.builds(
    Press,
    id=st.just("p"),
    name=st.just("P"),
    beam_width_mm=st.just(3300),
    head_swath_mm=st.floats(20, 200),
    carriage_speed_mm_s=st.floats(100, 3000),
    ramp_mm=st.floats(0, 500),
    dwell_s=st.floats(0, 2),
    carriage_span=st.sampled_from(CarriageSpan),
    thickness_um=st.just({"max": 1000}),
    lanes=st.just([lane]),
)

modes = st.builds(
    PrintMode,
    id=st.just("swift"),
    name=st.just("Swift"),
    resolution_dpi=st.just((600, 600)),
    passes=st.integers(1, 16),
    direction=st.sampled_from(Direction),
    laydown_ml_m2=st.just({}),
    typical_coverage_percent=st.just({}),
)

lengths = st.floats(1, 50_000)


@given(presses, modes, st.sampled_from(LayerStack), lengths, lengths)
def test_time_grows_with_length(
    press: Press, mode: PrintMode, stack: LayerStack, one_mm: float, other_mm: float
) -> None:
    shorter, longer = (
        side_by_side_seconds(press, mode, stack, [Image(0, 1000, length)])
        for length in sorted((one_mm, other_mm))
    )
    assert 0 < shorter <= longer


@given(presses, modes, lengths, lengths)
def test_two_side_by_side_take_no_less_than_the_longer_alone(
    press: Press, mode: PrintMode, one_mm: float, other_mm: float
) -> None:
    images = [Image(0, 1000, one_mm), Image(1100, 800, other_mm)]
    together = side_by_side_seconds(press, mode, LayerStack.COLOUR, images)
    alone = [side_by_side_seconds(press, mode, LayerStack.COLOUR, [image]) for image in images]
    assert together >= max(alone) * (1 - 1e-9)
    if press.carriage_span is CarriageSpan.BEAM:
        assert together == pytest.approx(max(alone))


@given(st.floats(0, 1e6), st.integers(0, 10_000), st.booleans())
def test_an_estimate_survives_the_store(value: float, steps: int, assumed: bool) -> None:
    estimate = Estimate(value, steps, value, value, {"Cyan": value}, assumed, value, value, value)
    assert Estimate.from_json(estimate.as_json()) == estimate
