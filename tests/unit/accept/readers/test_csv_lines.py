"""Order lines to tickets: one for each order number, its lines the items, every fault at its line and heading."""

from typing import Any

import pytest

from ticketbridge.accept.readers.by_mapping import read_by_mapping
from ticketbridge.model.finding import Finding
from ticketbridge.model.mapping import Mapping, PrintModeRow
from ticketbridge.model.reads import FieldRow, FileKind, Reads
from ticketbridge.model.shop import Limits
from ticketbridge.model.spelling import DateFormat, DecimalSign, Separator, Unit
from ticketbridge.model.ticket import Ticket
from ticketbridge.model.ticket_field import TicketField

HEADINGS = {
    "Order": TicketField.JOB_ID,
    "Due": TicketField.DUE,
    "Width": TicketField.FINISHED_WIDTH_MM,
    "Height": TicketField.FINISHED_HEIGHT_MM,
    "Pieces": TicketField.QUANTITY,
    "Turn": TicketField.MAY_ROTATE,
    "File": TicketField.ARTWORK_URL,
    "Weight": TicketField.WEIGHT_G_M2,
    "Customer": TicketField.CUSTOMER_NAME,
}
HEAD = ";".join(HEADINGS)
GOOD = "HL-1;2026-11-30;1000;500;2;yes;art/1.pdf;510;Tidewatch Museum"


def table(**changes: Any) -> Reads:
    fields = tuple(FieldRow(field=field, at=heading) for heading, field in HEADINGS.items())
    return Reads(**{"kind": FileKind.CSV, "separator": Separator.SEMICOLON, "fields": fields, **changes})


def with_unit(unit: Unit) -> Reads:
    fields = tuple(
        FieldRow(field=field, at=heading, unit=unit if field is TicketField.FINISHED_WIDTH_MM else None)
        for heading, field in HEADINGS.items()
    )
    return table(fields=fields)


def read(
    *lines: str, head: str = HEAD, by: Reads | None = None, time_zone: str = "UTC"
) -> list[tuple[Ticket | None, tuple[Finding, ...]]]:
    mapping = Mapping(reads=by or table(), print_modes=(PrintModeRow(print_mode="fine-8"),))
    return read_by_mapping("\n".join([head, *lines]).encode(), mapping, Limits(), time_zone, "o.csv")


def one(*lines: str, **named: Any) -> tuple[Ticket, list[str]]:
    [(ticket, findings)] = read(*lines, **named)
    assert ticket is not None
    return ticket, told(findings)


def told(findings: tuple[Finding, ...]) -> list[str]:
    return [f"{finding.code} {finding.place}" for finding in findings]


def quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def changed(place: int, text: str) -> str:
    cells = GOOD.split(";")
    cells[place] = text
    return ";".join(cells)


def test_a_line_becomes_a_ticket_of_one_item_with_line_and_heading_of_every_value() -> None:
    ticket, findings = one(GOOD)

    assert findings == []
    assert {name: (read.value, read.path, read.line) for name, read in ticket.items[0].values.items()} == {
        "finished_width_mm": (1000.0, "Width", 2),
        "finished_height_mm": (500.0, "Height", 2),
        "quantity": (2, "Pieces", 2),
        "may_rotate": (True, "Turn", 2),
        "artwork_url": ("art/1.pdf", "File", 2),
        "weight_g_m2": (510.0, "Weight", 2),
    }
    assert ticket.values["job_id"].value == "HL-1"
    assert ticket.values["customer_name"].value == "Tidewatch Museum"


def test_lines_of_one_order_become_items_of_one_ticket_wherever_they_stand() -> None:
    found = read(GOOD, GOOD.replace("HL-1", "HL-2"), GOOD.replace(";2;", ";9;"))

    assert [
        (t.values["job_id"].value, [i.values["quantity"].value for i in t.items]) for t, _ in found if t
    ] == [
        ("HL-1", [2, 9]),
        ("HL-2", [2]),
    ]


def test_order_numbers_are_text_with_their_zeros() -> None:
    assert one(changed(0, " 000123 "))[0].values["job_id"].value == "000123"


