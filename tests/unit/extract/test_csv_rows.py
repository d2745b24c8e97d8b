"""Bytes to rows: what comes apart in one way only is read, everything else is refused at its line."""

import codecs
import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.extract.csv_rows import rows_of
from ticketbridge.extract.rows import FileRefused
from ticketbridge.model.shop import Limits
from ticketbridge.model.spelling import Encoding, Separator


def read(
    data: bytes, encoding: Encoding = Encoding.UTF_8, limits: Limits | None = None
) -> list[tuple[int, tuple[str, ...]]]:
    rows = rows_of(data, Separator.SEMICOLON, encoding, limits or Limits(), "o.csv")
    return [(row.line, row.cells) for row in rows]


def refusal(data: bytes, encoding: Encoding = Encoding.UTF_8, limits: Limits | None = None) -> str:
    with pytest.raises(FileRefused) as refused:
        rows_of(data, Separator.SEMICOLON, encoding, limits or Limits(), "o.csv")
    finding = refused.value.finding
    return f"{finding.code} {finding.place}"


def test_rows_keep_the_line_they_begin_in_also_after_a_line_end_in_quotes() -> None:
    assert read(b'a;b\r\n1;"two\r\nlines"\r\n2;c\r\n') == [
        (1, ("a", "b")),
        (2, ("1", "two\r\nlines")),
        (4, ("2", "c")),
    ]


def test_a_doubled_quote_is_a_quote() -> None:
    assert read(b'a;b\n1;"24"" banner"\n')[1] == (2, ("1", '24" banner'))


def test_blank_rows_are_passed_over() -> None:
    assert read(b"a;b\n\n1;2\n;\n \n") == [(1, ("a", "b")), (3, ("1", "2"))]


@pytest.mark.parametrize("encoding", [Encoding.UTF_8, Encoding.UTF_8_SIG])
def test_a_byte_order_mark_of_utf_8_does_not_become_part_of_the_first_heading(encoding: Encoding) -> None:
    assert read(codecs.BOM_UTF8 + b"a;b\n1;2\n", encoding)[0] == (1, ("a", "b"))


def test_windows_1252_is_read_where_it_is_configured() -> None:
    assert read(b"a;b\n1;\x80uro\n", Encoding.WINDOWS_1252)[1] == (2, ("1", "\u20acuro"))


@pytest.mark.parametrize(
    ("what", "data", "encoding", "said"),
    [
        ("Latin letters under a UTF-8 table", b"a;b\n1;caf\xe9\n", Encoding.UTF_8, "csv.encoding o.csv:2"),
        ("one line in another encoding", b"a;b\n\xc3\xa9;1\n\xe9;2\n", Encoding.UTF_8, "csv.encoding o.csv:3"),
        ("an overlong form", b"a;b\n\xc0\xaf;1\n", Encoding.UTF_8, "csv.encoding o.csv:2"),
        ("a byte that windows-1252 leaves free", b"a;b\n1;\x81\n", Encoding.WINDOWS_1252, "csv.encoding o.csv:2"),
        ("UTF-8 with its mark under windows-1252", b"\xef\xbb\xbfa;b\n1;2\n", Encoding.WINDOWS_1252,
         "csv.encoding o.csv:1"),
        ("UTF-16", "a;b\n1;2\n".encode("utf-16"), Encoding.UTF_8, "csv.encoding o.csv:1"),
        ("UTF-32", "a;b\n1;2\n".encode("utf-32"), Encoding.UTF_8, "csv.encoding o.csv:1"),
        ("UTF-16 without its mark", "a;b\n1;2\n".encode("utf-16-le"), Encoding.UTF_8, "csv.nul o.csv:1"),
        ("a zero byte", b"a;b\n1;2\n3;\x00\n", Encoding.UTF_8, "csv.nul o.csv:3"),
    ],
)  # fmt: skip
def test_bytes_that_are_not_the_configured_encoding_are_refused_at_their_line(
    what: str, data: bytes, encoding: Encoding, said: str
) -> None:
    assert refusal(data, encoding) == said


@pytest.mark.parametrize(
    ("what", "data", "said"),
    [
        ("never closed", b'a;b\n1;"open\n2;x\n', "csv.quotes o.csv:2"),
        ("something after the closing one", b'a;b\n1;2\n3;"x"y\n', "csv.quotes o.csv:3"),
        ("alone in the middle", b'a;b\n1;24" banner\n', "csv.quotes o.csv:2"),
        ("in the middle beside a proper one", b'a;b\n"1";24" x "banner"\n', "csv.quotes o.csv:2"),
        ("alone at the end", b'a;b\n1;2\n3;24"\n', "csv.quotes o.csv:3"),
        ("opened by a lone one that a later line closes", b'a;b\n1;"open\n2;"x";y\n', "csv.quotes o.csv:2"),
    ],
)
def test_quotes_that_do_not_fit_refuse_the_file_at_their_line(what: str, data: bytes, said: str) -> None:
    assert refusal(data) == said


@pytest.mark.parametrize(
    ("what", "data", "limits", "said"),
    [
        ("bytes", b"a;b\n1;2\n", Limits(ticket_bytes=7), "csv.too-large o.csv"),
        ("lines", b"a;b\n1;2\n3;4\n5;6\n", Limits(lines_per_file=2), "csv.too-large o.csv:4"),
        ("columns", b"a;b\n" + b";" * 1_000_000 + b"\n", Limits(), "csv.too-large o.csv:2"),
        ("letters in a cell", b"a;b\n1;" + b"x" * 200_000 + b"\n", Limits(), "csv.too-large o.csv:2"),
    ],
)
def test_a_file_that_asks_for_too_much_is_refused(what: str, data: bytes, limits: Limits, said: str) -> None:
    assert refusal(data, limits=limits) == said


def test_a_file_with_all_the_lines_it_may_have_is_read() -> None:
    assert len(read(b"a;b\n1;2\n3;4\n", limits=Limits(lines_per_file=2))) == 3


@pytest.mark.parametrize("data", [b"", b"\n\n", b"a;b\n", b"\xef\xbb\xbf", b"sep=;\n"])
def test_a_file_without_order_lines_is_refused_as_empty(data: bytes) -> None:
    assert refusal(data) == "csv.empty o.csv"


def test_a_first_line_that_names_the_configured_separator_is_passed_over() -> None:
    assert read(b"sep=;\r\na;b\r\n1;2\r\n") == [(2, ("a", "b")), (3, ("1", "2"))]


def test_a_first_line_that_names_another_separator_is_refused() -> None:
    assert refusal(b"sep=,\na,b\n1,2\n") == "csv.separator o.csv:1"


def test_a_line_of_quotes_takes_linear_time() -> None:
    assert refusal(b"a;b\n1;x" + b'"";' * 80 + b'"' * 100_000 + b"x\n").startswith("csv.")


@given(st.lists(st.lists(st.text(st.characters(exclude_characters='\r\n";\x00', exclude_categories=["Cs"]),
                                 min_size=1), min_size=2, max_size=4), min_size=2, max_size=6))  # fmt: skip
def test_whatever_is_written_in_quotes_comes_back_the_same(rows: list[list[str]]) -> None:
    data = "\r\n".join(";".join(f'"{cell}"' for cell in row) for row in rows).encode()

    expected = [tuple(row) for row in rows if any(cell.strip() for cell in row)]
    if len(expected) >= 2:
        assert [cells for _, cells in read(data)] == expected


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(data: bytes) -> None:
    with contextlib.suppress(FileRefused):
        assert len(read(data)) >= 2
