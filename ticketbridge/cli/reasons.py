"""Decisions in words: layouts, estimates and verdicts as lines for a terminal. Sentences are made here, when shown."""

from itertools import groupby
from typing import Final

from ticketbridge.decide.layout.cut_list import cut_list
from ticketbridge.decide.layout.wall import drops_per_roll, match_waste_mm
from ticketbridge.decide.layout.waste import waste_mm2_by_cause
from ticketbridge.model.codes import sentence
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.layout import Layout
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
    return [
        f"  print {estimate.print_s / 60:.1f} min: {steps}, {estimate.step_s:.2f} s each",
        f"  ink in ml: {ink} (rests on {rests})",
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
