"""The shipped sample: right by itself, sensible by the trade's figures, and not deaf to a single misspelt key."""

import csv
import re
import string
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ticketbridge.config.document import read_document
from ticketbridge.config.editors import editor_schemas
from ticketbridge.config.explain import key_names
from ticketbridge.config.files import FILES, MAPPING_MODEL
from ticketbridge.config.load import ConfigRefused, load_shop
from ticketbridge.config.sample import SampleRefused, copy_sample_shop, hotfolders_home
from ticketbridge.press_sim.settings import read_settings

SAMPLE = hotfolders_home() / "sample-shop"
SAMPLE_FILES = sorted(
    str(file.relative_to(SAMPLE)) for file in [*SAMPLE.glob("*.yaml"), *SAMPLE.glob("mappings/*.yaml")]
)

ROW_OF_SUBSTRATE = {
    "BAN510": "MED-01",
    "MESH270": "MED-05",
    "BACKLIT210": "MED-07",
    "WINDOW-CLEAR": "MED-14",
    "WALL300": "MED-16",
    "CANVAS380": "MED-09",
    "FLAG115": "MED-17",
    "VINYL-WHITE": "MED-14",
    "METAL-SILVER": "MED-14",
}
"""Rows of the published ranges (trade-values.csv) for each substrate; paper and board have none."""


@pytest.fixture(scope="module")
def loaded(sample_shop):
    return sample_shop.load()


@pytest.fixture(scope="module")
def trade_values(shared) -> dict[str, str]:
    with (shared / "checks/trade-values.csv").open(newline="") as file:
        return {row["id"]: row["expected"] for row in csv.DictReader(file)}


def test_the_sample_has_nothing_to_complain_about(loaded):
    assert loaded.warnings == ()


@pytest.mark.parametrize("substrate", ROW_OF_SUBSTRATE)
def test_a_substrate_lies_in_the_ranges_of_its_kind(loaded, trade_values, substrate):
    ranges = trade_values[ROW_OF_SUBSTRATE[substrate]]
    thickness = re.search(r"([\d.]+) to ([\d.]+) mm", ranges)
    weight = re.search(r"([\d.]+) to ([\d.]+) g/m2", ranges)
    assert thickness
    assert weight

    entry = loaded.shop.substrates[substrate]

    assert float(thickness[1]) * 1000 <= entry.thickness_um <= float(thickness[2]) * 1000
    assert float(weight[1]) <= entry.weight_g_m2 <= float(weight[2])


def test_ink_lies_in_the_ranges_of_the_trade(loaded, trade_values):
    least_full, most_full = map(float, trade_values["INK-02"].split(" to "))
    least_average, most_average = map(float, trade_values["INK-01"].split(" to "))

    for mode in loaded.shop.print_modes.values():
        assert all(least_full <= laydown <= most_full for laydown in mode.laydown_ml_m2.values())
        colours = [channel for channel in mode.laydown_ml_m2 if channel != "White"]
        average = sum(mode.laydown_ml_m2[c] * mode.typical_coverage_percent[c] / 100 for c in colours)
        assert least_average <= average <= most_average


def test_the_two_rolls_of_press_1_can_run_side_by_side(loaded):
    press = loaded.shop.presses["P1"]
    left, right = press.lanes
    one, other = (loaded.shop.substrates[lane.roll.substrate] for lane in press.lanes)

    assert one.id != other.id
    assert abs(one.thickness_um - other.thickness_um) <= press.side_by_side.thickness_tolerance_um
    assert set(one.print_modes) & set(other.print_modes)
    assert right.left_mm - (left.left_mm + left.roll.width_mm) >= press.side_by_side.gap_mm


def test_every_roll_has_a_width_that_its_substrate_is_bought_in(loaded):
    loaded_rolls = [lane.roll for _, lane in loaded.shop.lanes().values()]

    for roll in (*loaded_rolls, *loaded.shop.stock):
        assert roll.width_mm in loaded.shop.substrates[roll.substrate].widths_mm


def test_every_family_of_the_mode_table_ends_in_a_mode_that_its_substrates_allow(loaded):
    for substrate in loaded.shop.substrates.values():
        row = next(
            row
            for row in loaded.shop.mappings["mis"].print_modes
            if row.layer_stack is None
            and row.print_preference is None
            and row.family in (None, substrate.family)
        )
        assert row.print_mode in substrate.print_modes


