"""The packing against published problems: a short selection; all of them by hand, ``tests.benchmarks.packing``.

Sources of the problems and of what published methods reach on them: the README beside them, in checks/packing.
"""

from pathlib import Path

import pytest
import rectpack

from tests.packing_checker import comes_apart, faults
from tests.packing_sets import Instance, instances
from ticketbridge.decide.layout.packing import QUICK, Cutting, Effort, Strip, pack

SELECTION = (
    "C1-2", "C2-3", "C3-2", "C4-1", "C5-2", "C6-2", "C7-1", "N3", "N5", "N8", "N9", "BENG2", "OWN-DEV3", "OWN-DEV5",
)  # fmt: skip
PROVED = ("NG1", "NG3", "NG4", "NG5", "NG7", "NG8", "NG10", "NG11")


@pytest.fixture(scope="module")
def sets(shared: Path) -> dict[str, Instance]:
    return instances(shared)


@pytest.mark.parametrize("may_turn", [False, True], ids=["upright", "turned"])
@pytest.mark.parametrize("name", SELECTION)
def test_a_quick_packing_is_sound_and_no_longer_than_published_best_fit(
    sets: dict[str, Instance], name: str, may_turn: bool
) -> None:
    one = sets[name]
    pieces = one.pieces(may_turn=may_turn)

    packing = pack(pieces, one.strip, QUICK)

    assert faults(packing, pieces, one.strip) == []
    best_fit = one.best_fit_mm[may_turn]
    assert best_fit is not None
    assert one.known_mm <= packing.length_mm <= best_fit


@pytest.mark.parametrize("name", ["C1-2", "C3-2", "C4-1", "C5-2", "C6-2", "C7-1", "N5", "N7"])
def test_a_search_is_no_longer_than_published_two_sided_best_fit(
    sets: dict[str, Instance], name: str
) -> None:
    one = sets[name]
    assert one.two_sided_mm is not None
    packing = pack(one.pieces(may_turn=True), one.strip, Effort(steps=40_000))
    assert packing.length_mm <= one.two_sided_mm


@pytest.mark.parametrize("name", ["OWN-GAPDEV1", "OWN-GAPDEV2"])
def test_spacing_is_kept_and_wastes_nothing_where_nothing_need_be(
    sets: dict[str, Instance], name: str
) -> None:
    one = sets[name]
    pieces = one.pieces(may_turn=True)
    packing = pack(pieces, one.strip, Effort(steps=100_000))
    assert faults(packing, pieces, one.strip) == []
    assert packing.length_mm == one.known_mm


@pytest.mark.parametrize("name", PROVED)
def test_the_exact_method_reaches_the_proved_optimum_and_proves_it_too(
    sets: dict[str, Instance], name: str
) -> None:
    one = sets[name]
    packing = pack(one.pieces(may_turn=False), one.strip, Effort(steps=2_000, branches=100_000))
    assert packing.length_mm == packing.bound_mm == one.known_mm


@pytest.mark.parametrize("name", ["C2-1", "C4-1", "OWN-DEV3"])
def test_what_is_cut_from_edge_to_edge_comes_apart(sets: dict[str, Instance], name: str) -> None:
    one = sets[name]
    strip = Strip(one.strip.width_mm, one.strip.gap_mm, Cutting.GUILLOTINE)
    pieces = one.pieces(may_turn=True)
    packing = pack(pieces, strip, QUICK)
    assert faults(packing, pieces, strip) == []
    assert comes_apart(
        [(p.x_mm, p.y_mm, p.x_mm + p.shape.width_mm, p.y_mm + p.shape.height_mm) for p in packing.placed]
    )


@pytest.mark.parametrize("name", ["C3-2", "C5-2", "N8", "BENG2"])
def test_no_packing_of_another_library_is_shorter(sets: dict[str, Instance], name: str) -> None:
    """A second opinion: rectpack's skyline and maximal-rectangle methods into ever shorter bins."""
    one = sets[name]
    ours = round(pack(one.pieces(may_turn=True), one.strip, QUICK).length_mm)
    for method in (rectpack.SkylineBlWm, rectpack.MaxRectsBssf, rectpack.MaxRectsBl):
        packer = rectpack.newPacker(pack_algo=method, rotation=True)
        packer.add_bin(int(one.strip.width_mm), ours - 1)
        for width, height in one.sizes_mm:
            packer.add_rect(int(width), int(height))
        packer.pack()
        assert len(packer.rect_list()) < len(one.sizes_mm), method.__name__
