"""What a printed job has used: roll in m2, ink in litres."""

from collections.abc import Mapping
from dataclasses import dataclass

from ticketbridge.press_sim.ticket import Ticket
from ticketbridge.vocabulary.words import LAYER_WORDS


@dataclass(frozen=True, slots=True)
class Used:
    """What one job took.

    Attributes:
        good_m2: Roll under the print, at full roll width.
        waste_m2: Leader and trailer, at full roll width.
        ink_l: Litres per channel; empty where the press knows no figures.
    """

    good_m2: float
    waste_m2: float
    ink_l: Mapping[str, float]


def used(
    ticket: Ticket, ink_ml_m2: Mapping[str, float], *, waste_mm: float = 0.0, spoilt_share: float = 0.0
) -> Used:
    """What the whole job takes: the ink that the ticket expects, else by the press's average figures.

    A channel named like a layer word (White, Clear) is laid down once for each such layer in the stack, every
    other channel once for each Color layer.

    Args:
        ticket: The job.
        ink_ml_m2: Average ink of one layer per channel, in ml/m2.
        waste_mm: Length of roll that faults spoilt.
        spoilt_share: Pieces that faults spoilt, as a share of the good ones; their ink is gone too.
    """
    length_mm = max(placement.box.top for placement in ticket.placements)
    ink_l = ticket.ink_l or _ink_by_area(ticket, ink_ml_m2)
    return Used(
        good_m2=length_mm * ticket.media.width_mm / 1e6,
        waste_m2=(ticket.leader_mm + ticket.trailer_mm + waste_mm) * ticket.media.width_mm / 1e6,
        ink_l={channel: litres * (1 + spoilt_share) for channel, litres in ink_l.items()},
    )


def _ink_by_area(ticket: Ticket, ink_ml_m2: Mapping[str, float]) -> dict[str, float]:
    printed_m2 = sum(placement.box.width * placement.box.height for placement in ticket.placements) / 1e6
    stack = ticket.carriage_mode.layer_stack
    layers = {channel: stack.count(channel if channel in LAYER_WORDS else "Color") for channel in ink_ml_m2}
    return {
        channel: printed_m2 * ml_m2 * layers[channel] / 1000
        for channel, ml_m2 in ink_ml_m2.items()
        if layers[channel]
    }