@pytest.mark.parametrize("press_id", ["P1", "P2"])
def test_the_simulated_press_is_the_press_that_the_shop_describes(sample_shop, loaded, press_id):
    press = loaded.shop.presses[press_id]
    simulated = read_settings(sample_shop.folder / "simulated-press" / press_id)

    assert press_id == simulated.press_id
    assert (press.head_swath_mm, press.carriage_speed_mm_s, press.ramp_mm, press.dwell_s) == (
        simulated.head_swath_mm, simulated.carriage_speed_mm_s, simulated.ramp_mm, simulated.dwell_s,
    )  # fmt: skip
    assert (press.carriage_span, press.beam_width_mm) == (simulated.carriage_span, simulated.beam_width_mm)
    assert press.jdf_version == ".".join(map(str, simulated.jdf_version))
    assert simulated.operator in press.crew
    assert set(simulated.ink_ml_m2) == set(press.channels)
    assert [(lane.device_id, lane.left_mm, loaded.resolved(lane.folder)) for lane in press.lanes] == [
        (lane.device_id, lane.left_mm, lane.drop.resolve().parent) for lane in simulated.lanes
    ]
    assert [("in", "status", "returned")] * len(press.lanes) == [
        (lane.drop.name, lane.status.name, lane.returned.name) for lane in simulated.lanes
    ]


@st.composite
def misspelt_keys(draw: st.DrawFn) -> tuple[str, int, int, str, str]:
    """A file of the sample, the line and column of one of its keys, the key, and a misspelling of it."""
    file = draw(st.sampled_from(SAMPLE_FILES))
    document, _ = read_document(SAMPLE / file)
    assert document is not None
    path = draw(st.sampled_from(sorted(document.key_places, key=str)))
    key = str(path[-1])
    holder = document.data
    for step in path[:-1]:
        holder = holder[step]
    position = draw(st.integers(0, len(key) - 1))
    letter = draw(st.sampled_from(string.ascii_letters))
    swapped = key[:position] + key[position + 1 : position + 2] + key[position] + key[position + 2 :]
    wrong = draw(
        st.sampled_from(
            [key[:position] + letter + key[position:], key[:position] + letter + key[position + 1 :], swapped]
        )
    )
    right = {*holder, *key_names(FILES.get(file, MAPPING_MODEL), path[:-1])}
    if wrong in right:
        wrong = key + letter + letter
    return file, *document.key_places[path], key, wrong


@settings(max_examples=60, deadline=None)
@given(typo=misspelt_keys())
def test_any_single_key_misspelt_is_found_at_its_line(tmp_path_factory, typo):
    file, line, column, key, wrong = typo
    folder = tmp_path_factory.mktemp("typo")
    copy_sample_shop(folder)
    lines = (folder / file).read_text().splitlines(keepends=True)
    text = lines[line - 1]
    assert text[column - 1 :].startswith(key)
    lines[line - 1] = text[: column - 1] + wrong + text[column - 1 + len(key) :]
    (folder / file).write_text("".join(lines))

    with pytest.raises(ConfigRefused) as refused:
        load_shop(folder)

    places = [finding.place for finding in refused.value.findings]
    assert any(
        (place.file, place.line, place.column) == (str(folder / file), line, column) for place in places
    )


def test_the_sample_is_found_in_a_checkout_and_all_of_it_is_copied(tmp_path):
    every = copy_sample_shop(tmp_path / "shop")
    written = [file for file in every if file.parent.name != "editor"]

    assert sorted(file.relative_to(SAMPLE) for file in SAMPLE.rglob("*") if file.is_file()) == [
        file.relative_to(tmp_path / "shop") for file in written
    ]
    assert sorted(editor_schemas()) == sorted(file.name for file in every if file not in written)
    assert all(
        file.read_bytes() == (SAMPLE / file.relative_to(tmp_path / "shop")).read_bytes() for file in written
    )


def test_the_files_of_the_sample_are_those_that_a_shop_must_have():
    assert {*FILES, "mappings/mis.yaml", "mappings/counter.yaml"} == set(SAMPLE_FILES)


def test_nothing_is_copied_over_a_file(tmp_path):
    target = tmp_path / "shop"
    target.write_text("a file")

    with pytest.raises(SampleRefused):
        copy_sample_shop(target)

    assert Path(target).read_text() == "a file"
