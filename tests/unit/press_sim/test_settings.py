"""What is wrong in press.yaml is told with its line and what to do."""

import re
from pathlib import Path

import pytest

from tests.unit.press_sim.tickets import PRESS_YAML
from ticketbridge.press_sim.settings import SettingsProblem, read_settings

WRONG = {
    "1: here must stand names with values": "- a list\n",
    "1: jdf_version is missing": PRESS_YAML.replace('jdf_version: "1.7"\n', ""),
    "2: head_swath_mm must be a number, 0 or more, not 'wide'": PRESS_YAML.replace("54", "wide"),
    "2: head_swath_mm must be greater than 0": PRESS_YAML.replace("54", "0"),
    "4: ramp_mm must be a number, 0 or more, not -400": PRESS_YAML.replace("400", "-400"),
    "6: carriage_span cannot be 'half'": PRESS_YAML.replace("carriage_span: image", "carriage_span: half"),
    "8: jdf_version cannot be '2.1'": PRESS_YAML.replace('"1.7"', '"2.1"'),
    "1: press_id cannot be '../x'": PRESS_YAML.replace("HL-P1\n", "../x\n", 1),
    "9: sender_id must be text, not 7": PRESS_YAML.replace("Harbourlight press 1", "7"),
    "11: lanes must be a list of at least one": PRESS_YAML[: PRESS_YAML.index("  - ")],
    "18: left_mm must be a number": PRESS_YAML.replace("left_mm: 1650", "left_mm: far"),
    "11: two lanes have the same device_id": PRESS_YAML.replace("HL-P1-B", "HL-P1-A"),
    "11: two lanes take from the same folder": PRESS_YAML.replace("lanes/B/in", "lanes/A/in"),
    "22: speed means nothing here": PRESS_YAML + "speed: 3\n",
    "3: not YAML": PRESS_YAML.replace("_mm_s: 1200", "_mm_s: 1200: 7"),
    "2: not YAML: found duplicate key": PRESS_YAML.replace("head_swath_mm: 54", "press_id: HL-P2"),
}


@pytest.mark.parametrize("complaint", WRONG)
def test_a_wrong_value_is_told_with_its_line(complaint: str, tmp_path: Path) -> None:
    (tmp_path / "press.yaml").write_text(WRONG[complaint])
    with pytest.raises(SettingsProblem, match=re.escape(f"press.yaml:{complaint}")):
        read_settings(tmp_path)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(SettingsProblem, match="is not there"):
        read_settings(tmp_path)


def test_a_complete_file_is_read(tmp_path: Path) -> None:
    (tmp_path / "press.yaml").write_text(PRESS_YAML + "ink_ml_m2: {Light Cyan: 1.5}\n")
    press = read_settings(tmp_path)
    assert press.jdf_version == (1, 7)
    assert press.ink_ml_m2 == {"Light Cyan": 1.5}
    assert [lane.left_mm for lane in press.lanes] == [0, 1650]
    assert press.lanes[1].drop == tmp_path / "lanes/B/in"


def test_an_absolute_folder_stays_where_it_is(tmp_path: Path) -> None:
    (tmp_path / "press.yaml").write_text(PRESS_YAML.replace("lanes/A/in", "/srv/lanes/A/in"))
    assert read_settings(tmp_path).lanes[0].drop == Path("/srv/lanes/A/in")


def test_a_version_may_stand_without_quotes_and_the_operator_be_missing(tmp_path: Path) -> None:
    yaml = PRESS_YAML.replace('"1.7"', "1.5").replace("operator: op-07\n", "")
    (tmp_path / "press.yaml").write_text(yaml)
    press = read_settings(tmp_path)
    assert press.jdf_version == (1, 5)
    assert press.operator is None
