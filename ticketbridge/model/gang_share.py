"""What a press says of a gang run, shared out among its members: whose pieces came out, whose were spoilt.

A press counts pieces as they come off: by their trailing edge, then as the ticket's Layout lists them. So each
count belongs to certain pieces, and the members' amounts together are always the press's.
"""

from collections import Counter
from collections.abc import Mapping, Sequence

from ticketbridge.model.layout import Layout


def owners_in_print_order(layouts: Mapping[str, Layout]) -> tuple[str, ...]:
    """Whose each piece is, in the order in which they come off the press.

    Args:
        layouts: By member, what it has of the run; in the order of the ticket's Layout.
    """
    placed = [(name, one) for name, layout in layouts.items() for one in layout.placements]
    order = sorted(
        range(len(placed)),
        key=lambda index: (round(placed[index][1].y_mm + placed[index][1].height_mm, 3), index),
    )
    return tuple(placed[index][0] for index in order)


def shared_pieces(amount: float, owners: Sequence[str]) -> dict[str, float]:
    """By member, how many of so many good pieces are its own. More than there are count for the last one's member."""
    counted = Counter(owners[: int(amount)])
    shares = {name: float(counted[name]) for name in dict.fromkeys(owners)}
    shares[owners[-1]] += max(0.0, amount - len(owners))
    return shares


def shared_waste(
    waste: float, amount: float, owners: Sequence[str], known: Mapping[str, float]
) -> dict[str, float]:
    """By member, its spoilt pieces: what is new among them is the piece that was in hand, the next to come out.

    Args:
        waste: Spoilt pieces since the run began.
        amount: Good pieces since then.
        owners: Whose each piece is, in print order.
        known: By member, what it was told of before.
    """
    shares = {name: known.get(name, 0.0) for name in dict.fromkeys(owners)}
    shares[owners[min(int(amount), len(owners) - 1)]] += max(0.0, waste - sum(shares.values()))
    return shares


def area_shares(layouts: Mapping[str, Layout]) -> dict[str, float]:
    """By member, its part of the printed area, by which roll and ink are shared. Together they are 1."""
    areas = {
        name: sum(one.width_mm * one.height_mm for one in layout.placements)
        for name, layout in layouts.items()
    }
    return {name: area / sum(areas.values()) for name, area in areas.items()}
