"""What the exact method calls the shortest, against a constraint solver that knows nothing of how it is found."""

from collections.abc import Sequence

import pytest
from ortools.sat.python import cp_model

from ticketbridge.decide.layout.packing import Effort, Strip, pack, whole_piece
from ticketbridge.decide.layout.packing.chance import Chance

WIDTH = 12


def pieces_of(seed: int) -> list[tuple[int, int]]:
    chance = Chance(seed)
    return [(1 + chance.below(8), 1 + chance.below(8)) for _ in range(5 + chance.below(4))]


def shortest_by_solver(sizes: Sequence[tuple[int, int]], *, may_turn: bool) -> int:
    model = cp_model.CpModel()
    most = sum(max(size) for size in sizes)
    length = model.new_int_var(0, most, "length")
    beside, along = [], []
    for width, height in sizes:
        turned = model.new_bool_var("") if may_turn else 0
        across_size = width + (height - width) * turned
        along_size = height + (width - height) * turned
        left, leading = model.new_int_var(0, WIDTH, ""), model.new_int_var(0, most, "")
        right, trailing = model.new_int_var(0, WIDTH, ""), model.new_int_var(0, most, "")
        beside.append(model.new_interval_var(left, across_size, right, ""))
        along.append(model.new_interval_var(leading, along_size, trailing, ""))
        model.add(trailing <= length)
    model.add_no_overlap_2d(beside, along)
    model.minimize(length)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


@pytest.mark.parametrize("may_turn", [False, True], ids=["upright", "turned"])
@pytest.mark.parametrize("seed", range(8))
def test_both_find_the_same_shortest_packing(seed: int, may_turn: bool) -> None:
    sizes = pieces_of(seed)
    pieces = [whole_piece(width, height, may_turn=may_turn) for width, height in sizes]
    packing = pack(pieces, Strip(WIDTH), Effort(steps=50, branches=100_000))
    assert packing.length_mm == packing.bound_mm == shortest_by_solver(sizes, may_turn=may_turn)
