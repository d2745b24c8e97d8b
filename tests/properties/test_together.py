"""What holds for every run of several items, whatever they are."""

from dataclasses import dataclass, replace
from itertools import combinations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.properties.test_layout import NOISE_MM, bottom, cases, gaps, items, marks, right, walls
from ticketbridge.decide.layout import RollMeasures, lay_out, lay_out_together
from ticketbridge.decide.layout.flaws import run_behind_flaws
from ticketbridge.decide.layout.packing import Cutting, Effort
from ticketbridge.model.layout import Layout, Run
from ticketbridge.model.order import Item
from ticketbridge.model.substrate import Flaw

WIDTH_MM = 3000.0
walls_and_pieces = items | walls().map(lambda case: case.item) | cases.map(lambda case: case.item)


@dataclass(frozen=True)
class Together:
    """Some items and a roll; the run is made in the test, for it is long to print."""

    items: list[Item]
    roll: RollMeasures
    cutting: Cutting

    def run(self) -> Run:
        run = lay_out_together(self.items, self.roll, self.cutting, Effort(steps=300))
        assume(isinstance(run, Run))
        assert isinstance(run, Run)
        return run


rolls = st.builds(
    RollMeasures,
    usable_width_mm=st.just(WIDTH_MM),
    roll_width_mm=st.just(WIDTH_MM + 20),
    gap_mm=gaps,
    leader_mm=st.just(500.0),
    trailer_mm=st.just(300.0),
    marks=marks,
)
togethers = st.builds(
    Together, st.lists(walls_and_pieces, min_size=2, max_size=4), rolls, st.sampled_from(Cutting)
)


@settings(max_examples=60)
@given(togethers)
def test_no_two_pieces_of_any_items_are_nearer_than_gap_and_marks_need(case: Together) -> None:
    run, margins = case.run(), 2 * case.roll.marks.margin_mm
    across, along = case.roll.gap_mm + margins, case.roll.gap_mm + margins + case.roll.marks.slug_mm
    everything = [(part, placed) for part in run.parts for placed in part.placements]
    for (part, one), (other_part, other) in combinations(everything, 2):
        one_wall = part is other_part and part.pitch_mm is not None and one.piece == other.piece
        free = 0.0 if one_wall else along
        assert (
            other.x_mm - right(one) >= across - NOISE_MM
            or one.x_mm - right(other) >= across - NOISE_MM
            or other.y_mm - bottom(one) >= free - NOISE_MM
            or one.y_mm - bottom(other) >= free - NOISE_MM
        )


@settings(max_examples=60)
@given(togethers)
def test_everything_lies_within_the_roll_and_the_length(case: Together) -> None:
    run, margin, slug = case.run(), case.roll.marks.margin_mm, case.roll.marks.slug_mm
    placements = [placed for part in run.parts for placed in part.placements]
    assert min(placed.x_mm for placed in placements) >= margin - NOISE_MM
    assert max(right(placed) for placed in placements) <= WIDTH_MM - margin + NOISE_MM
    assert min(placed.y_mm for placed in placements) >= margin - NOISE_MM
    farthest = max(bottom(placed) for placed in placements) + margin + slug
    assert abs(run.length_mm - farthest) <= NOISE_MM


@settings(max_examples=60)
@given(togethers)
def test_every_panel_of_every_piece_of_every_item_is_placed_once(case: Together) -> None:
    for item, part in zip(case.items, case.run().parts, strict=True):
        columns = range(max(1, len(part.panels)))
        expected = [(piece, column) for piece in range(item.quantity) for column in columns]
        assert sorted((placed.piece, placed.panel) for placed in part.placements) == expected


@settings(max_examples=60)
@given(togethers)
def test_a_run_is_no_longer_than_its_items_one_after_the_other(case: Together) -> None:
    roll, run = case.roll, case.run()
    alone = [
        lay_out(item, WIDTH_MM, WIDTH_MM + 20, roll.gap_mm, roll.leader_mm, roll.trailer_mm, roll.marks)
        for item in case.items
    ]
    lengths = [layout.length_mm for layout in alone if isinstance(layout, Layout)]
    assert len(lengths) == len(case.items)
    assert run.length_mm <= sum(lengths) + (len(lengths) - 1) * roll.gap_mm + NOISE_MM


@settings(max_examples=60)
@given(togethers)
def test_what_is_charged_is_what_is_used(case: Together) -> None:
    run = case.run()
    assert abs(sum(run.charged_mm()) - run.consumed_length_mm) <= NOISE_MM
    assert 0 <= run.whole.waste_percent < 100


@settings(max_examples=60)
@given(
    togethers, st.lists(st.builds(Flaw, at_mm=st.floats(0, 9000), length_mm=st.floats(0, 200)), max_size=4)
)
def test_no_piece_of_a_run_touches_a_flaw_and_each_only_moves_on(case: Together, flaws: list[Flaw]) -> None:
    run, gap_mm = case.run(), case.roll.gap_mm
    moved = run_behind_flaws(run, flaws, gap_mm)
    for part, moved_part in zip(run.parts, moved.parts, strict=True):
        assert moved_part.length_mm == moved.length_mm >= run.length_mm
        for was, placed in zip(part.placements, moved_part.placements, strict=True):
            assert placed.y_mm >= was.y_mm
            assert replace(placed, y_mm=was.y_mm) == was
            for flaw in flaws:
                begin_mm = case.roll.leader_mm + placed.y_mm
                behind = begin_mm >= flaw.at_mm + flaw.length_mm + gap_mm - NOISE_MM
                before = begin_mm + placed.height_mm <= flaw.at_mm - gap_mm + NOISE_MM
                assert behind or before


@settings(max_examples=30)
@given(togethers)
def test_on_a_faultless_roll_a_run_stays_as_it_is(case: Together) -> None:
    run = case.run()
    assert run_behind_flaws(run, (), case.roll.gap_mm) is run
