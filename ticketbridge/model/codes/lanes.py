"""Findings of the area ``lanes``: what the rules of a lane answer, and why there is no layout."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

NOTHING_TO_DO: Final = "Nothing to do."
_CANNOT_PRINT: Final = 101
"""JMF ReturnCode: the device cannot do this."""


def _good(code: str, sentence: str) -> Code:
    return Code(code, Severity.INFORMATION, sentence, NOTHING_TO_DO)


def _change(code: str, sentence: str, remedy: str) -> Code:
    return Code(code, Severity.INFORMATION, sentence, remedy)


def _wait(code: str, sentence: str, remedy: str) -> Code:
    return Code(code, Severity.WARNING, sentence, remedy)


def _never(code: str, sentence: str, remedy: str) -> Code:
    return Code(code, Severity.ERROR, sentence, remedy, _CANNOT_PRINT)


_MATERIAL: Final = (
    _good("lanes.substrate-ok", "{substrate} is in the catalogue and allowed in print mode {mode}."),
    _wait(
        "lanes.substrate-unknown",
        "The catalogue has no substrate {substrate}.",
        "Add it to the catalogue, or correct the mapping.",
    ),
    _wait(
        "lanes.substrate-needed",
        "Cannot be judged ({rule}) before the catalogue has the substrate {substrate}.",
        "Add the substrate to the catalogue.",
    ),
    _wait(
        "lanes.mode-unknown",
        "The catalogue has no print mode {mode}.",
        "Add the print mode, or correct the mapping.",
    ),
    _never(
        "lanes.mode-not-allowed",
        "Print mode {mode} is not allowed on {substrate}.",
        "Map the order to another print mode, or allow this one on the substrate.",
    ),
    _good("lanes.roll-fed-ok", "{substrate} comes on a roll."),
    _never(
        "lanes.rigid",
        "{substrate} is rigid board, and the press takes rolls only.",
        "Print it on a flatbed press, or choose a flexible substrate.",
    ),
    _good(
        "lanes.thickness-ok",
        "{thickness_um} µm passes under the carriage, which takes {least_um} to {most_um} µm.",
    ),
    _never(
        "lanes.thickness-out",
        "{thickness_um} µm does not pass under the carriage, which takes {least_um} to {most_um} µm.",
        "Use another press or another substrate.",
    ),
    _good("lanes.layers-ok", "The press prints {layers}."),
    _never(
        "lanes.channel-not-fitted",
        "The order needs {channel}, and {press} has no such channel.",
        "Use a press with {channel}, or order it without.",
    ),
    _never(
        "lanes.stack-not-offered",
        "Print mode {mode} does not offer the layers {layers}.",
        "Map the order to a print mode that offers them.",
    ),
    _wait(
        "lanes.without-white",
        "{substrate} is printed without white, so what lies behind it shows through the colour.",
        "Ask the customer whether that is meant.",
    ),
    _never(
        "lanes.white-required",
        "{substrate} without white is refused on this press.",
        "Order it with white, or let the press take it by refuse_without_white: false.",
    ),
    _good("lanes.ink-ok", "Enough is left of {channels}."),
    _good("lanes.ink-unknown", "No account of ink is kept for this press."),
    _wait(
        "lanes.ink-short",
        "Not until {press} gets more {channel}: about {needed_ml} ml are needed, {left_ml} ml are left.",
        "Change the ink, then correct ink_left_ml of the press.",
    ),
    _good("lanes.underlay-not-needed", "{substrate} holds the ink; no underlay is needed."),
    _good("lanes.underlay-ok", "{substrate} lets ink through; the underlay is in place on lane {lane}."),
    _change(
        "lanes.underlay-change",
        "{substrate} lets ink through; the underlay must be put in for lane {lane} first ({minutes} min).",
        "Put the underlay in.",
    ),
    _never(
        "lanes.underlay-not-fitted",
        "{substrate} lets ink through, and {press} has no ink-catching underlay.",
        "Use a press with an underlay, or the substrate with a liner.",
    ),
    _never(
        "lanes.underlay-not-here",
        "{substrate} lets ink through, and the underlay cannot serve lane {lane}.",
        "Use a lane that the underlay serves.",
    ),
)

_SPACE: Final = (
    _good(
        "lanes.width-ok",
        "{image_mm} mm of image, {across} across, in {usable_mm} mm of usable width on a roll of {roll_mm} mm.",
    ),
    _good(
        "lanes.width-turned",
        "Turned by 90 degrees: {image_mm} mm of image, {across} across, in {usable_mm} mm of usable width on a "
        "roll of {roll_mm} mm.",
    ),
    _good(
        "lanes.width-panels",
        "Too wide to print whole: {panels} panels of {panel_mm} mm, overlapping by {overlap_mm} mm, in "
        "{usable_mm} mm of usable width.",
    ),
    _never(
        "lanes.too-wide",
        "{width_mm} x {height_mm} mm fits neither way in {usable_mm} mm of usable width, and panels are forbidden.",
        "Use a wider lane or roll, or allow panels.",
    ),
    _never(
        "lanes.too-wide-upright",
        "{width_mm} mm is wider than {usable_mm} mm of usable width; {height_mm} mm would fit, but the piece may "
        "not be turned, and panels are forbidden.",
        "Allow the piece to be turned or to be printed in panels, or use a wider lane or roll.",
    ),
    _never(
        "lanes.too-large",
        "A piece of {width_mm} x {height_mm} mm is larger than any roll; sides may be up to {most_mm} mm.",
        "Correct the size; a wrong unit or a lost decimal point is likely.",
    ),
    _never(
        "lanes.overlap-too-wide",
        "Panels that overlap by {overlap_mm} mm leave nothing of {usable_mm} mm of usable width.",
        "Make the overlap smaller, or use a wider lane or roll.",
    ),
    _never(
        "lanes.no-place-for-seams",
        "Panels of at most {usable_mm} mm, overlapping by {overlap_mm} mm, have seams in what shall be free of them.",
        "Make the zones that seams keep out of narrower, or use a wider lane or roll.",
    ),
    _never(
        "lanes.too-many-placements",
        "{count} pieces and panels are more than the {most} that one job may have.",
        "Split the order.",
    ),
    _wait(
        "lanes.no-width-for-lane",
        "{substrate} is bought from {narrowest_mm} mm on, and the lane takes {lane_mm} mm.",
        "Use a wider lane, or add a narrower roll to the catalogue.",
    ),
    _good("lanes.length-ok", "{needed_m} m of {left_m} m on the loaded roll {lot} of {substrate}."),
    _change(
        "lanes.roll-load",
        "The lane is empty: load roll {lot} of {substrate}, {width_mm} mm wide, from {where} ({minutes} min); "
        "it has {left_m} m, {needed_m} m are needed.",
        "Load roll {lot}.",
    ),
    _change(
        "lanes.roll-change",
        "{loaded} is loaded: change to roll {lot} of {substrate}, {width_mm} mm wide, from {where} ({minutes} min); "
        "it has {left_m} m, {needed_m} m are needed.",
        "Change to roll {lot}.",
    ),
    _change(
        "lanes.roll-unsuited",
        "The loaded roll {loaded_lot} of {substrate} ({loaded_width_mm} mm, {loaded_m} m left) does not serve: change "
        "to roll {lot}, {width_mm} mm wide, from {where} ({minutes} min); it has {left_m} m, {needed_m} m are needed.",
        "Change to roll {lot}.",
    ),
    _wait(
        "lanes.roll-missing",
        "Not until there is a roll of {substrate}, {width_mm} mm wide, with {needed_m} m.",
        "Order or book in the roll.",
    ),
    _wait(
        "lanes.length-short",
        "Not until there is a roll of {substrate} with {needed_m} m; the longest that suits, {lot}, has {left_m} m.",
        "Order or book in a longer roll, or split the quantity.",
    ),
    _wait(
        "lanes.length-beyond-a-roll",
        "{needed_m} m are needed, and a full roll of {substrate} has {bought_m} m; the longest there, {lot}, has "
        "{left_m} m.",
        "Split the quantity over several orders.",
    ),
    _wait(
        "lanes.layout-needed",
        "Cannot be judged ({rule}) before there is a layout and a print mode.",
        "See what the other rules say.",
    ),
    _wait(
        "lanes.roll-heavy",
        "Roll {lot} of {substrate} weighs {weight_kg} kg, more than the {limit_kg} kg one person should lift; "
        "that is {lifting_index} times what the revised NIOSH lifting equation allows in its best posture.",
        "Lift it with a roll lifter, or with enough trained people; your local code and the people trained on "
        "it decide how.",
    ),
)

_NEIGHBOURS: Final = (
    _good("lanes.beside-nothing-ok", "Nothing prints beside it."),
    _good("lanes.beside-ok", "It can print side by side with what runs on {others}."),
    _wait(
        "lanes.beside-overlap",
        "Not until {other}, which shares this lane's width, has finished its job.",
        "Wait, or use another lane.",
    ),
    _change(
        "lanes.beside-roll-off",
        "What is loaded on {others} lies across this lane and must come off first ({minutes} min).",
        "Take the roll off.",
    ),
    _wait(
        "lanes.beside-mode",
        "Not until {other} has finished: it prints in mode {other_mode}, this is mode {mode}.",
        "Wait, or use another press.",
    ),
    _wait(
        "lanes.beside-layers",
        "Not until {other} has finished: it prints {other_layers}, this is {layers}.",
        "Wait, or use another press.",
    ),
    _wait(
        "lanes.beside-thickness",
        "Not until {other} has finished: the substrates differ by {difference_um} µm, {tolerance_um} µm are allowed.",
        "Wait, or use another press.",
    ),
    _wait(
        "lanes.beside-underlay",
        "Not until {other} has finished: one of the two needs the underlay, the other does not.",
        "Wait, or use another press.",
    ),
    _wait(
        "lanes.beside-width",
        "Not until {other} has finished: both rolls and the gap need {needed_mm} mm, the lanes have {room_mm} mm.",
        "Wait, or load a narrower roll.",
    ),
    _wait(
        "lanes.beside-unknown",
        "Not until {other} has finished: the thickness of {substrate} is not in the catalogue.",
        "Add the substrate to the catalogue, or wait.",
    ),
    _good("lanes.shaft-separate-ok", "Every roll turns on a shaft of its own."),
    _good(
        "lanes.shaft-ok",
        "Rolls on the common shaft differ by {difference_mm} mm in diameter, {tolerance_mm} mm are allowed.",
    ),
    _wait(
        "lanes.shaft-unknown",
        "The diameter of roll {lot} on {other} is not known, as the catalogue lacks its substrate; both turn on one "
        "shaft.",
        "Compare the diameters by hand, and add the substrate to the catalogue.",
    ),
    _wait(
        "lanes.shaft-running",
        "Not until {other} has finished: on the common shaft this roll is {diameter_mm} mm, that one "
        "{other_diameter_mm} mm; {tolerance_mm} mm of difference are allowed.",
        "Wait, or load a roll of like diameter.",
    ),
    _change(
        "lanes.shaft-roll-off",
        "On the common shaft this roll is {diameter_mm} mm, the one on {other} {other_diameter_mm} mm, and "
        "{tolerance_mm} mm of difference are allowed: that one must come off ({minutes} min).",
        "Take the roll on {other} off.",
    ),
)

_TIME_AND_PEOPLE: Final = (
    _good("lanes.mode-idle-ok", "Nothing runs on the lane; mode {mode} is set with the job."),
    _good("lanes.mode-ok", "The lane prints in mode {mode}, {layers}, already."),
    _change(
        "lanes.mode-change",
        "The lane prints in mode {running}, {running_layers}; changing to {mode}, {layers}, takes {minutes} min.",
        "Nothing to do before the running job has ended.",
    ),
    _good("lanes.due-open-ok", "No time is set for it."),
    _good(
        "lanes.due-ok",
        "Finished in {finished_in_minutes}, {spare_minutes} before it is due ({due}).",
    ),
    _wait(
        "lanes.due-late",
        "Not finished before {finished_in_minutes} have passed, {late_minutes} after it is due ({due}).",
        "Raise its priority, use another lane, or tell the customer.",
    ),
    _good("lanes.crew-ok", "Someone trained on {press} is on shift; {trained} people are trained on it."),
    _good("lanes.crew-unknown", "Who is on shift is not known; {trained} people are trained on {press}."),
    _wait(
        "lanes.crew-thin",
        "Someone trained on {press} is on shift, but {trained} person in all is trained on it: an absence stops it.",
        "Train a second person, and add them to the crew of the press in presses.yaml.",
    ),
    _wait(
        "lanes.crew-absent",
        "Nobody on shift is trained on {press}; {trained} people are trained on it.",
        "Call one of them in before the job starts; where one is there, correct shifts in shop.yaml.",
    ),
)

CODES: Final[tuple[Code, ...]] = _MATERIAL + _SPACE + _NEIGHBOURS + _TIME_AND_PEOPLE
"""Codes that end in ``-ok`` are good news; every rule has one, so that good answers can be shown too."""
