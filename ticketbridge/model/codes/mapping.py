"""Findings of the area ``mapping``: what keeps a ticket from becoming an order, or makes one doubtful."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

_CANNOT_PRINT: Final = 101
"""JMF ReturnCode: the device cannot do this."""
_WRONG: Final = 200
"""JMF ReturnCode: wrong resource parameters."""
_MISSING: Final = 201
"""JMF ReturnCode: resource parameters missing."""

_VALUES: Final = (
    Code(
        "mapping.value-missing",
        Severity.ERROR,
        "The ticket does not say {field}.",
        "Give it in {where}.",
        _MISSING,
    ),
    Code(
        "mapping.value-unfit",
        Severity.ERROR,
        'The ticket\'s {field} is "{said}", which cannot be used: {reason}.',
        "Correct the value in the ticket.",
        _WRONG,
    ),
    Code(
        "mapping.part-twice",
        Severity.ERROR,
        'Two items of the ticket have the JobPartID "{part}", so no message could name one of them.',
        "Give every item a JobPartID of its own.",
        _WRONG,
    ),
    Code(
        "mapping.two-sided",
        Severity.ERROR,
        "The ticket asks for two sides ({said}); a roll press prints one side in one pass.",
        "Order the second side as an item of its own, or use another press.",
        _CANNOT_PRINT,
    ),
    Code(
        "mapping.unprinted",
        Severity.ERROR,
        "The ticket says that nothing is printed ({said}).",
        "Take the item off the press, or correct LayoutIntent@Sides.",
        _WRONG,
    ),
)

_SUBSTRATES: Final = (
    Code(
        "mapping.substrate-unknown",
        Severity.ERROR,
        "No row of the substrate table fits the ticket, which says {said}. The nearest is row {row} "
        "({substrate}); not met there: {missed}.",
        "Add a row to the mapping's substrates, or correct the ticket.",
        _WRONG,
    ),
    Code(
        "mapping.substrate-table-empty",
        Severity.ERROR,
        "The mapping has no substrate table, and no substrate of the catalogue has the name that the ticket gives. "
        "It says {said}.",
        "Write the mapping's substrates, or let the MIS send the substrate's id as StockBrand or StockType.",
        _WRONG,
    ),
    Code(
        "mapping.no-roll",
        Severity.ERROR,
        "Nothing in the ticket says that a roll is meant, and a Media without MediaUnit is a sheet by the standard.",
        "Let the sender write MediaUnit Roll or PrintingType WebFed, or the id of a substrate as the Media's ProductID.",
        _CANNOT_PRINT,
    ),
    Code(
        "mapping.roll-width-differs",
        Severity.WARNING,
        "The ticket's roll is {said} mm wide, and {substrate} comes in {widths} mm.",
        "See that the right substrate is meant and that the sender counts in points; the lane's own roll decides.",
    ),
    Code(
        "mapping.thickness-differs",
        Severity.WARNING,
        "The ticket accepts {low} to {high} µm, and {substrate} is {actual} µm thick.",
        "See that the right substrate is meant; correct the mapping or the ticket.",
    ),
    Code(
        "mapping.weight-differs",
        Severity.WARNING,
        "The ticket accepts {low} to {high} g/m2, and {substrate} weighs {actual} g/m2.",
        "See that the right substrate is meant; correct the mapping or the ticket.",
    ),
)

_PRINT: Final = (
    Code(
        "mapping.layers-unknown",
        Severity.ERROR,
        'The ticket asks for the layers "{said}"; known are {known}.',
        "Write one of these, first printed first.",
        _WRONG,
    ),
    Code(
        "mapping.layers-both",
        Severity.ERROR,
        "The ticket asks for white ({white}) and for clear ({clear}), and no known layer stack has both.",
        "Order one of the two.",
        _CANNOT_PRINT,
    ),
    Code(
        "mapping.print-mode-unknown",
        Severity.ERROR,
        "No row of the print mode table fits {substrate} ({family}), print preference {preference}, layers {layers}.",
        "Add a row to the mapping's print_modes; one without conditions takes what is left.",
        _WRONG,
    ),
    Code(
        "mapping.print-mode-name-unknown",
        Severity.WARNING,
        'The ticket names the print mode "{said}", which no mode of the shop has as its id or named_feature; the table '
        "decides.",
        "Let the sender write the id of a print mode, or give a mode that named_feature.",
    ),
    Code(
        "mapping.mirror-not-served",
        Severity.ERROR,
        "The ticket wants the image mirrored, and the layers {layers} are not printed mirrored.",
        "Ask for colour first and white on it, or send the artwork mirrored and leave MirrorAround out.",
        _CANNOT_PRINT,
    ),
    Code(
        "mapping.print-mode-not-allowed",
        Severity.ERROR,
        "The print mode {mode} ({entry}) is not allowed on {substrate}; allowed are {allowed}.",
        "Correct the row or the ticket, or allow the mode on the substrate.",
        _WRONG,
    ),
    Code(
        "mapping.layers-not-offered",
        Severity.ERROR,
        "The print mode {mode} ({entry}) does not offer the layers {layers}; it offers {offered}.",
        "Give the layers a row of their own in the mapping's print_modes, or let the mode offer them.",
        _WRONG,
    ),
)

CODES: Final[tuple[Code, ...]] = _VALUES + _SUBSTRATES + _PRINT
