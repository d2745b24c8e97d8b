"""What no single value can say: folders in each other, lanes that overlap, ink that no press has.

Each check is one small function over what could be read; entries that are wrong by themselves are left
out, so one mistake brings one complaint.
"""

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Final, TypeVar
from zoneinfo import available_timezones

from pydantic import BaseModel, ValidationError

from ticketbridge.config.complaints import hint, listed, quoted
from ticketbridge.config.document import EACH, Document, KeyPath
from ticketbridge.config.files import (
    MAPPINGS_FOLDER,
    PRESSES_FILE,
    PRINT_MODES_FILE,
    SETTINGS_FILE,
    STATE_FOLDER,
    SUBSTRATES_FILE,
)
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.model.mapping import PrintModeRow, SubstrateRow
from ticketbridge.model.press import Lane, Press
from ticketbridge.model.shop import Source
from ticketbridge.model.substrate import PrintMode, Substrate
from ticketbridge.vocabulary.names import WRITABLE_VERSIONS

Model = TypeVar("Model", bound=BaseModel)

USUAL_CHANNELS: Final = ("Cyan", "Magenta", "Yellow", "Black", "White", "Clear")
CHANNEL_OF_LAYER: Final = {"white": "White", "clear": "Clear"}
"""Layers that need an ink of their own."""


@dataclass(frozen=True, slots=True)
class Readings:
    """The shop folder and what could be read of it, by file name relative to it."""

    folder: Path
    documents: Mapping[str, Document]

    def valid(
        self, file: str, pattern: KeyPath, model: type[Model]
    ) -> Iterator[tuple[Document, KeyPath, Model]]:
        """The entries at a pattern that fit their model by themselves."""
        for document in self.documents_of(file):
            for path, value in document.find(pattern):
                entry = _fitting(model, value)
                if entry is not None:
                    yield document, path, entry

    def documents_of(self, file: str) -> list[Document]:
        """The file, or all files of a folder, as far as they could be read."""
        return [
            document
            for name, document in self.documents.items()
            if name == file or name.startswith(f"{file}/")
        ]

    def print_modes(self) -> Iterator[tuple[Document, KeyPath, PrintMode]]:
        """The print modes."""
        return self.valid(PRINT_MODES_FILE, ("print_modes", EACH), PrintMode)

    def presses(self) -> Iterator[tuple[Document, KeyPath, Press]]:
        """The presses."""
        return self.valid(PRESSES_FILE, ("presses", EACH), Press)

    def sources(self) -> Iterator[tuple[Document, KeyPath, Source]]:
        """The sources."""
        return self.valid(SETTINGS_FILE, ("sources", EACH), Source)

    def lanes(self) -> Iterator[tuple[Document, KeyPath, Lane]]:
        """The lanes of all presses."""
        return self.valid(PRESSES_FILE, ("presses", EACH, "lanes", EACH), Lane)


def cross_checks(readings: Readings) -> list[Finding]:
    """Everything that the checks of this module find, check by check."""
    return [finding for check in CHECKS for finding in check(readings)]


def time_zone_known(readings: Readings) -> Iterator[Finding]:
    """The shop's time zone is one that this machine knows; UTC needs no data."""
    for document, path, name in _texts(readings, SETTINGS_FILE, ("time_zone",)):
        known = available_timezones() | {"UTC"}
        if name not in known:
            advice = hint(name, known, "Write it as area and city, such as Europe/Lisbon, or UTC.")
            yield Finding("config.time-zone", document.place(path), {"name": quoted(name), "hint": advice})


def versions_written(readings: Readings) -> Iterator[Finding]:
    """JMF is written only in versions that the bridge can write."""
    for document, path, source in readings.sources():
        if source.jdf_version not in WRITABLE_VERSIONS:
            facts = {
                "found": quoted(source.jdf_version),
                "allowed": "one of " + listed(f'"{version}"' for version in WRITABLE_VERSIONS),
                "hint": hint(source.jdf_version, WRITABLE_VERSIONS, "Correct the value."),
            }
            yield Finding("config.value", document.place((*path, "jdf_version")), facts)


