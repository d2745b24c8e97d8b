"""Answers to what people ask about rolls."""

from typing import Final

from ticketbridge.model.finding import Code, Severity


def _done(
    code: str, sentence: str, remedy: str = "Nothing more is to do; `ticketbridge rolls` shows it."
) -> Code:
    return Code(code, Severity.INFORMATION, sentence, remedy, 0)


def _refused(code: str, sentence: str, remedy: str, return_code: int = 6) -> Code:
    return Code(code, Severity.ERROR, sentence, remedy, return_code)


_DONE: Final = (
    _done(
        "rolls.received",
        "Roll {number} of lot {lot}, {substrate}, {width_mm} mm wide, {length_m} m, is on the shelf.",
        "Put its label on: `ticketbridge rolls label {lot}`.",
    ),
    _done("rolls.loaded", "Roll {number} of lot {lot} is on {device_id}, {length_m} m by account."),
    _done("rolls.unloaded", "Roll {number} of lot {lot} is off {device_id}: {place}."),
    _done(
        "rolls.measured",
        "Roll {number} of lot {lot}: {diameter_mm} mm across are {measured_m} m; the account says {account_m} m.",
    ),
    _done("rolls.account-taken", "The account of roll {number} of lot {lot} is {measured_m} m now."),
    _done(
        "rolls.flaw-noted",
        "Noted on roll {number} of lot {lot}: {what}, {at_m} m from the outer end, {length_mm} mm long.",
    ),
    _done("rolls.asked-before", "This was asked and done before; nothing was changed."),
)

_DOUBTS: Final = (
    Code(
        "rolls.account-differs",
        Severity.WARNING,
        "Roll {number} of lot {lot} has {measured_m} m by its diameter of {diameter_mm} mm and {account_m} m by "
        "account: they differ by {difference_percent} %, more than {allowed_percent} %.",
        "Measure again, and see that thickness and core in the catalogue are right. Then decide: "
        "`ticketbridge rolls measure {lot} --diameter-mm {diameter_mm} --take-measured`.",
    ),
    Code(
        "rolls.width-unusual",
        Severity.WARNING,
        "{substrate} is bought in widths of {widths_mm} mm, not {width_mm} mm.",
        "See that the width is right; if so, add it to widths_mm in substrates.yaml.",
    ),
)

_REFUSED: Final = (
    _refused(
        "rolls.substrate-unknown",
        "The catalogue has no substrate {substrate}.",
        "Use an id from substrates.yaml, or add the substrate there and restart the bridge.",
        105,
    ),
    _refused(
        "rolls.lane-unknown",
        "There is no lane {device_id}; there are {known}.",
        "Name the lane by its device_id.",
        105,
    ),
    _refused("rolls.unknown", "There is no roll of lot {lot}.", "`ticketbridge rolls` lists them.", 105),
    _refused(
        "rolls.which",
        "Lot {lot} has several rolls: numbers {numbers}.",
        "Say which, with --number.",
    ),
    _refused(
        "rolls.gone",
        "Roll {number} of lot {lot} is gone: it was used up or given away.",
        "If it is there after all, receive it anew with the length that is left.",
    ),
    _refused(
        "rolls.lane-taken",
        "Roll {loaded} is on {device_id}.",
        "Take it off first, or change it: `ticketbridge rolls change {lot} --lane {device_id}`.",
    ),
    _refused(
        "rolls.lane-empty",
        "No roll is on {device_id}.",
        "Load one: `ticketbridge rolls load LOT --lane {device_id}`.",
    ),
    _refused(
        "rolls.elsewhere",
        "Roll {number} of lot {lot} is on {place}.",
        "Take it off there first: `ticketbridge rolls unload --lane {place}`.",
    ),
    _refused(
        "rolls.too-wide",
        "A roll of {width_mm} mm cannot lie in {device_id}, which is {lane_mm} mm wide.",
        "Load it on a wider lane.",
    ),
    _refused(
        "rolls.diameter-below-core",
        "{diameter_mm} mm is no more than the core of {core_mm} mm.",
        "Measure the outer diameter; a core that is empty comes off: `ticketbridge rolls unload --lane LANE --gone`.",
    ),
    _refused(
        "rolls.flaw-beyond",
        "{at_m} m from the outer end is beyond the {length_m} m that are on the roll.",
        "Measure from the outer end of the roll as it is now.",
    ),
    _refused(
        "rolls.value-unfit",
        "{name} cannot be {value}.",
        "Give a finite number above 0; lengths are metres or millimetres as the option's name says.",
    ),
)

CODES: Final[tuple[Code, ...]] = _DONE + _DOUBTS + _REFUSED
