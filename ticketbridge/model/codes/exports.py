"""Findings about files of an MIS that a mapping reads, whatever kind they are."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

_NOT_READ: Final = 3
"""JMF ReturnCode: it cannot be parsed."""
_WRONG: Final = 200
"""JMF ReturnCode: wrong resource parameters."""
_MISSING: Final = 201
"""JMF ReturnCode: resource parameters missing."""

_FILES: Final = (
    Code(
        "export.not-read",
        Severity.ERROR,
        "The mapping of this source does not read {kind} files.",
        "Drop it where such files are read, or give the mapping a block reads with kind: {kind}.",
        _NOT_READ,
    ),
    Code(
        "export.too-large",
        Severity.ERROR,
        "The file has more than {limit} bytes.",
        "Split it into several files, or raise the limit in shop.yaml.",
        _NOT_READ,
    ),
    Code(
        "export.too-long",
        Severity.ERROR,
        "Reading the file was ended after {limit}, at {doing}.",
        "Correct that row of the mapping: an expression or a pattern in it may never end on such a file.",
        _NOT_READ,
    ),
    Code(
        "export.not-json",
        Severity.ERROR,
        "The file is no JSON that can be relied on: {reason}.",
        "Let the sender write it anew, as UTF-8.",
        _NOT_READ,
    ),
    Code(
        "export.expression",
        Severity.ERROR,
        'The place "{at}" cannot be read in this file: {reason}.',
        "Correct the place in the mapping; see what stands where with: ticketbridge mapping try FILE",
        _NOT_READ,
    ),
    Code(
        "export.no-orders",
        Severity.ERROR,
        'There is no order at "{at}" in the file.',
        "Correct reads.orders of the mapping, or let the sender put orders there.",
        _MISSING,
    ),
    Code(
        "xlsx.too-large",
        Severity.ERROR,
        "The workbook has more than {limit} {what}; at most so many are read.",
        "Split it into several files, or raise the limit in shop.yaml.",
        _NOT_READ,
    ),
    Code(
        "xlsx.damaged",
        Severity.ERROR,
        "The file is no workbook that can be read: {reason}.",
        "Save it anew as .xlsx, without a password.",
        _NOT_READ,
    ),
    Code(
        "xlsx.sheet-missing",
        Severity.ERROR,
        "The workbook has no sheet {sheet}; it has {found}.",
        "Name the sheet so, or correct reads.sheet of the mapping.",
        _NOT_READ,
    ),
    Code(
        "xlsx.empty",
        Severity.ERROR,
        "The sheet {sheet} has no order lines from line {line} on.",
        "Send it again with its lines; where the headings stand is said by reads.heading_line and reads.heading_lines.",
        _NOT_READ,
    ),
    Code(
        "xlsx.heading-missing",
        Severity.ERROR,
        'No column has the heading "{heading}". The sheet\'s headings are: {found}.',
        "Give the column that heading, or correct reads.fields, reads.heading_line or reads.heading_lines.",
        _NOT_READ,
    ),
    Code(
        "xlsx.heading-twice",
        Severity.ERROR,
        'Two columns have the heading "{heading}", so it is not certain which one is meant.',
        "Give each its own heading.",
        _NOT_READ,
    ),
)

_VALUES: Final = (
    Code(
        "export.no-order",
        Severity.ERROR,
        'This names no order: nothing stands at "{at}".',
        "Give it the number of its order, or correct the row for job_id in the mapping.",
        _MISSING,
    ),
    Code(
        "export.lines-disagree",
        Severity.ERROR,
        'One order says two things: "{found}" here, "{before}" at {line}.',
        "Make them agree, or give the second one an order number of its own.",
        _WRONG,
    ),
    Code(
        "export.value",
        Severity.ERROR,
        'For {field} the file says "{found}", but it must be {allowed}.',
        "Correct the file, or what the row of the mapping says about unit, decimal sign, date or table.",
        _WRONG,
    ),
    Code(
        "export.several",
        Severity.ERROR,
        'The place "{heading}" leads to {count} values for {field}, and one is wanted; the first is "{found}".',
        "Make the place in the mapping more particular.",
        _WRONG,
    ),
    Code(
        "export.missing",
        Severity.ERROR,
        "The file gives no {field}, and the mapping requires it.",
        "Give it in {at}.",
        _MISSING,
    ),
    Code(
        "export.no-row",
        Severity.ERROR,
        'The table {table} ({file}) has no row for "{found}", which would be the {field}.',
        "Add a row to the table. All values without a row are listed by: ticketbridge mapping coverage FOLDER",
        _WRONG,
    ),
)

CODES: Final[tuple[Code, ...]] = _FILES + _VALUES
