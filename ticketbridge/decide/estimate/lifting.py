"""What guidance says about lifting. It cautions; it never says that a lift is safe.

Two published rules of thumb. The revised lifting equation of NIOSH (Waters et al. 1994, NIOSH 94-110): a
load constant of 23 kg, made smaller by how the lift is done. And the guideline figures of the UK HSE (L23,
figure 20): a filter for a first look, for one person, both hands, a good grip and a stable body, and no legal
limit. Local codes, and people trained to judge a lift, come before both.
"""

from collections.abc import Mapping
from typing import Final

LOAD_CONSTANT_KG: Final = 23.0
"""What the equation allows in the best posture (NIOSH 94-110)."""

GUIDELINE_CLOSE_KG: Final[Mapping[str, tuple[float, float]]] = {
    "head": (10, 7),
    "shoulder": (20, 13),
    "elbow": (25, 16),
    "knuckle": (20, 13),
    "mid lower leg": (10, 7),
}
"""Guideline weights close to the body by height of the hands: for men, for women (UK HSE L23, figure 20)."""


def recommended_weight_limit_kg(
    horizontal_cm: float,
    vertical_cm: float,
    travel_cm: float,
    asymmetry_degrees: float = 0,
    frequency_multiplier: float = 1,
    coupling_multiplier: float = 1,
) -> float:
    """RWL = 23 x 25/H x (1 - 0.003 |V - 75|) x (0.82 + 4.5/D) x (1 - 0.0032 A) x FM x CM.

    Outside its range (H beyond 63 cm, V beyond 0 to 175 cm, D beyond 175 cm, A beyond 135 degrees) the
    equation allows nothing; H and D below 25 cm count as 25 cm (NIOSH 94-110).

    Args:
        horizontal_cm: H, from the ankles to the hands.
        vertical_cm: V, from the floor to the hands at the start.
        travel_cm: D, how far up or down the load goes.
        asymmetry_degrees: A, how far the body is twisted.
        frequency_multiplier: FM, 1 for a lift now and then.
        coupling_multiplier: CM, 1 for a good grip; a bare roll has a poorer one.
    """
    if horizontal_cm > 63 or not 0 <= vertical_cm <= 175 or travel_cm > 175:
        return 0.0
    if not 0 <= asymmetry_degrees <= 135:
        return 0.0
    return (
        LOAD_CONSTANT_KG
        * 25
        / max(horizontal_cm, 25)
        * (1 - 0.003 * abs(vertical_cm - 75))
        * min(1.0, 0.82 + 4.5 / max(travel_cm, 25))
        * asymmetry_multiplier(asymmetry_degrees)
        * frequency_multiplier
        * coupling_multiplier
    )


def asymmetry_multiplier(asymmetry_degrees: float) -> float:
    """AM = 1 - 0.0032 A."""
    return 1 - 0.0032 * asymmetry_degrees


def lifting_index(load_kg: float, limit_kg: float) -> float:
    """Load / recommended weight limit; above 1 the lift is more than the guidance allows."""
    return load_kg / limit_kg if limit_kg else float("inf")
