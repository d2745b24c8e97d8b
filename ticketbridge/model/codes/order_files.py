"""Findings about files that hold order lines or artwork alone."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

_LINES: Final = (
    Code(
        "csv.too-large",
        Severity.ERROR,
        "The file has more than {limit} {what}; at most so many are read.",
        "Split it into several files, or raise the limit in shop.yaml.",
        3,
    ),
    Code(
        "csv.encoding",
        Severity.ERROR,
        "The file is not {encoding}: {reason}.",
        "Let the sender write it as {encoding}, or change reads.encoding of the mapping.",
        3,
    ),
    Code(
        "csv.nul",
        Severity.ERROR,
        "A zero byte stands in the file, which no text has.",
        "Let the sender write it as {encoding}; a file in UTF-16 must be saved anew.",
        3,
    ),
    Code(
        "csv.empty",
        Severity.ERROR,
        "The file has no order lines.",
        "Send it again with its lines; the first line holds the headings.",
        3,
    ),
    Code(
        "csv.separator",
        Severity.ERROR,
        "The file says that {found} separates its cells, but this source uses the {separator}.",
        "Let the sender write it with the {separator}, or change reads.separator of the mapping.",
        3,
    ),
    Code(
        "csv.heading-missing",
        Severity.ERROR,
        'No column has the heading "{heading}". The file\'s headings are: {found}.',
        "Give the column that heading, or correct reads.fields of the mapping; where all headings run together, "
        "reads.separator is another one.",
        3,
    ),
    Code(
        "csv.heading-twice",
        Severity.ERROR,
        'Two columns have the heading "{heading}", so it is not certain which one is meant.',
        "Give each its own heading.",
        3,
    ),
    Code(
        "csv.heading-again",
        Severity.ERROR,
        "The headings stand here once more, so this line is no order.",
        "Take the line out; where two files were put together, send them one by one.",
        3,
    ),
    Code(
        "csv.quotes",
        Severity.ERROR,
        "The quotes do not fit here: {reason}. Where lines begin and end after that is not certain, so nothing "
        "of the file was taken.",
        'Let the sender put such a cell into quotes and double the quotes in it: "24"" banner".',
        3,
    ),
    Code(
        "csv.ragged",
        Severity.ERROR,
        "This line has {found} cells, but the headings are {wanted}.",
        "Look for a separator inside a cell without quotes, or a missing one.",
        3,
    ),
    Code(
        "csv.ragged-unnamed",
        Severity.ERROR,
        "This line has {found} cells, but the headings are {wanted}: it is not certain which order it belongs to, "
        "so nothing of the file was taken.",
        "Correct the line. With the order's number in the first column the other orders could have been taken.",
        3,
    ),
    Code(
        "csv.no-order",
        Severity.ERROR,
        'This line names no order in the column "{heading}".',
        "Give it the number of its order, or take it out.",
        201,
    ),
    Code(
        "csv.value",
        Severity.ERROR,
        'The cell in "{heading}" says "{found}", but it must be {allowed}.',
        "Correct the cell, or what reads.fields of the mapping says about the column.",
        200,
    ),
    Code(
        "csv.lines-disagree",
        Severity.ERROR,
        'The lines of one order differ in "{heading}": "{found}" here, "{before}" in line {line}.',
        "Make the lines agree, or give the second one an order number of its own.",
        200,
    ),
    Code(
        "order.others-refused",
        Severity.ERROR,
        "Order {job_id} is right by itself, but other orders of the file were refused, and this source takes a "
        "file whole or not at all.",
        "Correct the others and drop the file again.",
        1,
    ),
)

_ARTWORK: Final = (
    Code(
        "pdf.no-standing-ticket",
        Severity.ERROR,
        "Artwork that comes alone is no order at this source.",
        "Drop a ticket that names it, or have the administrator give the source a standing_ticket.",
        200,
    ),
    Code(
        "pdf.damaged",
        Severity.ERROR,
        "The PDF is damaged, or is none: {reason}.",
        "Write it anew from the program that made it, and look at it before dropping it again.",
        3,
    ),
    Code(
        "pdf.encrypted",
        Severity.ERROR,
        "The PDF is encrypted and wants a password to be opened.",
        "Ask for it without a password.",
        3,
    ),
    Code(
        "pdf.too-much",
        Severity.ERROR,
        "Looking at the PDF took more than {limit}.",
        "Write it anew from the program that made it; a sound file takes a part of a second.",
        3,
    ),
    Code(
        "pdf.pages",
        Severity.ERROR,
        "The PDF has {found} pages; from 1 to {limit} can be taken.",
        "Split it into several files.",
        200,
    ),
    Code(
        "pdf.no-size",
        Severity.ERROR,
        "Page {page} has no size that can be printed: {reason}.",
        "Set the TrimBox of the page to the finished size and write the file anew.",
        200,
    ),
    Code(
        "pdf.name-long",
        Severity.ERROR,
        "The file's name has {length} letters; at most {limit} are read.",
        "Give it a shorter name and drop it again.",
        200,
    ),
    Code(
        "pdf.name-unfit",
        Severity.ERROR,
        "The file's name is not of the form that this source asks for: {pattern}",
        "Name it so, or ask the administrator what name_pattern of the standing ticket means.",
        200,
    ),
    Code(
        "pdf.name-number",
        Severity.ERROR,
        'The file\'s name says "{found}" for {group}, which must be a whole number.',
        "Correct the name and drop the file again.",
        200,
    ),
    Code(
        "pdf.active-content",
        Severity.WARNING,
        "The PDF carries {what}; they were left alone.",
        "Printing needs none of it; ask the sender why it is there.",
    ),
    Code(
        "pdf.box-clipped",
        Severity.WARNING,
        "The TrimBox of page {page} reaches beyond the page; what lies on the page was taken.",
        "Compare the size with what was ordered.",
    ),
    Code(
        "pdf.bleed-short",
        Severity.WARNING,
        "Page {page} has {there_mm} mm of bleed around it, but {wanted_mm} mm are to be printed.",
        "A white edge may show after cutting; ask for artwork with bleed.",
    ),
)

CODES: Final[tuple[Code, ...]] = _LINES + _ARTWORK
