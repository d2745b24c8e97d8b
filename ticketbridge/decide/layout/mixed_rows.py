"""Rows of pieces as they stand and rows of pieces turned, on one roll."""

from dataclasses import replace

from ticketbridge.decide.layout.arrangement import Arrangement


def mixed_rows(one: Arrangement, other: Arrangement, gap_mm: float) -> Arrangement:
    """The shortest mixture of rows of both ways round; one of the two where none is shorter.

    Rows of the way that takes less roll a piece make up the most, since as many pieces as ``across x across`` can
    always be moved to them for nothing. So fewer rows of the other way are tried than stand beside each other in
    a row of the first.

    Args:
        one: All pieces the one way, in full rows where there are enough of them.
        other: All pieces the other way.
        gap_mm: Free distance between neighbours.
    """
    usual, rare = sorted((one, other), key=lambda way: (way.slot_height_mm + gap_mm) / way.across)
    shortest = min((one, other), key=lambda way: round(way.length_mm, 3))
    for rare_rows in range(1, usual.across):
        left = usual.count - rare_rows * rare.across
        if left <= 0:
            break
        mixed = replace(
            usual,
            rows=rare_rows - (-left // usual.across),
            other_rows=rare_rows,
            other_across=rare.across,
        )
        length_mm = mixed.begin_of_row_mm(mixed.rows - 1, gap_mm) + mixed.other_slot_height_mm
        # To the tolerance, so that noise in the last digits mixes nothing.
        if round(length_mm, 3) < round(shortest.length_mm, 3):
            shortest = replace(mixed, length_mm=length_mm)
    return shortest
