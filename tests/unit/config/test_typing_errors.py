"""What people really mistype: each is found with its file, line, column and key, and the right word is named."""

from typing import NamedTuple

import pytest

from ticketbridge.model.codes import remedy, sentence


class Typo(NamedTuple):
    what: str
    file: str
    old: str
    new: str
    code: str
    spot: str
    says: str
    advice: str


TYPOS = [
    Typo(
        "a key misspelt",
        "presses.yaml", "beam_width_mm:", "beam_widht_mm:",
        "config.key-unknown", "presses.yaml:4:5 presses[P1].beam_widht_mm",
        'The key "beam_widht_mm" is unknown here.', 'Did you mean "beam_width_mm"?',
    ),
    Typo(
        "a key with the wrong unit",
        "substrates.yaml", "thickness_um:", "thickness_mm:",
        "config.key-unknown", "substrates.yaml:5:5 substrates[BANNER].thickness_mm",
        'The key "thickness_mm" is unknown here.', 'Did you mean "thickness_um"?',
    ),
    Typo(
        "a key in capitals",
        "shop.yaml", "Small Shop\nsender_id", "Small Shop\nSENDER_ID",
        "config.key-unknown", "shop.yaml:2:1 SENDER_ID",
        'The key "SENDER_ID" is unknown here.', 'Did you mean "sender_id"?',
    ),
    Typo(
        "a key nobody knows",
        "shop.yaml", "time_zone: UTC\n", "time_zone: UTC\ncolour_of_the_door: red\n",
        "config.key-unknown", "shop.yaml:4:1 colour_of_the_door",
        'The key "colour_of_the_door" is unknown here.', "Remove it. Keys allowed here: name, sender_id, time_zone",
    ),
    Typo(
        "a key forgotten",
        "presses.yaml", "    head_swath_mm: 64\n", "",
        "config.key-missing", "presses.yaml:2:5 presses[P1].head_swath_mm",
        'The key "head_swath_mm" is missing here.', 'Add "head_swath_mm:" with a number above 0.',
    ),
    Typo(
        "a word of a closed list misspelt",
        "substrates.yaml", "family: banner", "family: baner",
        "config.value", "substrates.yaml:4:13 substrates[BANNER].family",
        'It says "baner", but it must be one of "banner", "mesh"', 'Did you mean "banner"?',
    ),
    Typo(
        "layers in the spelling of another country",
        "print-modes.yaml", '"white, colour"', '"white, color"',
        "config.value", "print-modes.yaml:12:20 print_modes[white].layer_stacks[#1]",
        'It says "white, color"', 'Did you mean "white, colour"?',
    ),
    Typo(
        "a number with its unit",
        "substrates.yaml", "thickness_um: 500", "thickness_um: 500 um",
        "config.value", "substrates.yaml:5:19 substrates[BANNER].thickness_um",
        'It says "500 um", but it must be a number above 0.',
        "Correct the value. Thickness in micrometres, liner included: it decides what may run side by side.",
    ),
    Typo(
        "a decimal comma",
        "presses.yaml", "six: 10.5", "six: 10,5",
        "config.value", "presses.yaml:9:12 presses[P1].advance_mm.six",
        'It says "10,5", but it must be a number above 0.', "Correct the value.",
    ),
    Typo(
        "a number out of bounds",
        "print-modes.yaml", "passes: 6", "passes: 65",
        "config.value", "print-modes.yaml:5:13 print_modes[six].passes",
        'It says "65", but it must be a whole number from 1 to 64.', "Correct the value.",
    ),
    Typo(
        "a minus sign too many",
        "presses.yaml", "width_mm: 1600, length", "width_mm: -1600, length",
        "config.value", "presses.yaml:19:54 presses[P1].lanes[A].roll.width_mm",
        'It says "-1600", but it must be a number above 0.', "Correct the value.",
    ),
    Typo(
        "infinity for a number",
        "presses.yaml", "ramp_mm: 200", "ramp_mm: .inf",
        "config.value", "presses.yaml:7:14 presses[P1].ramp_mm",
        'It says "inf", but it must be a number of 0 or more.', "Correct the value.",
    ),
    Typo(
        "one number where two belong",
        "print-modes.yaml", "Six passes\n    resolution_dpi: [600, 600]", "Six passes\n    resolution_dpi: [600]",
        "config.value", "print-modes.yaml:4:21 print_modes[six].resolution_dpi",
        "It says a list of 1, but it must be a list of exactly 2, each a number above 0.", "Across and along",
    ),
    Typo(
        "a single value where a list belongs",
        "substrates.yaml", "[1600, 3200]", "1600",
        "config.value", "substrates.yaml:7:16 substrates[BANNER].widths_mm",
        'It says "1600", but it must be a list of at least one, each a number above 0.', "Correct the value.",
    ),
    Typo(
        "an empty list where something must stand",
        "substrates.yaml", "[1600, 3200]", "[]",
        "config.value", "substrates.yaml:7:16 substrates[BANNER].widths_mm",
        "It says an empty list", "Correct the value.",
    ),
    Typo(
        "nothing after the colon",
        "presses.yaml", "name: Press 1", "name:",
        "config.value", "presses.yaml:3:5 presses[P1].name",
        "It says nothing, but it must be text.", "Correct the value.",
    ),
    Typo(
        "a blank in an id",
        "presses.yaml", "id: P1", "id: Press 1",
        "config.value", "presses.yaml:2:9 presses[Press 1].id",
        'It says "Press 1", but it must be a name of', "Correct the value.",
    ),
    Typo(
        "text that YAML takes for a number",
        "stock.yaml", "lot: L2", "lot: 2207",
        "config.not-quoted", "stock.yaml:2:30 stock[#1].lot",
        "It says 2207, which YAML takes for a number", 'Write it in quotes: "2207".',
    ),
    Typo(
        "a version without quotes",
        "presses.yaml", "name: Press 1\n", "name: Press 1\n    jdf_version: 1.7\n",
        "config.not-quoted", "presses.yaml:4:18 presses[P1].jdf_version",
        "It says 1.7, which YAML takes for a number", 'Write it in quotes: "1.7".',
    ),
    Typo(
        "a version that cannot be written",
        "shop.yaml", "mapping: mis\n", 'mapping: mis\n    jdf_version: "2.1"\n',
        "config.value", "shop.yaml:8:18 sources[mis].jdf_version",
        'It says "2.1", but it must be one of "1.3"', "Correct the value.",
    ),
    Typo(
        "a substrate that is not in the catalogue",
        "presses.yaml", "substrate: BANNER", "substrate: BANER",
        "config.reference-unknown", "presses.yaml:19:27 presses[P1].lanes[A].roll.substrate",
        'There is no substrate called "BANER".', 'Did you mean "BANNER"? Known in substrates.yaml: BANNER.',
    ),
    Typo(
        "a roll on the shelf of an unknown substrate",
        "stock.yaml", "BANNER", "CANVAS",
        "config.reference-unknown", "stock.yaml:2:17 stock[#1].substrate",
        'There is no substrate called "CANVAS".', "Add it to substrates.yaml, or correct the name.",
    ),
    Typo(
        "a substrate with an unknown mode",
        "substrates.yaml", "[six]", "[sixx]",
        "config.reference-unknown", "substrates.yaml:8:19 substrates[BANNER].print_modes[#1]",
        'There is no print mode called "sixx".', 'Did you mean "six"? Known in print-modes.yaml: six, white.',
    ),
    Typo(
        "a measured advance for an unknown mode",
        "presses.yaml", "six: 10.5", "sex: 10.5",
        "config.reference-unknown", "presses.yaml:9:7 presses[P1].advance_mm.sex",
        'There is no print mode called "sex".', 'Did you mean "six"?',
    ),
    Typo(
        "a row that names an unknown mode",
        "mappings/mis.yaml", "print_mode: white}", "print_mode: whit}",
        "config.reference-unknown", "mappings/mis.yaml:4:48 print_modes[#1].print_mode",
        'There is no print mode called "whit".', 'Did you mean "white"?',
    ),
    Typo(
        "a row that names an unknown substrate",
        "mappings/mis.yaml", "substrate: BANNER", "substrate: banner",
        "config.reference-unknown", "mappings/mis.yaml:2:61 substrates[#1].substrate",
        'There is no substrate called "banner".', 'Did you mean "BANNER"?',
    ),
    Typo(
        "a source that names an unknown mapping",
        "shop.yaml", "mapping: mis", "mapping: miss",
        "config.reference-unknown", "shop.yaml:7:14 sources[mis].mapping",
        'There is no mapping called "miss".', 'Did you mean "mis"? Known in mappings/: mis.',
    ),
    Typo(
        "an underlay for a lane that is not there",
        "presses.yaml", "lanes: [A]", "lanes: [C]",
        "config.reference-unknown", "presses.yaml:12:38 presses[P1].underlay.lanes[#1]",
        'There is no lane called "C".', "Known in the lanes of press P1: A, B.",
    ),
    Typo(
        "an id given twice",
        "shop.yaml", "mapping: mis\n", "mapping: mis\n  - {id: mis, folder: hot/web, mapping: mis}\n",
        "config.id-twice", "shop.yaml:8:10 sources[mis].id",
        'Another source is already called "mis", in line 5.', "Give each its own name.",
    ),
    Typo(
        "a device id given twice",
        "presses.yaml", "device_id: DEV-B", "device_id: DEV-A",
        "config.id-twice", "presses.yaml:22:20 presses[P1].lanes[B].device_id",
        'Another lane\'s device is already called "DEV-A", in line 16.', "Give each its own name.",
    ),
    Typo(
        "two lanes of one press with one id",
        "presses.yaml", "id: B\n", "id: A\n",
        "config.id-twice", "presses.yaml:20:13 presses[P1].lanes[A].id",
        'Another lane is already called "A", in line 14.', "Give each its own name.",
    ),
    Typo(
        "a key given twice",
        "presses.yaml", "ramp_mm: 200\n", "ramp_mm: 200\n    ramp_mm: 300\n",
        "config.key-twice", "presses.yaml:8:5 ramp_mm",
        'The key "ramp_mm" was already given in line 7.', "Keep one of the two.",
    ),
    Typo(
        "a lane folder inside another",
        "presses.yaml", "folder: lanes/B", "folder: lanes/A/b",
        "config.folders-overlap", "presses.yaml:25:17 presses[P1].lanes[B].folder",
        'The folder "lanes/A/b" is the same as, inside, or around another one: presses[P1].lanes[A].folder, line 18.',
        "Give each source and each lane a folder of its own",
    ),
    Typo(
        "a hot folder around everything",
        "shop.yaml", "folder: hot/mis", "folder: .",
        "config.folders-overlap", "shop.yaml:6:13 sources[mis].folder",
        "the shop folder with its files", "Give each source and each lane a folder of its own",
    ),
    Typo(
        "a hot folder in the bridge's own folder",
        "shop.yaml", "folder: hot/mis", "folder: hot/../state/mis",
        "config.folders-overlap", "shop.yaml:6:13 sources[mis].folder",
        "the bridge's own store", "Give each source and each lane a folder of its own",
    ),
    Typo(
        "a time zone nobody knows",
        "shop.yaml", "time_zone: UTC", "time_zone: Europe/Lisbonn",
        "config.time-zone", "shop.yaml:3:12 time_zone",
        'This machine knows no time zone "Europe/Lisbonn".', 'Did you mean "Europe/Lisbon"?',
    ),
    Typo(
        "a channel misspelt",
        "print-modes.yaml", "Black: 10}", "Black: 10, Withe: 12}",
        "config.channel-unknown", "print-modes.yaml:6:42 print_modes[six].laydown_ml_m2.Withe",
        'No press has an ink channel "Withe".', 'Did you mean "White"?',
    ),
    Typo(
        "coverage of an ink that is not laid down",
        "print-modes.yaml", "percent: {Cyan: 20, Black", "percent: {Cyan: 20, Blcak",
        "config.coverage-without-laydown", "print-modes.yaml:7:42 print_modes[six].typical_coverage_percent.Blcak",
        'A typical coverage is given for "Blcak"', 'Did you mean "Black"?',
    ),
    Typo(
        "a white layer without white ink",
        "print-modes.yaml", "{Cyan: 10, White: 14}\n    typical_coverage_percent: {Cyan: 20, White: 60}",
        "{Cyan: 10}\n    typical_coverage_percent: {Cyan: 20}",
        "config.stack-without-ink", "print-modes.yaml:12:20 print_modes[white].layer_stacks[#1]",
        'The layer stack "white, colour" needs the channel White', "Add the laydown of White",
    ),
    Typo(
        "a range the wrong way round",
        "mappings/mis.yaml", "[480, 540]", "[540, 480]",
        "config.range-reversed", "mappings/mis.yaml:2:38 substrates[#1].weight_g_m2",
        "The range runs from 540 down to 480, so nothing lies in it.", "Write the lower end first.",
    ),
    Typo(
        "a thickness range of a press the wrong way round",
        "presses.yaml", "{min: 80, max: 1500}", "{min: 1500, max: 80}",
        "config.range-reversed", "presses.yaml:10:19 presses[P1].thickness_um",
        "The range runs from 1500 down to 80, so nothing lies in it.", "Write the lower end first.",
    ),
    Typo(
        "a row for a mode that its substrate does not allow",
        "mappings/mis.yaml", "{family: banner, print_mode: six}", "{substrate: BANNER, print_mode: white}",
        "config.mode-not-allowed", "mappings/mis.yaml:5:37 print_modes[#2].print_mode",
        "This row sends substrate BANNER to print mode white, which the catalogue does not allow on it.",
        "Allowed on BANNER: six.",
    ),
    Typo(
        "a row for layers that its mode does not print",
        "mappings/mis.yaml", '{layer_stack: "white, colour", print_mode: white}',
        '{layer_stack: "colour, clear", print_mode: white}',
        "config.stack-not-in-mode", "mappings/mis.yaml:4:48 print_modes[#1].print_mode",
        'This row sends the layer stack "colour, clear" to print mode white, which does not print it.',
        'white prints "white, colour".',
    ),
    Typo(
        "a row without a condition",
        "mappings/mis.yaml", "{media_type: Vinyl, weight_g_m2: [480, 540], substrate: BANNER}", "{substrate: BANNER}",
        "config.contradiction", "mappings/mis.yaml:2:5 substrates[#1]",
        "This cannot be: a row without a condition would take every ticket.", "Correct the value that is wrong.",
    ),
    Typo(
        "lanes that overlap on the beam",
        "presses.yaml", "left_mm: 1650", "left_mm: 1600",
        "config.lanes-overlap", "presses.yaml:23:18 presses[P1].lanes[B].left_mm",
        "Lane B begins at 1600 mm, but lane A reaches to 1650 mm.", "Correct left_mm or width_mm",
    ),
    Typo(
        "a lane beyond the beam",
        "presses.yaml", "beam_width_mm: 3300", "beam_width_mm: 3000",
        "config.contradiction", "presses.yaml:2:5 presses[P1]",
        "This cannot be: lane B ends at 3300 mm, beyond the beam of 3000 mm.", "Correct the value that is wrong.",
    ),
    Typo(
        "a roll wider than its lane",
        "presses.yaml", "width_mm: 1600, length", "width_mm: 3200, length",
        "config.roll-too-wide", "presses.yaml:19:54 presses[P1].lanes[A].roll.width_mm",
        "A roll of 3200 mm cannot lie in lane A, which is 1650 mm wide.", "Correct the width",
    ),
    Typo(
        "a tab",
        "presses.yaml", "    ramp_mm: 200", "\tramp_mm: 200",
        "config.tab", "presses.yaml:7:1",
        "Here stands a tab; YAML is indented with blanks only.", "Replace the tab with blanks",
    ),
    Typo(
        "a missing colon",
        "presses.yaml", "ramp_mm: 200", "ramp_mm 200",
        "config.yaml-broken", "presses.yaml:7:5",
        "The file is not valid YAML from here on", "Look here and in the line above for a missing colon",
    ),
    Typo(
        "a quote that is never closed",
        "shop.yaml", "name: Small Shop", "name: 'Small Shop",
        "config.yaml-broken", "shop.yaml:1:7",
        "The file is not valid YAML from here on", "Look here and in the line above for a missing colon",
    ),
    Typo(
        "a bracket that is never closed",
        "substrates.yaml", "[1600, 3200]", "[1600, 3200",
        "config.yaml-broken", "substrates.yaml:7:16",
        "The file is not valid YAML from here on", "Look here and in the line above for a missing colon",
    ),
    Typo(
        "a line that slipped to the left",
        "shop.yaml", "    folder: hot/mis", "  folder: hot/mis",
        "config.yaml-broken", "shop.yaml:6:3",
        "The file is not valid YAML from here on", "Look here and in the line above for a missing colon",
    ),
    Typo(
        "an alias",
        "shop.yaml", "folder: hot/mis", "folder: *usual",
        "config.yaml-feature", "shop.yaml:6:13",
        "Here stands the alias *usual", "Write the values out where they are needed.",
    ),
    Typo(
        "a tag",
        "shop.yaml", "folder: hot/mis", "folder: !!python/name:os.system hot",
        "config.yaml-feature", "shop.yaml:6:13",
        "Here stands the tag", "Write the values out where they are needed.",
    ),
    Typo(
        "a second document",
        "stock.yaml", "stock:", "---\nstock: []\n---\nstock:",
        "config.yaml-feature", "stock.yaml:3:1",
        "Here stands a second document after ---", "Write the values out where they are needed.",
    ),
]  # fmt: skip


