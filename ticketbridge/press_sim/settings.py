"""What ``press.yaml`` says about the press and its lanes.

Read by hand and not by the bridge's own models: the simulated press must not share a mistake with the bridge.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.error import YAMLError

from ticketbridge.vocabulary.names import WRITABLE_VERSIONS

FILE_NAME: Final = "press.yaml"
JAM_S: Final = 30.0
"""How long a jam lasts where the press does not say."""
SPANS: Final = ("image", "beam")
YES: Final = "True"
YES_NO: Final = (YES, "False")
"""As YAML's true and false read."""
NAME: Final = re.compile(r"[A-Za-z][A-Za-z0-9._-]{0,29}")
"""Identifiers become parts of file names, folder names and XML IDs."""


class SettingsProblem(Exception):
    """``press.yaml`` cannot be used; the message says where and what to do."""


@dataclass(frozen=True, slots=True)
class LaneSettings:
    """One lane.

    Attributes:
        device_id: The lane's name as a logical device; tickets for another one are refused.
        left_mm: Where the lane begins on the beam.
        drop: Folder that tickets are taken from.
        status: Folder that JMF signals are written to.
        returned: Folder that returned tickets are written to.
        roll_length_mm: Length of a new roll on this lane; None believes each ticket's ``Media@Dimension``.
    """

    device_id: str
    left_mm: float
    drop: Path
    status: Path
    returned: Path
    roll_length_mm: float | None = None


@dataclass(frozen=True, slots=True)
class PressSettings:
    """The press.

    Attributes:
        press_id: First part of every serial.
        head_swath_mm: Height printed in one sweep.
        carriage_speed_mm_s: Speed of the carriage over the roll.
        ramp_mm: Distance the carriage needs to reach that speed.
        dwell_s: Standstill between two sweeps, while the roll moves on.
        carriage_span: ``image`` or ``beam``: how far the carriage travels.
        beam_width_mm: Length of the beam.
        jdf_version: Newest JDF version the press reads and writes, such as (1, 7).
        sender_id: ``JMF@SenderID``.
        operator: ``Employee@PersonalID`` of whoever stands at the press, or None.
        ink_ml_m2: Average ink per channel for one layer, in ml/m2; empty where nothing is known.
        lanes: The lanes.
        jam_s: How long a jam lasts.
        roll_change_s: How long it takes until a new roll is on, where nobody says that it is; None waits for
            a person.
        http_port: Where JMF is taken, on 127.0.0.1; 0 takes any free port, None listens to folders alone.
        refuses_doubles: Whether a second ticket with the same JobID and JobPartID is refused (ReturnCode 116).
    """

    press_id: str
    head_swath_mm: float
    carriage_speed_mm_s: float
    ramp_mm: float
    dwell_s: float
    carriage_span: str
    beam_width_mm: float
    jdf_version: tuple[int, int]
    sender_id: str
    operator: str | None
    ink_ml_m2: Mapping[str, float]
    lanes: tuple[LaneSettings, ...]
    jam_s: float = JAM_S
    roll_change_s: float | None = None
    http_port: int | None = None
    refuses_doubles: bool = False


def version_numbers(text: str) -> tuple[int, int]:
    """``1.7`` as (1, 7), so that versions compare as numbers.

    Raises:
        ValueError: The text is not two whole numbers with a point between.
    """
    major, _, minor = text.partition(".")
    return int(major), int(minor)


