"""Rules about what is printed on, and with what: substrate, feed, thickness, layers, ink, mesh."""

from math import inf
from typing import Final

from ticketbridge.decide.rules.answers import (
    after_change,
    can,
    layout_needed,
    never,
    not_until,
    substrate_needed,
)
from ticketbridge.decide.rules.question import LaneQuestion
from ticketbridge.model.substrate import Family, Substrate
from ticketbridge.model.verdict import Verdict

_CHANNEL_OF_LAYER: Final = {"white": "White", "clear": "Clear"}


def substrate_known(question: LaneQuestion) -> Verdict:
    """In the catalogue, and allowed in this print mode?"""
    rule, item = "substrate known", question.item
    if question.substrate is None:
        return not_until(rule, "lanes.substrate-unknown", substrate=item.substrate)
    if question.print_mode is None:
        return not_until(rule, "lanes.mode-unknown", mode=item.print_mode)
    names = {"substrate": question.substrate.name, "mode": question.print_mode.name}
    if item.print_mode not in question.substrate.print_modes:
        return never(rule, "lanes.mode-not-allowed", **names)
    return can(rule, "lanes.substrate-ok", **names)


def roll_fed(question: LaneQuestion) -> Verdict:
    """Flexible and on a roll? Rigid board is refused."""
    rule, substrate = "roll-fed", question.substrate
    if substrate is None:
        return substrate_needed(rule, question)
    if not substrate.roll_fed:
        return never(rule, "lanes.rigid", substrate=substrate.name)
    return can(rule, "lanes.roll-fed-ok", substrate=substrate.name)


def thickness(question: LaneQuestion) -> Verdict:
    """Within what passes under the carriage?"""
    rule, substrate, limits = "thickness", question.substrate, question.press.thickness_um
    if substrate is None:
        return substrate_needed(rule, question)
    facts = {"thickness_um": substrate.thickness_um, "least_um": limits.min, "most_um": limits.max}
    if not limits.min <= substrate.thickness_um <= limits.max:
        return never(rule, "lanes.thickness-out", **facts)
    return can(rule, "lanes.thickness-ok", **facts)


def layers(question: LaneQuestion) -> Verdict:
    """White or clear asked for and fitted? Clear, window or metallised film without white: warn or refuse."""
    rule, stack, press = "layers", question.item.layer_stack, question.press
    fitted = {channel.casefold() for channel in press.channels}
    for layer, channel in _CHANNEL_OF_LAYER.items():
        if layer in stack.layers and channel.casefold() not in fitted:
            return never(rule, "lanes.channel-not-fitted", channel=channel, press=press.name)
    if question.print_mode and stack not in question.print_mode.layer_stacks:
        return never(rule, "lanes.stack-not-offered", layers=stack.value, mode=question.print_mode.name)
    if question.substrate and "white" not in stack.layers and _asks_for_white(question.substrate):
        if press.refuse_without_white:
            return never(rule, "lanes.white-required", substrate=question.substrate.name)
        return can(rule, "lanes.without-white", substrate=question.substrate.name)
    return can(rule, "lanes.layers-ok", layers=stack.value)


def ink_left(question: LaneQuestion) -> Verdict:
    """Enough of every ink whose account is kept? White runs out first, as it is laid thickest."""
    rule = "ink left"
    left_ml = {channel.casefold(): amount for channel, amount in question.press.ink_left_ml.items()}
    if not left_ml:
        return can(rule, "lanes.ink-unknown")
    if question.estimate is None:
        return layout_needed(rule)
    short = [
        (needed_ml - left_ml[channel.casefold()], channel, needed_ml)
        for channel, needed_ml in question.estimate.ink_ml.items()
        if needed_ml > left_ml.get(channel.casefold(), inf)
    ]
    if short:
        _, channel, needed_ml = max(short)
        return not_until(
            rule,
            "lanes.ink-short",
            press=question.press.name,
            channel=channel,
            needed_ml=needed_ml,
            left_ml=left_ml[channel.casefold()],
        )
    return can(rule, "lanes.ink-ok", channels=", ".join(question.press.ink_left_ml))


def mesh(question: LaneQuestion) -> Verdict:
    """Ink goes through it, so is the ink-catching underlay in place and able to serve this lane?"""
    rule, substrate, underlay = "mesh", question.substrate, question.press.underlay
    if substrate is None:
        return substrate_needed(rule, question)
    if not substrate.needs_underlay:
        return can(rule, "lanes.underlay-not-needed", substrate=substrate.name)
    facts = {"substrate": substrate.name, "lane": question.lane.name}
    if not underlay.fitted:
        return never(rule, "lanes.underlay-not-fitted", press=question.press.name, substrate=substrate.name)
    if question.lane.id not in underlay.lanes:
        return never(rule, "lanes.underlay-not-here", **facts)
    if not underlay.in_place:
        return after_change(
            rule, "lanes.underlay-change", question.press.changeover_minutes.underlay, **facts
        )
    return can(rule, "lanes.underlay-ok", **facts)


def _asks_for_white(substrate: Substrate) -> bool:
    """Colour alone lets the light, the view or the metal through (common practice)."""
    families = (Family.WINDOW_FILM, Family.METALLISED_FILM)
    return substrate.transparent or substrate.metallic or substrate.family in families
