"""Decisions in words: layouts, estimates and verdicts as lines for a terminal. Sentences are made here, when shown."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final

from ticketbridge.decide.layout import RollMeasures, lay_out_together
from ticketbridge.decide.layout.blank_advance import blank_advance_mm, waste_percent_beside
from ticketbridge.decide.layout.cut_list import cut_list
from ticketbridge.decide.layout.wall import drops_per_roll, match_waste_mm
from ticketbridge.decide.layout.waste import waste_mm2_by_cause
from ticketbridge.decide.route import Judged
from ticketbridge.model.codes import sentence
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.layout import Layout, Run
from ticketbridge.model.order import Item
from ticketbridge.model.verdict import ANSWER_WORDS, LaneVerdict

MOST_CUT_LINES: Final = 12
"""Longer cut lists are cut short; the picture shows every cut."""


def layout_lines(layout: Layout, item: Item) -> list[str]:
    """Where the pieces lie, with numbers."""
    width = f"{layout.image_width_mm:.0f} of {layout.usable_width_mm:.0f} mm wide"
    ends = f"{layout.leader_mm:.0f} mm leader and {layout.trailer_mm:.0f} mm trailer"
    lines = [
        f"  {len(layout.placements)} placements, {layout.across} across in {layout.rows} rows, {layout.orientation}",
        f"  print {layout.length_mm:.0f} mm long, {width}, on a roll of {layout.roll_width_mm:.0f} mm",
        f"  roll used {layout.consumed_length_mm / 1000:.2f} m with {ends}, waste {layout.waste_percent:.1f} %",
    ]
    lines.append(f"  wasted: {_causes(layout, item)}")
    lines += cut_lines(layout)
    if layout.panels:
        panels = ", ".join(f"{p.left_mm:.0f}+{p.width_mm:.0f}" for p in layout.panels)
        lines.append(f"  {len(layout.panels)} panels a piece (from+width in mm): {panels}")
    return lines


def _causes(layout: Layout, item: Item) -> str:
    """The causes of waste in per cent of the used roll, the largest first."""
    areas = waste_mm2_by_cause([(layout, item)])
    shares = {cause: 100 * area / layout.consumed_area_mm2 for cause, area in areas.items()}
    told = sorted(shares.items(), key=lambda one: -one[1])
    return ", ".join(f"{cause.value} {share:.1f} %" for cause, share in told if share >= 0.05)


def cut_lines(layout: Layout) -> list[str]:
    """The cut list: cuts that follow one another the same way are one line, and so are parts that are cut alike."""
    found = cut_list(layout.placements)
    lines, alike = list[str](), 0
    for direction, cuts in groupby(found.cuts, key=lambda cut: (cut.direction, cut.begin_mm, cut.end_mm)):
        places = ", ".join(f"{cut.at_mm:.0f}" for cut in cuts)
        line = f"  cut {direction[0].value} at {places} mm"
        alike = alike + 1 if lines and lines[-1].startswith(line) else 1
        if alike > 1:
            lines[-1] = f"{line}, in each of {alike} parts"
        else:
            lines.append(line)
    if len(lines) > MOST_CUT_LINES:
        lines = [*lines[:MOST_CUT_LINES], f"  and {len(lines) - MOST_CUT_LINES} more lines of cuts"]
    return lines + [f"  cut {len(group)} pieces apart by hand" for group in found.by_hand]


def together_lines(parts: Sequence[tuple[Judged, Item]]) -> list[str]:
    """What items of one order would save on one stretch of roll; nothing where they would save nothing.

    Only items that go to one lane, onto one roll, in one print mode with one stack of layers.
    """
    lines = []
    for alike in _alike(parts):
        best, _ = alike[0]
        layouts = [one.layout for one, _ in alike if isinstance(one.layout, Layout)]
        measures = RollMeasures(
            layouts[0].usable_width_mm, layouts[0].roll_width_mm, best.lane.gap_mm,
            layouts[0].leader_mm, layouts[0].trailer_mm, best.lane.marks,
        )  # fmt: skip
        run = lay_out_together([item for _, item in alike], measures)
        apart_mm = sum(layout.consumed_length_mm for layout in layouts)
        if isinstance(run, Run) and run.consumed_length_mm < apart_mm:
            names = " and ".join(item.job_part_id for _, item in alike)
            used, apart = run.consumed_length_mm / 1000, apart_mm / 1000
            lines.append(
                f"Items {names} on one stretch would use {used:.2f} m of roll instead of {apart:.2f} m"
            )
    return lines


def _alike(parts: Sequence[tuple[Judged, Item]]) -> Iterator[list[tuple[Judged, Item]]]:
    """Items that could lie on one stretch, where there are two at least."""
    groups: dict[object, list[tuple[Judged, Item]]] = {}
    for best, item in parts:
        if isinstance(best.layout, Layout) and best.roll is not None:
            key = (
                best.lane.device_id,
                best.roll.roll.identity,
                item.substrate,
                item.print_mode,
                item.layer_stack,
            )
            groups.setdefault(key, []).append((best, item))
    yield from (group for group in groups.values() if len(group) > 1)


def pattern_lines(layout: Layout, item: Item, roll_mm: float) -> list[str]:
    """How the drops of a repeating pattern are cut, and how many a roll has; nothing for anything else."""
    if layout.pitch_mm is None:
        return []
    height, pitch = item.printed_height_mm, layout.pitch_mm
    per_roll = drops_per_roll(roll_mm - layout.leader_mm - layout.trailer_mm, height, pitch)
    return [
        f"  drops of {height:.0f} mm, one every {pitch:.0f} mm: {match_waste_mm(height, pitch):.0f} mm each for the match",
        f"  the roll has {per_roll} such drops, {len(layout.placements)} are needed",
    ]


def estimate_lines(estimate: Estimate) -> list[str]:
    """Time and ink, and what they rest on."""
    ink = ", ".join(f"{name} {amount_ml:.0f}" for name, amount_ml in estimate.ink_ml.items())
    rests = "typical coverage of the print mode, assumed" if estimate.coverage_assumed else "the artwork"
    steps = f"{estimate.steps} steps of {estimate.advance_mm:.1f} mm"
    lines = [f"  print {estimate.print_s / 60:.1f} min: {steps}, {estimate.step_s:.2f} s each"]
    if estimate.time_runs and estimate.print_low_s is not None and estimate.print_high_s is not None:
        low, high = estimate.print_low_s / 60, estimate.print_high_s / 60
        corrected = f"x {estimate.time_factor:.2f} by {_prints(estimate.time_runs)}"
        lines.append(f"  {corrected}; eight of ten take {low:.1f} to {high:.1f} min")
    if estimate.ink_runs:
        low, high = 100 * (estimate.ink_low_share - 1), 100 * (estimate.ink_high_share - 1)
        rests += f", x {estimate.ink_factor:.2f} by {_prints(estimate.ink_runs)}, {low:+.0f} to {high:+.0f} %"
    return [*lines, f"  ink in ml: {ink} (rests on {rests})"]


def _prints(count: int) -> str:
    return f"{count} print" if count == 1 else f"{count} prints"


def beside_lines(part: str, layout: Layout, other: str, beside: Layout) -> list[str]:
    """Two items that can print side by side: how far the shorter one's roll runs blank, and its waste then."""
    if beside.length_mm > layout.length_mm:
        part, layout, other, beside = other, beside, part, layout
    blank_m = blank_advance_mm(beside, layout) / 1000
    waste = f"{waste_percent_beside(beside, layout):.1f} % instead of {beside.waste_percent:.1f} %"
    return [
        f"Items {part} and {other} can print side by side",
        f"  should nothing follow on its lane, {other} advances {blank_m:.2f} m blank: waste {waste}",
    ]


def lane_lines(lane: LaneVerdict) -> list[str]:
    """A lane's verdict, then every rule's."""
    minutes = f", {lane.minutes:g} min" if lane.minutes else ""
    lines = [f"{lane.device_id}: {ANSWER_WORDS[lane.answer]}{minutes}"]
    lines += [
        f"  {verdict.rule:<16} {ANSWER_WORDS[verdict.answer]:<15} {sentence(verdict.as_finding())}"
        for verdict in lane.verdicts
    ]
    return lines