def read_settings(folder: Path) -> PressSettings:
    """Read ``press.yaml`` of a press folder.

    Raises:
        SettingsProblem: The file is not there, is not YAML, or a value cannot be used.
    """
    file = folder / FILE_NAME
    try:
        data = YAML(typ="rt").load(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise SettingsProblem(f"{file} is not there. Write it, or name the folder that has it.") from None
    except UnicodeDecodeError:
        raise SettingsProblem(f"{file} is not UTF-8 text. Save it as UTF-8.") from None
    except YAMLError as problem:
        mark = getattr(problem, "problem_mark", None)
        line = mark.line + 1 if mark else 1
        what = getattr(problem, "problem", None) or "it holds a character that YAML does not allow"
        raise SettingsProblem(f"{file}:{line}: not YAML: {what}. Mend that line.") from None
    return _press(_Section(file, data, 1), folder)


def _press(section: "_Section", folder: Path) -> PressSettings:
    version = section.choice("jdf_version", WRITABLE_VERSIONS)
    ink = section.section("ink_ml_m2") if "ink_ml_m2" in section.values else None
    settings = PressSettings(
        press_id=section.name("press_id"),
        head_swath_mm=section.positive("head_swath_mm"),
        carriage_speed_mm_s=section.positive("carriage_speed_mm_s"),
        ramp_mm=section.not_negative("ramp_mm"),
        dwell_s=section.not_negative("dwell_s"),
        carriage_span=section.choice("carriage_span", SPANS),
        beam_width_mm=section.positive("beam_width_mm"),
        jdf_version=version_numbers(version),
        sender_id=section.text("sender_id"),
        operator=section.text("operator") if "operator" in section.values else None,
        ink_ml_m2={channel: ink.not_negative(channel) for channel in ink.values} if ink else {},
        lanes=tuple(_lane(lane, folder) for lane in section.sections("lanes")),
        jam_s=section.not_negative("jam_s") if "jam_s" in section.values else JAM_S,
        roll_change_s=section.not_negative("roll_change_s") if "roll_change_s" in section.values else None,
        http_port=int(section.not_negative("http_port")) if "http_port" in section.values else None,
        refuses_doubles="refuses_doubles" in section.values
        and section.choice("refuses_doubles", YES_NO) == YES,
    )
    section.nothing_else()
    names = [lane.device_id for lane in settings.lanes]
    if len(set(names)) < len(names):
        raise section.problem("lanes", "two lanes have the same device_id", "Give each lane its own")
    drops = [lane.drop.resolve() for lane in settings.lanes]
    if len(set(drops)) < len(drops):
        raise section.problem("lanes", "two lanes take from the same folder", "Give each lane its own 'in'")
    return settings


def _lane(section: "_Section", folder: Path) -> LaneSettings:
    lane = LaneSettings(
        device_id=section.name("device_id"),
        left_mm=section.not_negative("left_mm"),
        drop=folder / section.text("in"),
        status=folder / section.text("status"),
        returned=folder / section.text("returned"),
        roll_length_mm=section.positive("roll_length_mm") if "roll_length_mm" in section.values else None,
    )
    section.nothing_else()
    return lane


class _Section:
    """A mapping in the file, read key by key; what is wrong is told with its line."""

    def __init__(self, file: Path, values: object, line: int) -> None:
        if not isinstance(values, CommentedMap):
            raise SettingsProblem(
                f"{file}:{line}: here must stand names with values, such as press_id: HL-P1."
            )
        self.file = file
        self.values = {str(key): value for key, value in values.items()}
        self._lines: dict[str, int] = {str(key): values.lc.key(key)[0] + 1 for key in values}
        self._first_line = line
        self._read: set[str] = set()

    def problem(self, key: str, what: str, remedy: str) -> SettingsProblem:
        return SettingsProblem(f"{self.file}:{self._line(key)}: {what}. {remedy}.")

    def text(self, key: str) -> str:
        value = self._value(key)
        if not isinstance(value, str) or not value.strip():
            raise self.problem(key, f"{key} must be text, not {value!r}", "Put it in quotes")
        return str(value)

    def name(self, key: str) -> str:
        value = self.text(key)
        if not NAME.fullmatch(value):
            raise self.problem(
                key,
                f"{key} cannot be {value!r}",
                "Use up to 30 letters, digits, '.', '_' or '-', a letter first",
            )
        return value

    def choice(self, key: str, choices: Sequence[str]) -> str:
        value = str(self._value(key))
        if value not in choices:
            raise self.problem(key, f"{key} cannot be {value!r}", f"Use one of {', '.join(choices)}")
        return value

    def positive(self, key: str) -> float:
        value = self.not_negative(key)
        if value == 0:
            raise self.problem(
                key, f"{key} must be greater than 0", "Measure it, or look it up in its manual"
            )
        return value

    def not_negative(self, key: str) -> float:
        value = self._value(key)
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < math.inf:
            raise self.problem(
                key, f"{key} must be a number, 0 or more, not {value!r}", "Write only the number"
            )
        return float(value)

    def section(self, key: str) -> "_Section":
        return _Section(self.file, self._value(key), self._line(key))

    def sections(self, key: str) -> list["_Section"]:
        values = self._value(key)
        if not isinstance(values, CommentedSeq) or not values:
            raise self.problem(key, f"{key} must be a list of at least one", "Begin each entry with a dash")
        return [
            _Section(self.file, value, values.lc.item(place)[0] + 1) for place, value in enumerate(values)
        ]

    def nothing_else(self) -> None:
        for key in self.values:
            if key not in self._read:
                raise self.problem(key, f"{key} means nothing here", "Take it out, or mend its spelling")

    def _value(self, key: str) -> object:
        self._read.add(key)
        if key not in self.values:
            raise self.problem("", f"{key} is missing", "Write it in")
        return self.values[key]

    def _line(self, key: str) -> int:
        return self._lines.get(key, self._first_line)
