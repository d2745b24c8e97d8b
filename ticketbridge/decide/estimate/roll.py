"""Rolls: length, diameter, thickness, turns, weight.

A roll seen from its end is a ring whose area is length x thickness (formula on any roll calculator):
pi / 4 x (D^2 - d^2) = L x t. D is the outer diameter; d is the OUTSIDE of the core, because the substrate
is wound on the core's wall and not on the spindle hole.
"""

from math import pi, sqrt
from typing import Final

from ticketbridge.decide.estimate.lifting import LOAD_CONSTANT_KG, lifting_index
from ticketbridge.model.finding import Finding
from ticketbridge.model.substrate import Roll, Substrate

LOW_SHARE: Final = 0.1
"""A roll with less than this share of a full one left is reported as Low (common practice)."""


def length_m(outside_diameter_mm: float, core_outside_mm: float, thickness_um: float) -> float:
    """Length on a roll: pi x (D^2 - d^2) / (4 x t)."""
    # mm2 over um is 1000 mm, a metre.
    return pi * (outside_diameter_mm**2 - core_outside_mm**2) / (4 * thickness_um)


def diameter_mm(length_m: float, core_outside_mm: float, thickness_um: float) -> float:
    """Outer diameter of a roll of that length: sqrt(d^2 + 4 x L x t / pi)."""
    return sqrt(core_outside_mm**2 + 4 * length_m * thickness_um / pi)


def thickness_um(length_m: float, outside_diameter_mm: float, core_outside_mm: float) -> float:
    """Thickness of a substrate from a roll that was measured: pi x (D^2 - d^2) / (4 x L)."""
    return pi * (outside_diameter_mm**2 - core_outside_mm**2) / (4 * length_m)


def turns(outside_diameter_mm: float, core_outside_mm: float, thickness_um: float) -> float:
    """Turns on a roll: (D - d) / (2 x t); the wound wall, layer by layer."""
    return (outside_diameter_mm - core_outside_mm) * 1000 / (2 * thickness_um)


def weight_kg(width_mm: float, length_m: float, weight_g_m2: float, core_weight_kg: float = 0) -> float:
    """Weight of a roll: width x length x grammage, and the core."""
    return width_mm / 1000 * length_m * weight_g_m2 / 1000 + core_weight_kg


def diameter_of(roll: Roll, substrate: Substrate) -> float:
    """Outer diameter of a roll as it is now, in mm."""
    return diameter_mm(roll.length_left_m, core_outside_mm(roll, substrate), substrate.thickness_um)


def length_by_diameter_m(roll: Roll, substrate: Substrate, outside_diameter_mm: float) -> float:
    """Length that a roll of that measured diameter has; 0 where the diameter is that of its core, or less."""
    core = core_outside_mm(roll, substrate)
    return length_m(outside_diameter_mm, core, substrate.thickness_um) if outside_diameter_mm > core else 0.0


def core_outside_mm(roll: Roll, substrate: Substrate) -> float:
    """Outside of the roll's own core, or of the one that the substrate usually has."""
    return roll.core_outside_mm or substrate.core_outside_mm


def weight_of(roll: Roll, substrate: Substrate) -> float:
    """Weight of a roll as it is now, core included, in kg."""
    return weight_kg(roll.width_mm, roll.length_left_m, substrate.weight_g_m2, substrate.core_weight_kg)


def lifting_caution(roll: Roll, substrate: Substrate, limit_kg: float) -> Finding | None:
    """A caution where a roll is heavier than one person should lift, else None.

    The limit is the shop's own; the caution adds how the roll stands to what the revised NIOSH lifting
    equation allows in its best posture, since no real lift off a floor or onto a shaft is better than that.
    """
    weight = weight_of(roll, substrate)
    if weight <= limit_kg:
        return None
    return Finding(
        "lanes.roll-heavy",
        facts={
            "lot": roll.lot,
            "substrate": substrate.name,
            "weight_kg": weight,
            "limit_kg": limit_kg,
            "lifting_index": lifting_index(weight, LOAD_CONSTANT_KG),
        },
    )


def level_of(roll: Roll, substrate: Substrate) -> str:
    """``ResourceInfo@Level`` of a roll by account."""
    share = roll.length_left_m / substrate.roll_length_m
    return "Empty" if share <= 0 else "Low" if share < LOW_SHARE else "OK"
