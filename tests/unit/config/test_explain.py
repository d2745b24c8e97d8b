"""What every key means, in words."""

import pytest

from ticketbridge.config.explain import about, allowed, find_keys, key_names, keys, words_allowed
from ticketbridge.config.files import FILES, MAPPING_MODEL, PressesFile, PrintModesFile, SubstratesFile
from ticketbridge.model.mapping import Mapping
from ticketbridge.model.shop import Settings


@pytest.mark.parametrize(
    ("model", "path", "words"),
    [
        (SubstratesFile, ("substrates", 0, "thickness_um"), "a number above 0"),
        (PressesFile, ("presses", 0, "ramp_mm"), "a number of 0 or more"),
        (PrintModesFile, ("print_modes", 0, "passes"), "a whole number from 1 to 64"),
        (PrintModesFile, ("print_modes", 3, "resolution_dpi"), "a list of exactly 2, each a number above 0"),
        (PrintModesFile, ("print_modes", 0, "resolution_dpi", 1), "a number above 0"),
        (PrintModesFile, ("print_modes", 0, "direction"), 'one of "one way", "both ways"'),
        (PrintModesFile, ("print_modes", 0, "typical_coverage_percent", "Cyan"), "a number from 0 to 100"),
        (Settings, ("limits", "depth"), "a whole number above 0, at most 256"),
        (Settings, ("sources", 0, "watch", "events"), "true or false"),
        (Settings, ("sources", 0, "status_url"), "an address that begins with http:// or https://"),
        (Settings, ("name",), "text"),
        (Settings, ("sources", 0), "a block of keys"),
        (PressesFile, ("presses", 0, "lanes", 1, "roll", "lot"), "text"),
        (PressesFile, ("presses", 0, "advance_mm"), "a block of names, each with a number above 0"),
        (Mapping, ("substrates", 0, "weight_g_m2"), "a list of exactly 2, each a number of 0 or more"),
        (SubstratesFile, ("substrates", 0, "widths_mm"), "a list of at least one, each a number above 0"),
    ],
)
def test_what_is_allowed_is_said_in_words(model, path, words):
    assert words == allowed(model, path)


def test_closed_lists_are_known_word_by_word():
    assert words_allowed(Mapping, ("panels",)) == ("wanted", "allowed", "forbidden")
    assert "1.7" in words_allowed(PressesFile, ("presses", 0, "jdf_version"))
    assert words_allowed(Settings, ("name",)) == ()


def test_the_keys_of_a_block_are_those_of_its_model():
    assert key_names(PressesFile, ("presses", 0, "lanes", 0, "roll")) == (
        "substrate",
        "lot",
        "number",
        "width_mm",
        "length_left_m",
        "core_outside_mm",
        "flaws",
    )


def test_a_description_is_the_docstring_of_the_field():
    assert about(PressesFile, ("presses", 0, "lanes", 0, "left_mm")) == "Where the lane begins on the beam."


def test_every_field_of_every_model_is_among_the_keys():
    for model in (*FILES.values(), MAPPING_MODEL):
        assert set(model.model_fields) <= {key.name for key in keys(model)}


def test_defaults_and_duties_are_told_apart():
    defaults = {key.name: key.default for key in keys(PressesFile)}

    assert defaults["presses[].lanes[].width_mm"] is None
    assert defaults["presses[].lanes[].ahead"] == "1"
    assert defaults["presses[].carriage_span"] == '"image"'
    assert defaults["presses[].lanes[].roll"] == "left out"


def test_a_key_is_found_by_its_last_part_or_by_its_path():
    assert [(file, key.name) for file, key in find_keys("ahead")] == [
        ("presses.yaml", "presses[].lanes[].ahead")
    ]
    assert [key.name for _, key in find_keys("lanes.width_mm")] == ["presses[].lanes[].width_mm"]
    assert {"presses[].lanes[].roll.width_mm", "stock[].width_mm"} < {
        key.name for _, key in find_keys("width_mm")
    }
    assert find_keys("colour_of_the_door") == ()