def folders_apart(readings: Readings) -> Iterator[Finding]:
    """No hot folder or lane folder lies in another one, in the bridge's own folders, or around the shop."""
    taken = [
        (readings.folder / MAPPINGS_FOLDER, "the mappings"),
        (readings.folder / STATE_FOLDER, "the bridge's own store"),
    ]
    for place, text in _folders(readings):
        folder = Path(os.path.normpath(readings.folder / text))
        facts = {"folder": quoted(text)}
        if readings.folder.is_relative_to(folder):
            yield Finding(
                "config.folders-overlap", place, {**facts, "other": "the shop folder with its files"}
            )
            continue
        for other, whose in taken:
            if folder.is_relative_to(other) or other.is_relative_to(folder):
                yield Finding("config.folders-overlap", place, {**facts, "other": whose})
                break
        else:
            taken.append((folder, f"{place.path}, line {place.line}"))


def lanes_apart(readings: Readings) -> Iterator[Finding]:
    """The lanes of one press lie beside each other on the beam, or one wholly across others, for a wide roll."""
    for document, path, press in readings.presses():
        numbered = sorted(enumerate(press.lanes), key=lambda lane: (lane[1].left_mm, -lane[1].right_mm))
        for (_, left), (index, right) in combinations(numbered, 2):
            across = right.right_mm <= left.right_mm and right.width_mm < left.width_mm
            if right.left_mm < left.right_mm and not across:
                facts: dict[str, type_of_fact] = {
                    "lane": right.id,
                    "left_mm": right.left_mm,
                    "other": left.id,
                    "other_right_mm": left.right_mm,
                }
                yield Finding(
                    "config.lanes-overlap", document.place((*path, "lanes", index, "left_mm")), facts
                )


def underlay_lanes_known(readings: Readings) -> Iterator[Finding]:
    """The underlay serves lanes that the press has."""
    for document, path, press in readings.presses():
        known = [lane.id for lane in press.lanes]
        for index, name in enumerate(press.underlay.lanes):
            if name not in known:
                facts = {"kind": "lane", "name": quoted(name), "home": f"the lanes of press {press.id}"}
                advice = {
                    "known": listed(known),
                    "hint": hint(name, known, "Name one of the press's own lanes."),
                }
                yield Finding(
                    "config.reference-unknown",
                    document.place((*path, "underlay", "lanes", index)),
                    facts | advice,
                )


def rolls_fit(readings: Readings) -> Iterator[Finding]:
    """A loaded roll is no wider than its lane."""
    for document, path, lane in readings.lanes():
        if lane.roll and lane.roll.width_mm > lane.width_mm:
            facts: dict[str, type_of_fact] = {
                "roll_width_mm": lane.roll.width_mm,
                "lane": lane.id,
                "lane_width_mm": lane.width_mm,
            }
            yield Finding("config.roll-too-wide", document.place((*path, "roll", "width_mm")), facts)


def channels_fitted(readings: Readings) -> Iterator[Finding]:
    """A print mode lays down inks that some press has."""
    fitted = [name for _, _, name in _texts(readings, PRESSES_FILE, ("presses", EACH, "channels", EACH))]
    if not fitted:
        return
    known = tuple(dict.fromkeys((*USUAL_CHANNELS, *fitted)))
    for document, path, mode in readings.print_modes():
        for channel in mode.laydown_ml_m2:
            place = document.place((*path, "laydown_ml_m2", channel), of_key=True)
            facts = {"channel": quoted(channel), "known": listed(known)}
            if channel not in known:
                advice = hint(channel, known, "Correct the name, or add it to the channels of a press.")
                yield Finding("config.channel-unknown", place, {**facts, "hint": advice})
            elif channel not in fitted:
                yield Finding("config.channel-not-fitted", place, facts)