@pytest.mark.parametrize("typo", TYPOS, ids=[typo.what.replace(" ", "-") for typo in TYPOS])
def test_a_typing_error_is_found_with_its_place_and_its_remedy(small_shop, typo):
    small_shop.replace(typo.file, typo.old, typo.new)

    found = small_shop.complaints()

    assert [(typo.code, typo.spot)] == [(finding.code, small_shop.spot(finding)) for finding in found]
    assert typo.says in sentence(found[0])
    assert typo.advice in remedy(found[0])


def test_the_small_shop_itself_has_nothing_to_complain_about(small_shop):
    assert small_shop.load().warnings == ()


def test_everything_wrong_is_listed_at_once_in_the_order_of_files_and_lines(small_shop):
    small_shop.replace("mappings/mis.yaml", "print_mode: white}", "print_mode: wihte}")
    small_shop.replace("presses.yaml", "name: Left", "nmae: Left")
    small_shop.replace("presses.yaml", "head_swath_mm: 64", "head_swath_mm: wide")
    small_shop.replace("substrates.yaml", "family: banner", "family: flag")
    small_shop.replace("shop.yaml", "time_zone: UTC", "time_zone: Moon/Base")
    small_shop.replace("shop.yaml", "sender_id: small-bridge", "sender_id: small bridge")
    small_shop.write("stock.yaml", "stock: [")

    found = [small_shop.spot(finding) for finding in small_shop.complaints()]

    assert found == [
        "shop.yaml:2:12 sender_id",
        "shop.yaml:3:12 time_zone",
        "substrates.yaml:4:13 substrates[BANNER].family",
        "presses.yaml:5:20 presses[P1].head_swath_mm",
        "presses.yaml:15:9 presses[P1].lanes[A].nmae",
        "stock.yaml:1:9",
        "mappings/mis.yaml:4:48 print_modes[#1].print_mode",
    ]


def test_names_defined_in_a_broken_file_are_not_called_unknown(small_shop):
    small_shop.write("substrates.yaml", "substrates: [")

    assert [finding.code for finding in small_shop.complaints()] == ["config.yaml-broken"]


def test_a_mapping_that_is_broken_is_not_called_unknown_as_well(small_shop):
    small_shop.write("mappings/mis.yaml", "substrates: [")

    assert [finding.code for finding in small_shop.complaints()] == ["config.yaml-broken"]


def test_an_ink_that_no_press_has_is_a_warning_and_stops_nothing(small_shop):
    small_shop.replace("presses.yaml", "[Cyan, Black, White]", "[Cyan, Black]")

    warnings = small_shop.load().warnings

    assert [small_shop.spot(warning) for warning in warnings] == [
        "print-modes.yaml:13:31 print_modes[white].laydown_ml_m2.White"
    ]
    assert "No press has the channel" in sentence(warnings[0])
