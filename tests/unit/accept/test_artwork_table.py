"""One file under three names: the MIS's, ours, the press's."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ticketbridge.accept.artwork import ArtworkRefused, find_artwork
from ticketbridge.accept.artwork_table import PathRow, path_here, url_for_press
from ticketbridge.model.artwork_path import ArtworkPath
from ticketbridge.model.finding import Place

HERE = Path("/srv/art")


def rows(mis: str, press: str | None = None) -> tuple[PathRow, ...]:
    return (PathRow(mis, HERE, press),)


@pytest.mark.parametrize(
    ("mis", "written"),
    [
        (r"\\server\art", r"\\server\art\fair\a b.pdf"),
        (r"\\server\art", r"\\SERVER\Art\fair\a b.pdf"),
        (r"\\server\art", "//server/art/fair/a b.pdf"),
        (r"\\server\art", "file://server/art/fair/a%20b.pdf"),
        (r"\\server\art", "file:////server/art/fair/a%20b.pdf"),
        ("file://server/art/", r"\\server\art\fair\a b.pdf"),
        ("X:\\", r"X:\fair\a b.pdf"),
        ("X:\\", "x:/fair/a b.pdf"),
        ("X:\\", "file:///X:/fair/a%20b.pdf"),
        ("/Volumes/art", "/Volumes/art/fair/a%20b.pdf"),
        ("/Volumes/art", "file:///Volumes/art/fair/a%20b.pdf"),
        ("https://mis.example/files", "https://MIS.example/files/fair/a%20b.pdf"),
        ("smb://server/art", "smb://server/art/fair/a%20b.pdf"),
    ],
)
def test_however_the_mis_writes_the_path_the_same_file_is_meant(mis: str, written: str) -> None:
    assert path_here(written, rows(mis)) == HERE / "fair" / "a b.pdf"


@pytest.mark.parametrize(
    ("mis", "written"),
    [
        (r"\\server\art", r"\\server\art2\a.pdf"),
        (r"\\server\art", r"\\server\art"),
        (r"\\server\art", r"\\other\art\a.pdf"),
        ("X:\\art", r"Y:\art\a.pdf"),
        ("/Volumes/art", "/volumes/art/a.pdf"),
        ("https://mis.example/files", "http://mis.example/files/a.pdf"),
        (r"\\server\art", "art/a.pdf"),
    ],
)
def test_another_place_is_not_this_one(mis: str, written: str) -> None:
    assert path_here(written, rows(mis)) is None


def test_the_first_row_that_fits_wins() -> None:
    table = (PathRow("X:\\new", Path("/srv/new"), None), PathRow("X:\\", Path("/srv/all"), None))

    assert path_here(r"X:\new\a.pdf", table) == Path("/srv/new/a.pdf")
    assert path_here(r"X:\old\a.pdf", table) == Path("/srv/all/old/a.pdf")


@pytest.mark.parametrize(
    ("press", "url"),
    [
        (None, "file:///srv/art/fair/a%20b.pdf"),
        (r"\\press server\in", "file://press%20server/in/fair/a%20b.pdf"),
        ("P:\\", "file:///P:/fair/a%20b.pdf"),
        ("P:\\my art\\", "file:///P:/my%20art/fair/a%20b.pdf"),
        ("/mnt/art", "file:///mnt/art/fair/a%20b.pdf"),
        ("file:///mnt/my%20art", "file:///mnt/my%20art/fair/a%20b.pdf"),
        ("http://press.example:8080/art/", "http://press.example:8080/art/fair/a%20b.pdf"),
    ],
)
def test_the_press_is_told_its_own_form(press: str | None, url: str) -> None:
    assert url_for_press(HERE / "fair" / "a b.pdf", rows("X:\\", press)) == url


def test_a_file_that_no_row_covers_keeps_the_form_of_this_machine() -> None:
    assert url_for_press(Path("/srv/drop/a.pdf"), rows("X:\\", "P:\\")) == "file:///srv/drop/a.pdf"


def find(written: str, here: Path) -> str:
    table = (PathRow(r"\\server\art", here.resolve(), "P:\\"),)
    return find_artwork(
        written, mime_type=None, page=0, beside=here, roots=(here.resolve(),), place=Place("t"), rows=table
    ).url


def test_artwork_on_a_share_with_a_row_is_found_and_named_for_the_press(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"%PDF")

    assert find(r"\\server\art\a.pdf", tmp_path) == "file:///P:/a.pdf"
    assert find("a.pdf", tmp_path) == "file:///P:/a.pdf"


@pytest.mark.parametrize(
    ("written", "code"),
    [
        (r"\\server\art\..\..\etc\passwd", "artwork.outside"),
        ("file://server/art/%2e%2e/secret.pdf", "artwork.outside"),
        (r"\\server\art\/etc/passwd", "artwork.missing"),
        (r"\\other\art\a.pdf", "artwork.scheme"),
        ("X:\\a.pdf", "artwork.scheme"),
        ("http://[broken/a.pdf", "artwork.scheme"),
        ("\\\\server\\art\\a\x00.pdf", "artwork.scheme"),
    ],
)
def test_a_row_opens_its_folder_and_nothing_else(tmp_path: Path, written: str, code: str) -> None:
    with pytest.raises(ArtworkRefused) as refused:
        find(written, tmp_path)

    assert refused.value.finding.code == code


@given(st.text(max_size=40))
def test_whatever_comes_behind_the_prefix_stays_below_the_folder_or_is_refused(rest: str) -> None:
    found = path_here("\\\\server\\art\\" + rest, rows(r"\\server\art"))

    assert found is not None
    assert found.is_relative_to(HERE)  # what climbs out of it again is found by resolving


@pytest.mark.parametrize("prefix", ["art", "./art", "X:", "server\\art"])
def test_a_prefix_that_is_not_absolute_is_refused(prefix: str) -> None:
    with pytest.raises(ValueError, match="no share, drive, URL or absolute path"):
        ArtworkPath(mis=prefix, here="art")