def test_headings_may_stand_in_any_order_and_spelling_beside_columns_that_nobody_asked_for() -> None:
    head, cells = HEAD.split(";"), GOOD.split(";")
    ticket, findings = one(
        ";".join([*reversed(cells), "x"]),
        head=";".join([*(f" {name.upper()} " for name in reversed(head)), "Note"]),
    )

    assert (ticket.values["job_id"].value, findings) == ("HL-1", [])


@pytest.mark.parametrize(
    ("unit", "text", "length_mm"),
    [  # 1 in = 25.4 mm exactly; 1 pt = 1/72 in; 1 ft = 12 in
        (Unit.MM, "1450", 1450),
        (Unit.CM, "145", 1450),
        (Unit.INCH, "10", 254),
        (Unit.INCH, '10 1/2"', 266.7),
        (Unit.M, "1.45", 1450),
        (Unit.FEET_AND_INCHES, "6' 6\"", 1981.2),
        (Unit.FEET_AND_INCHES, "6 ft 6.5 in", 1993.9),
        (Unit.FEET_AND_INCHES, "6'-6 1/2\"", 1993.9),
        (Unit.AS_WRITTEN, "145 cm", 1450),
        (Unit.AS_WRITTEN, "6' 6\"", 1981.2),
        (Unit.POINT, "72", 25.4),
        (Unit.FOOT, "10", 3048),
    ],
)
def test_lengths_are_counted_in_the_unit_of_their_column(unit: Unit, text: str, length_mm: float) -> None:
    ticket, _ = one(changed(2, quoted(text)), by=with_unit(unit))

    assert ticket.items[0].values["finished_width_mm"].value == pytest.approx(length_mm)


@pytest.mark.parametrize(
    ("unit", "text"),
    [(Unit.INCH, "781/2"), (Unit.INCH, "10 3/2"), (Unit.INCH, "10 1/0"), (Unit.INCH, "10,5"), (Unit.FEET_AND_INCHES, "6x6"),
     (Unit.FEET_AND_INCHES, "6' 6' 6"), (Unit.AS_WRITTEN, "145"), (Unit.AS_WRITTEN, "2 yd"), (Unit.AS_WRITTEN, "1,45 m")],
)  # fmt: skip
def test_a_length_that_could_be_read_in_two_ways_is_refused(unit: Unit, text: str) -> None:
    assert one(changed(2, quoted(text)), by=with_unit(unit))[1] == ["csv.value o.csv:2 Width"]


def test_a_decimal_comma_is_read_where_it_is_configured() -> None:
    ticket, _ = one(changed(2, "1234,5"), by=table(decimal_sign=DecimalSign.COMMA))

    assert ticket.items[0].values["finished_width_mm"].value == 1234.5


@pytest.mark.parametrize(
    "text",
    ["1.234,5", "1,234.5", "1 234", "1e3", "-5", "+5", "0x10", "NaN", "INF", "1000mm", "1.", ".5", "1" * 19,
     "\u0661\u0662"],
)  # fmt: skip
def test_numbers_that_could_mean_two_things_or_none_are_refused_at_their_cell(text: str) -> None:
    [(_, findings)] = read(changed(2, text))

    assert told(findings) == ["csv.value o.csv:2 Width"]


def test_a_decimal_comma_in_a_file_with_decimal_points_is_refused() -> None:
    assert one(changed(3, "500,5"))[1] == ["csv.value o.csv:2 Height"]


@pytest.mark.parametrize("text", ["2.0", "2,0", "two", "-1", "1e1", "9" * 10])
def test_pieces_are_whole_numbers(text: str) -> None:
    assert one(changed(4, text))[1] == ["csv.value o.csv:2 Pieces"]


