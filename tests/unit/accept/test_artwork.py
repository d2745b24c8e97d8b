"""Artwork is resolved, kept inside the allowed folders, and hashed."""

import hashlib
import os
from pathlib import Path

import pytest

from ticketbridge.accept.artwork import ArtworkRefused, find_artwork
from ticketbridge.model.finding import Place
from ticketbridge.model.order import Artwork


@pytest.fixture
def drop(tmp_path: Path) -> Path:
    drop = tmp_path / "drop"
    (drop / "art").mkdir(parents=True)
    (drop / "art" / "a b.pdf").write_bytes(b"%PDF")
    (tmp_path / "secret.pdf").write_bytes(b"secret")
    return drop


def find(url: str, drop: Path) -> Artwork:
    return find_artwork(
        url, mime_type=None, page=0, beside=drop, roots=(drop.resolve(),), place=Place("t.jdf", 3)
    )


def refusal(url: str, drop: Path) -> str:
    with pytest.raises(ArtworkRefused) as refused:
        find(url, drop)
    assert refused.value.finding.place == Place("t.jdf", 3)
    return refused.value.finding.code


def test_a_relative_reference_counts_from_the_drop_folder_and_is_decoded_once(drop: Path) -> None:
    artwork = find("art/a%20b.pdf", drop)

    assert artwork.url == (drop / "art" / "a b.pdf").resolve().as_uri()
    assert artwork.sha256 == hashlib.sha256(b"%PDF").hexdigest()


def test_a_file_url_of_this_machine_inside_the_roots_is_fine(drop: Path) -> None:
    url = (drop / "art" / "a b.pdf").resolve().as_uri()

    assert find(url, drop).url == url


@pytest.mark.parametrize(
    "url", ["../secret.pdf", "art/../../secret.pdf", "%2e%2e/secret.pdf", "file:///etc/passwd"]
)
def test_nothing_outside_the_roots_is_opened(drop: Path, url: str) -> None:
    assert refusal(url, drop) == "artwork.outside"


def test_a_double_escape_is_decoded_once_and_finds_nothing(drop: Path) -> None:
    assert refusal("%252e%252e/secret.pdf", drop) == "artwork.missing"


def test_a_link_inside_that_leads_outside_is_refused(drop: Path) -> None:
    (drop / "art" / "link.pdf").symlink_to(drop.parent / "secret.pdf")

    assert refusal("art/link.pdf", drop) == "artwork.outside"


@pytest.mark.parametrize(
    "url",
    [
        "http://mis.example/a.pdf",
        "ftp://x/a.pdf",
        "//server/a.pdf",
        "\\\\server\\a.pdf",
        "C:\\a.pdf",
        "file://server/a.pdf",
        "a%00.pdf",
        "cid:x",
    ],
)
def test_other_schemes_hosts_and_windows_paths_are_refused_by_name(drop: Path, url: str) -> None:
    assert refusal(url, drop) == "artwork.scheme"


def test_missing_artwork_says_where_it_was_looked_for(drop: Path) -> None:
    assert refusal("art/none.pdf", drop) == "artwork.missing"


def test_a_pipe_or_a_folder_is_never_waited_on(drop: Path) -> None:
    os.mkfifo(drop / "art" / "pipe.pdf")

    assert refusal("art/pipe.pdf", drop) == "artwork.unreadable"
    assert refusal("art", drop) == "artwork.unreadable"


def test_a_changed_file_gets_a_new_hash(drop: Path) -> None:
    before = find("art/a%20b.pdf", drop).sha256
    (drop / "art" / "a b.pdf").write_bytes(b"%PDF changed")

    assert find("art/a%20b.pdf", drop).sha256 != before


@pytest.mark.parametrize("url", ["file:///dev/zero", "file:///dev/null", "file:///dev/fd/0/x"])
def test_devices_are_not_opened_even_where_every_folder_is_allowed(drop: Path, url: str) -> None:
    with pytest.raises(ArtworkRefused) as refused:
        find_artwork(url, mime_type=None, page=0, beside=drop, roots=[Path("/")], place=Place("t.jdf"))
    assert refused.value.finding.code in ("artwork.unreadable", "artwork.missing")


def test_a_file_named_like_a_device_of_another_system_is_a_file(drop: Path) -> None:
    (drop / "art" / "CON").write_bytes(b"%PDF")

    assert find("art/CON", drop).path == str(drop / "art" / "CON")
