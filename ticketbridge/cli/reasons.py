"""Decisions in words: layouts, estimates and verdicts as lines for a terminal. Sentences are made here, when shown."""

from ticketbridge.decide.layout.blank_advance import blank_advance_mm, waste_percent_beside
from ticketbridge.decide.layout.wall import drops_per_roll, match_waste_mm
from ticketbridge.model.codes import sentence
from ticketbridge.model.estimate import Estimate
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Item
from ticketbridge.model.verdict import ANSWER_WORDS, LaneVerdict


def layout_lines(layout: Layout) -> list[str]:
    """Where the pieces lie, with numbers."""
    turned = "turned by 90 degrees" if layout.rotated else "as they stand"
    width = f"{layout.image_width_mm:.0f} of {layout.usable_width_mm:.0f} mm wide"
    ends = f"{layout.leader_mm:.0f} mm leader and {layout.trailer_mm:.0f} mm trailer"
    lines = [
        f"  {len(layout.placements)} placements, {layout.across} across in {layout.rows} rows, {turned}",
        f"  print {layout.length_mm:.0f} mm long, {width}, on a roll of {layout.roll_width_mm:.0f} mm",
        f"  roll used {layout.consumed_length_mm / 1000:.2f} m with {ends}, waste {layout.waste_percent:.1f} %",
    ]
    if layout.panels:
        panels = ", ".join(f"{p.left_mm:.0f}+{p.width_mm:.0f}" for p in layout.panels)
        lines.append(f"  {len(layout.panels)} panels a piece (from+width in mm): {panels}")
    return lines


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