@pytest.mark.parametrize(
    ("form", "text", "moment"),
    [
        (DateFormat.YEAR_FIRST, "2026-11-30", "2026-11-30T23:59:59+01:00"),
        (DateFormat.YEAR_FIRST, "2026-11-30 17:30", "2026-11-30T17:30:00+01:00"),
        (DateFormat.DAY_FIRST_DOTS, "5.7.2026", "2026-07-05T23:59:59+02:00"),
        (DateFormat.DAY_FIRST_STROKES, "05/07/2026 8:00", "2026-07-05T08:00:00+02:00"),
        (DateFormat.MONTH_FIRST_STROKES, "05/07/2026", "2026-05-07T23:59:59+02:00"),
    ],
)
def test_dates_are_read_as_configured_in_the_shop_s_time_zone(
    form: DateFormat, text: str, moment: str
) -> None:
    ticket, findings = one(changed(1, text), by=table(date_format=form), time_zone="Europe/Berlin")

    assert (ticket.values["due"].value.isoformat(), findings) == (moment, [])  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "text", ["2026-02-31", "0000-01-01", "30.11.2026", "2026-11-30 24:00", "tomorrow", "46356"]
)
def test_dates_that_no_calendar_has_are_refused(text: str) -> None:
    assert one(changed(1, text))[1] == ["csv.value o.csv:2 Due"]


def test_what_a_spreadsheet_would_calculate_is_kept_as_it_stands() -> None:
    ticket, findings = one(changed(8, "=HYPERLINK(A1)"))

    assert (ticket.values["customer_name"].value, findings) == ("=HYPERLINK(A1)", [])


@pytest.mark.parametrize("name", ['"HL-1\r\nSubject: x"', "HL\x1b[2J", "HL\x7f"])
def test_line_ends_and_control_characters_in_a_value_are_refused(name: str) -> None:
    [(_, findings)] = read(changed(0, name))

    assert told(findings) == ["csv.value o.csv:2 Order"]


def test_a_line_with_a_wrong_cell_refuses_its_order_and_no_other() -> None:
    found = read(GOOD, GOOD.replace("HL-1", "HL-2").replace(";1000;", ";wide;"), GOOD.replace("HL-1", "HL-3"))

    assert [told(findings) for _, findings in found] == [[], ["csv.value o.csv:3 Width"], []]


def test_a_ragged_line_refuses_the_order_in_its_first_cell() -> None:
    found = read(GOOD, "HL-2;2026-11-30;1000", GOOD + ";more")

    assert [told(findings) for _, findings in found] == [["csv.ragged o.csv:4"], ["csv.ragged o.csv:3"]]


def test_a_ragged_line_that_may_belong_to_any_order_refuses_the_file() -> None:
    head, cells = HEAD.split(";"), GOOD.split(";")
    turned = ";".join([*cells[1:], cells[0]])

    [(ticket, findings)] = read(turned, turned + ";more", head=";".join([*head[1:], head[0]]))

    assert (ticket, told(findings)) == (None, ["csv.ragged-unnamed o.csv:3"])


def test_a_line_without_an_order_number_is_refused_by_itself() -> None:
    found = read(GOOD, changed(0, " "))

    assert [told(findings) for _, findings in found] == [[], ["csv.no-order o.csv:3"]]


def test_headings_that_come_again_are_no_order() -> None:
    found = read(GOOD, HEAD, GOOD.replace("HL-1", "HL-2"))

    assert [told(findings) for _, findings in found] == [[], [], ["csv.heading-again o.csv:3"]]


def test_a_heading_that_is_missing_is_named_with_those_that_are_there() -> None:
    [(ticket, findings)] = read(GOOD, head=HEAD.replace("Width", "Breadth"))

    assert (ticket, told(findings)) == (None, ["csv.heading-missing o.csv:1"])
    assert findings[0].facts == {
        "heading": "Width",
        "found": ", ".join(HEAD.replace("Width", "Breadth").split(";"))[:80],
    }


def test_a_heading_that_is_there_twice_refuses_the_file() -> None:
    [(_, findings)] = read(GOOD + ";900", head=HEAD + ";width")

    assert told(findings) == ["csv.heading-twice o.csv:1"]


def test_the_wrong_separator_shows_in_the_headings() -> None:
    [(_, findings)] = read(GOOD.replace(";", ","), head=HEAD.replace(";", ","))

    assert told(findings) == ["csv.heading-missing o.csv:1"]


def test_lines_of_one_order_must_agree_about_the_order() -> None:
    ticket, findings = one(GOOD, GOOD.replace("2026-11-30", "2026-12-01"))

    assert findings == ["csv.lines-disagree o.csv:3 Due"]
    assert len(ticket.items) == 2


def test_what_the_first_line_of_an_order_says_need_not_be_said_again() -> None:
    assert one(GOOD, changed(1, ""))[1] == []