def inks_complete(readings: Readings) -> Iterator[Finding]:
    """Coverage is given only for inks with a laydown, and every layer has its ink."""
    for document, path, mode in readings.print_modes():
        for channel in mode.typical_coverage_percent:
            if channel not in mode.laydown_ml_m2:
                place = document.place((*path, "typical_coverage_percent", channel), of_key=True)
                advice = hint(channel, mode.laydown_ml_m2, "Add its laydown, or remove its coverage.")
                yield Finding(
                    "config.coverage-without-laydown", place, {"channel": quoted(channel), "hint": advice}
                )
        for index, stack in enumerate(mode.layer_stacks):
            for channel in (CHANNEL_OF_LAYER[layer] for layer in stack.layers if layer in CHANNEL_OF_LAYER):
                if channel not in mode.laydown_ml_m2:
                    place = document.place((*path, "layer_stacks", index))
                    yield Finding(
                        "config.stack-without-ink", place, {"stack": stack.value, "channel": channel}
                    )


def ranges_rise(readings: Readings) -> Iterator[Finding]:
    """A range begins with its lower end."""
    for document, path, row in readings.valid(MAPPINGS_FOLDER, ("substrates", EACH), SubstrateRow):
        for name in ("thickness_um", "weight_g_m2"):
            ends = getattr(row, name)
            if ends and ends[0] > ends[1]:
                facts = {"low": ends[0], "high": ends[1]}
                yield Finding("config.range-reversed", document.place((*path, name)), facts)
    for document, path, press in readings.presses():
        if press.thickness_um.min > press.thickness_um.max:
            facts = {"low": press.thickness_um.min, "high": press.thickness_um.max}
            yield Finding("config.range-reversed", document.place((*path, "thickness_um")), facts)


def rows_can_be_met(readings: Readings) -> Iterator[Finding]:
    """A row of a print mode table asks for what its substrate and its mode allow."""
    substrates = {
        entry.id: entry for _, _, entry in readings.valid(SUBSTRATES_FILE, ("substrates", EACH), Substrate)
    }
    modes = {entry.id: entry for _, _, entry in readings.print_modes()}
    for document, path, row in readings.valid(MAPPINGS_FOLDER, ("print_modes", EACH), PrintModeRow):
        substrate, mode = substrates.get(row.substrate or ""), modes.get(row.print_mode)
        place = document.place((*path, "print_mode"))
        if substrate and mode and mode.id not in substrate.print_modes:
            facts = {
                "print_mode": mode.id,
                "substrate": substrate.id,
                "allowed": listed(substrate.print_modes),
            }
            yield Finding("config.mode-not-allowed", place, facts)
        if mode and row.layer_stack and row.layer_stack not in mode.layer_stacks:
            facts = {
                "print_mode": mode.id,
                "stack": row.layer_stack.value,
                "allowed": listed(f'"{stack.value}"' for stack in mode.layer_stacks),
            }
            yield Finding("config.stack-not-in-mode", place, facts)


CHECKS: Final[tuple[Callable[[Readings], Iterator[Finding]], ...]] = (
    time_zone_known,
    versions_written,
    folders_apart,
    lanes_apart,
    underlay_lanes_known,
    rolls_fit,
    channels_fitted,
    inks_complete,
    ranges_rise,
    rows_can_be_met,
)


def _fitting(model: type[Model], value: object) -> Model | None:
    try:
        return model.model_validate(value)
    except ValidationError:
        return None


def _texts(readings: Readings, file: str, pattern: KeyPath) -> Iterator[tuple[Document, KeyPath, str]]:
    for document in readings.documents_of(file):
        for path, value in document.find(pattern):
            if isinstance(value, str):
                yield document, path, value


def _folders(readings: Readings) -> Iterator[tuple[Place, str]]:
    """Every folder that tickets pass through, with the place that names it."""
    for file, pattern in (
        (SETTINGS_FILE, ("sources", EACH, "folder")),
        (PRESSES_FILE, ("presses", EACH, "lanes", EACH, "folder")),
    ):
        for document, path, text in _texts(readings, file, pattern):
            yield document.place(path), text
