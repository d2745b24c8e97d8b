"""Workbooks made to harm: archives that lie, and cells that ask for more than they look like."""

import io
import os
import struct
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from ticketbridge.extract.rows import FileRefused, Row
from ticketbridge.extract.xlsx_rows import xlsx_rows_of
from ticketbridge.model.shop import Limits

pytestmark = pytest.mark.timeout(60)
SHEET = "xl/worksheets/sheet1.xml"


def workbook() -> bytes:
    book = openpyxl.Workbook()
    for row in (("no", "n"), ("A1", 2)):
        book.active.append(row)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def packed(members: list[tuple[str | zipfile.ZipInfo, bytes]]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as book, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about a name that is there twice
        for name, content in members:
            book.writestr(name, content)
    return data.getvalue()


def members() -> list[tuple[str | zipfile.ZipInfo, bytes]]:
    with zipfile.ZipFile(io.BytesIO(workbook())) as book:
        return [(name, book.read(name)) for name in book.namelist()]


def changed(name: str, change: Callable[[bytes], bytes]) -> bytes:
    return packed([(one, change(content) if one == name else content) for one, content in members()])


def sheet_with(more: bytes, behind: bytes = b"") -> bytes:
    end = b"</sheetData>"
    return changed(SHEET, lambda sheet: sheet.replace(end, more + end + behind))


def with_flag(bit: int) -> bytes:
    """Every entry with a bit of its general purpose flag set, in both headers (ZIP application note, 4.4.4)."""
    data = bytearray(workbook())
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.find(signature)
        while at >= 0:
            flags = struct.unpack_from("<H", data, at + offset)[0]
            struct.pack_into("<H", data, at + offset, flags | 1 << bit)
            at = data.find(signature, at + 4)
    return bytes(data)


def with_field(signature: bytes, offset: int, kind: str, value: int) -> bytes:
    """The first header of a kind with one field changed."""
    data = bytearray(workbook())
    struct.pack_into(kind, data, data.find(signature) + offset, value)
    return bytes(data)


def overlapping() -> bytes:
    """Every entry of the directory names the content of the first."""
    data = bytearray(workbook())
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        struct.pack_into("<I", data, at + 42, 0)
        at = data.find(b"PK\x01\x02", at + 4)
    return bytes(data)


def link_entry() -> bytes:
    link = zipfile.ZipInfo("xl/link")
    link.external_attr = 0o120777 << 16
    return packed([*members(), (link, b"/etc/passwd")])


REFUSED = {
    "one file twice": lambda: packed([*members(), (SHEET, b"<worksheet/>")]),
    "encrypted": lambda: with_flag(0),
    "a method that nobody has": lambda: with_field(b"PK\x01\x02", 10, "<H", 99),
    "sizes that lie": lambda: with_field(b"PK\x01\x02", 24, "<I", 7),
    "a checksum that lies": lambda: with_field(b"PK\x01\x02", 16, "<I", 7),
    "entries that share their content": overlapping,
    "a directory beyond the end": lambda: with_field(b"PK\x05\x06", 16, "<I", 2**31),
    "a cell at the far corner": lambda: sheet_with(b'<row r="1048576"><c r="IV1048576"><v>1</v></c></row>'),
    "cells without end": lambda: sheet_with(b"<row><c><v>1</v></c></row>" * 400_000),
    "one merged cell of the whole sheet": lambda: sheet_with(
        b"", b'<mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'
    ),
    "merged columns": lambda: sheet_with(b"", b'<mergeCells><mergeCell ref="A:XFD"/></mergeCells>'),
    "a name written in character references": lambda: sheet_with(
        b"", b'<mergeCells><mergeCell ref="A1:&#88;FD1048576"/></mergeCells>'
    ),
    "one link on the whole sheet": lambda: sheet_with(
        b"", b'<hyperlinks><hyperlink ref="A1:XFD1048576" location="A1"/></hyperlinks>'
    ),
    "an encoding that hides its names": lambda: changed(
        SHEET, lambda sheet: b'<?xml version="1.0" encoding="UTF-7"?>' + sheet.partition(b"?>")[2]
    ),
    "a document type in a file of another name": lambda: packed([*members(), ("a.bin", b"<!DOCTYPE a><a/>")]),
}


@pytest.mark.parametrize("what", REFUSED)
def test_a_workbook_made_to_harm_is_refused(what: str) -> None:
    with pytest.raises(FileRefused) as refused:
        read(REFUSED[what]())
    assert refused.value.finding.code in ("xlsx.damaged", "xlsx.too-large")


READ = {
    "a name that leads out": lambda: packed([*members(), ("../../escaped.xml", b"<a/>")]),
    "an absolute name": lambda: packed([*members(), ("/escaped.xml", b"<a/>")]),
    "a name of another system": lambda: packed([*members(), ("C:\\escaped.xml", b"<a/>")]),
    "a link": link_entry,
    "one of several disks, as it says": lambda: with_field(b"PK\x05\x06", 4, "<H", 3),
    "an archive in it": lambda: packed([*members(), ("more.zip", workbook())]),
    "something before it": lambda: b"#!/bin/sh\n" + workbook(),
    "a comment as long as can be": lambda: with_comment(65_535),
    "a name of 65,535 bytes": lambda: packed([*members(), ("x" * 65_535, b"")]),
}


@pytest.mark.parametrize("what", READ)
def test_what_is_harmless_when_nothing_is_unpacked_is_read_and_nothing_is_written(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inside = tmp_path / "a" / "b"
    inside.mkdir(parents=True)
    monkeypatch.chdir(inside)

    assert [row.cells for row in read(READ[what]())] == [("no", "n"), ("A1", "2")]
    assert sorted(os.listdir(tmp_path)) == ["a"]
    assert os.listdir(inside) == []
    assert not Path("/escaped.xml").exists()


def with_comment(length: int) -> bytes:
    data = io.BytesIO(workbook())
    with zipfile.ZipFile(data, "a") as book:
        book.comment = b"x" * length
    return data.getvalue()


def read(data: bytes) -> list[Row]:
    return xlsx_rows_of(data, Limits(), "o.xlsx", sheet=None, heading_line=1, heading_lines=1)
