"""Rules about the other lanes under the same carriage: side by side, and the shaft."""

from ticketbridge.decide.beside import LaneWork, clash_of, lanes_overlap
from ticketbridge.decide.estimate.roll import diameter_mm, diameter_of
from ticketbridge.decide.rules.answers import after_change, can, not_until, substrate_needed
from ticketbridge.decide.rules.question import LaneQuestion, Neighbour
from ticketbridge.model.finding import type_of_fact
from ticketbridge.model.press import Shafts
from ticketbridge.model.substrate import Substrate
from ticketbridge.model.verdict import Verdict


def side_by_side(question: LaneQuestion) -> Verdict:
    """Same mode, same layers, near thickness, widths plus gap within the beam, as what runs beside it?

    A lane whose span another lane shares is excluded while that one prints, and its roll must come off first.
    """
    rule = "side by side"
    if question.substrate is None:
        return substrate_needed(rule, question)
    mine = LaneWork(
        question.lane,
        question.item.print_mode,
        question.item.layer_stack,
        question.item.substrate,
        question.substrate,
        question.roll.roll.width_mm if question.roll else None,
    )
    running = [neighbour for neighbour in question.neighbours if neighbour.running]
    for neighbour in running:
        if clash := clash_of(question.press, mine, _work_on(neighbour)):
            return not_until(rule, clash.code, **clash.facts)
    in_the_way = [
        n.lane.device_id
        for n in question.neighbours
        if n.roll and lanes_overlap(question.lane, n.lane) and not _moved_here(question, n)
    ]
    if in_the_way:
        minutes = question.press.changeover_minutes.roll * len(in_the_way)
        names = ", ".join(in_the_way)
        return after_change(rule, "lanes.beside-roll-off", minutes, others=names)
    if running:
        return can(rule, "lanes.beside-ok", others=", ".join(n.lane.device_id for n in running))
    return can(rule, "lanes.beside-nothing-ok")


def shaft(question: LaneQuestion) -> Verdict:
    """Where the rolls turn on a common shaft, are their diameters nearly equal?

    Where the shop has no roll of the substrate yet, a full one is assumed. What lies on an overlapping
    lane, or would be moved from there to here, never turns beside this roll.
    """
    rule, substrate = "shaft", question.substrate
    if question.press.shafts is Shafts.SEPARATE:
        return can(rule, "lanes.shaft-separate-ok")
    if substrate is None:
        return substrate_needed(rule, question)
    mine = _diameter(question, substrate)
    greatest = 0.0
    for neighbour in question.neighbours:
        if neighbour.roll is None or not _turns_beside(question, neighbour):
            continue
        if neighbour.roll_substrate is None:
            return can(rule, "lanes.shaft-unknown", other=neighbour.lane.device_id, lot=neighbour.roll.lot)
        theirs = diameter_of(neighbour.roll, neighbour.roll_substrate)
        if abs(mine - theirs) > question.press.side_by_side.diameter_tolerance_mm:
            return _differ(rule, question, neighbour, mine, theirs)
        greatest = max(greatest, abs(mine - theirs))
    tolerance = question.press.side_by_side.diameter_tolerance_mm
    return can(rule, "lanes.shaft-ok", difference_mm=greatest, tolerance_mm=tolerance)


def _work_on(neighbour: Neighbour) -> LaneWork:
    running = neighbour.running
    if running is None:
        raise ValueError(f"nothing runs on {neighbour.lane.device_id}")
    width = neighbour.roll.width_mm if neighbour.roll else None
    return LaneWork(
        neighbour.lane,
        running.print_mode,
        running.layer_stack,
        running.substrate,
        neighbour.running_substrate,
        width,
    )


def _diameter(question: LaneQuestion, substrate: Substrate) -> float:
    if question.roll:
        return diameter_of(question.roll.roll, substrate)
    return diameter_mm(substrate.roll_length_m, substrate.core_outside_mm, substrate.thickness_um)


def _turns_beside(question: LaneQuestion, neighbour: Neighbour) -> bool:
    return not _moved_here(question, neighbour) and not lanes_overlap(question.lane, neighbour.lane)


def _moved_here(question: LaneQuestion, neighbour: Neighbour) -> bool:
    """Whether the roll in question is the neighbour's own."""
    return question.roll is not None and question.roll.device_id == neighbour.lane.device_id


def _differ(
    rule: str, question: LaneQuestion, neighbour: Neighbour, mine_mm: float, theirs_mm: float
) -> Verdict:
    facts: dict[str, type_of_fact] = {
        "other": neighbour.lane.device_id,
        "diameter_mm": mine_mm,
        "other_diameter_mm": theirs_mm,
        "tolerance_mm": question.press.side_by_side.diameter_tolerance_mm,
    }
    if neighbour.running:
        return not_until(rule, "lanes.shaft-running", **facts)
    return after_change(rule, "lanes.shaft-roll-off", question.press.changeover_minutes.roll, **facts)
