"""A file is whole when its root element is closed, and not a moment earlier."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.jdf.tickets import GOLDEN, GOLDEN_TICKETS, MESSAGE, ORDER
from ticketbridge.jdf.closed_root import root_is_closed

CLOSED = [
    "<JDF/>",
    "<JDF />",
    "<JDF ID='a'></JDF>",
    "<JDF ID='/>'></JDF>",
    "<JDF></JDF >",
    "<JDF></JDF>\n\t ",
    "<?xml version='1.0'?><!-- <JDF> --><?note <JDF> ?><JDF/><!-- done --><?end?>\n",
    "<j:JDF xmlns:j='u'><j:JDF/></j:JDF>",
    "<JDF><JDFX></JDFX></JDF>",
    "<JDF><![CDATA[<JDF>]]></JDF>",
    "<JDF><!-- <JDF> --></JDF>",
    "<JDF A='-->'/>",
    "<!DOCTYPE JDF><JDF/>",
]

OPEN = [
    "",
    "   ",
    "no XML",
    "<",
    "<JDF",
    "<JDF>",
    "<JDF ID='a' ",
    "<JDF ID='>",
    "<JDF ID='/>",
    "<JDF ID='<JDF/>",
    "<JDF><JDF></JDF>",
    "<JDF><JDF/>",
    "<JDF><A/>",
    "<JDF><!-- </JDF> -->",
    "<JDF><!-- </JDF>",
    "<JDF><![CDATA[</JDF>",
    "<JDF></JDF",
    "<JDF></JDF><!-- ",
    "<JDF></JDF><JDF>",
    "<JDF></JDF>junk",
    "<JDF></jdf>",
    "<!-- <JDF></JDF> -->",
    "-->",
    "?>",
    "<?xml version='1.0'",
]


@pytest.mark.parametrize("text", CLOSED)
def test_a_root_that_is_closed(text: str) -> None:
    assert root_is_closed(text.encode())


@pytest.mark.parametrize("text", OPEN)
def test_a_root_that_is_still_open(text: str) -> None:
    assert not root_is_closed(text.encode())


@pytest.mark.parametrize("name", GOLDEN_TICKETS)
def test_no_beginning_of_a_ticket_is_whole_but_the_whole(name: str) -> None:
    data = (GOLDEN / name).read_bytes()
    whole = len(data.rstrip(b"\r\n\x00 ")) + (1 if name.startswith("utf-16") else 0)
    assert root_is_closed(data)
    assert [end for end in range(whole) if root_is_closed(data[:end])] == []


@given(st.sampled_from([ORDER, MESSAGE]), st.integers(0), st.sampled_from(["utf-8", "utf-16"]))
def test_cut_anywhere_a_document_is_not_whole(text: str, where: int, encoding: str) -> None:
    data = text.encode(encoding)
    assert not root_is_closed(data[: where % len(data)])


@given(st.binary(max_size=200))
def test_any_bytes_get_an_answer(data: bytes) -> None:
    assert root_is_closed(data) in (True, False)


@pytest.mark.timeout(20)
@pytest.mark.parametrize(
    "piece", ["<!--", "<JDF '", "<JDF ", "<JDF>", "</JDF>", "<!-- -->", "<?a?>", "<![CDATA[", "\n"]
)
def test_the_answer_takes_linear_time(piece: str) -> None:
    root_is_closed(b"<JDF>" + piece.encode() * 1_000_000)
    root_is_closed(b"<JDF></JDF>" + piece.encode() * 1_000_000)
