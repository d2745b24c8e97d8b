"""A package reads the same however it is cut into pieces, and as the standard library reads it."""

import email
import email.policy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ticketbridge.answer.multipart import PackageBroken, PackageReader, PartData, PartHead

LIKE_A_BOUNDARY = [
    b"",
    b"x",
    b"\r\n",
    b"\n",
    b"--b",
    b"\r\n--bx",
    b"\n\n--b -x\n",
    b"a\r\n--b --\rz",
    b"\x00\xff",
    b"-" * 90,
]
CONTENTS = st.lists(st.one_of(st.sampled_from(LIKE_A_BOUNDARY), st.binary(max_size=40)), max_size=4).map(
    b"".join
)


def made(contents: list[bytes], line_end: bytes, preamble: bytes, encoding: bytes = b"binary") -> bytes:
    data = preamble + line_end if preamble else b""
    for number, content in enumerate(contents):
        head = [
            b"--b",
            b"Content-ID: <p%d>" % number,
            b"Content-Type: text/plain",
            b"Content-Transfer-Encoding: " + encoding,
        ]
        data += line_end.join([*head, b"", content, b""])
    return data + b"--b--" + line_end + b"what follows is passed over"


def read(
    data: bytes, cuts: list[int], boundary: str = "b", most: int = 100
) -> list[tuple[str | None, bytes]]:
    reader, found, at = PackageReader(boundary, most), [], 0
    for cut in [*sorted(cuts), len(data)]:
        for event in reader.feed(data[at:cut]):
            if isinstance(event, PartHead):
                found.append((event.content_id, b""))
            elif isinstance(event, PartData):
                found[-1] = (found[-1][0], found[-1][1] + event.data)
        at = cut
    reader.close()
    return found


def harmless(content: bytes, line_end: bytes) -> bool:
    """Not a boundary line by itself, nor an ending that joins with what follows."""
    lines = (line_end + content + line_end).replace(b"\r\n", b"\n").split(b"\n")
    ends_in_cr = line_end == b"\n" and content.endswith(b"\r")
    return not ends_in_cr and not any(
        line.rstrip(b" \t\r") == b"--b" or line.startswith(b"--b--") for line in lines
    )


@settings(max_examples=300, deadline=None)
@given(st.data(), st.lists(CONTENTS, min_size=1, max_size=4), st.sampled_from([b"\r\n", b"\n"]), st.sampled_from([b"", b"This is a package."]))  # fmt: skip
def test_a_package_reads_the_same_however_it_is_cut(
    data: st.DataObject, contents: list[bytes], line_end: bytes, preamble: bytes
) -> None:
    contents = [content for content in contents if harmless(content, line_end)] or [b"x"]
    package = made(contents, line_end, preamble)
    cuts = data.draw(st.lists(st.integers(0, len(package)), max_size=12))

    found = read(package, cuts)

    assert found == [(f"p{number}", content) for number, content in enumerate(contents)]


@settings(max_examples=100, deadline=None)
@given(st.lists(st.text("abc \u00e9=\n", max_size=60), min_size=1, max_size=3), st.sampled_from(["base64", "quoted-printable"]))  # fmt: skip
def test_encoded_parts_read_as_the_standard_library_reads_them(texts: list[str], encoding: str) -> None:
    whole = email.message.EmailMessage(policy=email.policy.SMTP)
    whole.make_related()
    for number, text in enumerate(texts):
        part = email.message.EmailMessage(policy=email.policy.SMTP)
        part.set_content(text.encode(), "application", "octet-stream", cte=encoding, cid=f"<p{number}>")
        whole.attach(part)
    whole.set_boundary("b")
    body = whole.as_bytes().partition(b"\r\n\r\n")[2]

    found = read(body, [len(body) // 3, len(body) // 2])

    oracle = email.message_from_bytes(whole.as_bytes(), policy=email.policy.SMTP)
    assert [content for _, content in found] == [
        part.get_payload(decode=True) for part in oracle.iter_parts()
    ]


@pytest.mark.parametrize("boundary", ["", "   ", "x" * 71, "\u00e4"])
def test_a_boundary_that_is_none_is_refused(boundary: str) -> None:
    with pytest.raises(PackageBroken):
        PackageReader(boundary, 10)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"x" * 70_000, "first boundary"),
        (b"--b\r\nContent-ID: <a>\r\n\r\nx", "last boundary"),
        (b"--b\r\nContent-ID: <a>\r\nContent-ID: <b>\r\n\r\nx\r\n--b--", "twice"),
        (b"--b\r\nX: a\rb\r\n\r\nx\r\n--b--", "control"),
        (b"--b\r\n" + b"X: y\r\n" * 4000 + b"\r\nx\r\n--b--", "more than 16384"),
        (b"--b\r\nContent-Type: multipart/mixed; boundary=c\r\n\r\nx\r\n--b--", "inside the package"),
        (b"--b\r\nContent-Transfer-Encoding: x-uuencode\r\n\r\nx\r\n--b--", "not read"),
        (b"--b\r\nContent-Transfer-Encoding: base64\r\n\r\nabc\r\n--b--", "cut off"),
        (b"--b\r\nContent-Transfer-Encoding: base64\r\n\r\na*c=\r\n--b--", "no base64"),
        (
            b"--b\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n" + b"y" * 70_000 + b"\r\n--b--",
            "line",
        ),
        (b"--b\r\n\r\n\r\n" * 12 + b"--b--", "more than 10 parts"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(data: bytes, why: str) -> None:
    with pytest.raises(PackageBroken, match=why):
        read(data, list(range(0, len(data), 1000)), most=10)


def test_a_long_content_is_handed_on_as_it_comes_and_not_kept() -> None:
    reader = PackageReader("b", 10)
    list(reader.feed(b"--b\r\n\r\n"))
    for _ in range(100):
        handed = sum(len(event.data) for event in reader.feed(b"y" * 65_536) if isinstance(event, PartData))
        assert handed >= 65_000
        assert len(reader._buffer) < 1000
