"""Documents with others inside, spoiled within: workbooks, packages, PDFs, so that what holds them together fits again."""

import gzip
import io
import random
import re
import warnings
import zipfile
import zlib
from collections.abc import Callable
from typing import Final

from tests.fuzz.mutate_text import AWKWARD, in_bytes, in_words
from tests.unit.accept.pdfs import assembled

Inside = Callable[[random.Random, bytes], bytes]
MOST_BYTES: Final = 1 << 20
LIKELY: Final = re.compile(r"xl/(worksheets/sheet1|sharedStrings|workbook|styles)\.xml")
_OBJECT: Final = re.compile(rb"\d+ \d+ obj\s(.*?)\sendobj", re.DOTALL)
_OF_PDF: Final = (
    "null", "2 0 R", "3 0 R", "99 0 R", "[]", "<<>>", "[0 0 0 0]", "[720 360 0 0]", "[0 0 14400 1e9]", "/Kids", "-90",
    "45", "true", "(", ")", "/TrimBox [0 0 9 9]", "/MediaBox [0 0 720 360]", "/Kids [2 0 R]", "1e400", "00000000000001",
)  # fmt: skip


def in_workbook(chance: random.Random, data: bytes, inside: Inside) -> bytes:
    """One file of the workbook spoiled, dropped, doubled or put under another's name; the ZIP is sound again."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            members = [(name, book.read(name)[:MOST_BYTES]) for name in book.namelist()]
        likely = [at for at, (name, _) in enumerate(members) if LIKELY.fullmatch(name)]
        at = chance.choice(likely if likely and chance.random() < 0.8 else range(len(members)))
        name, content = members[at]
        match chance.randrange(12):
            case 0:
                del members[at]
            case 1:
                members.append((chance.choice((name, name.upper(), "../" + name)), content))
            case 2:
                members[at] = (name, chance.choice(members)[1])
            case _:
                members[at] = (name, inside(chance, content))
        return _zipped(members)
    except Exception:  # whatever a damaged one raises, its bytes can be spoiled further
        return in_bytes(chance, data)


def _zipped(members: list[tuple[str, bytes]]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as book, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a name that is there twice
        for name, content in members:
            book.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED, 1)
    return made.getvalue()


def in_part(chance: random.Random, data: bytes, inside: Inside) -> bytes:
    """One part of a posted package spoiled, dropped, doubled or moved; below compression, where there is any."""
    head, end, body = data.partition(b"\r\n\r\n")
    squeezed = b"gzip" in head
    if squeezed:
        try:
            body = gzip.decompress(body)
        except (OSError, EOFError, ValueError, zlib.error):
            return in_bytes(chance, data)
    mark = re.search(rb"^--[^\r\n]+", body, re.MULTILINE)
    parts = body.split(mark[0]) if mark else [body]
    at, other = chance.randrange(len(parts)), chance.randrange(len(parts))
    match chance.randrange(12):
        case 0:
            del parts[at]
        case 1:
            parts.insert(other, parts[at])
        case 2:
            parts[at], parts[other] = parts[other], parts[at]
        case 3:
            parts[at] = in_words(chance, parts[at])
        case _:
            parts[at] = _in_xml_of(chance, parts[at], inside)
    body = (mark[0] if mark else b"").join(parts)
    return head + end + (gzip.compress(body, 1, mtime=0) if squeezed else body)


def _in_xml_of(chance: random.Random, part: bytes, inside: Inside) -> bytes:
    begin, end = re.search(rb"^\s*<", part, re.MULTILINE), part.rfind(b">") + 1
    if begin is None or end <= begin.start():
        return in_bytes(chance, part)
    return part[: begin.start()] + inside(chance, part[begin.start() : end].strip()) + part[end:]


def in_pdf_object(chance: random.Random, data: bytes) -> bytes:
    """One object of a PDF spoiled; its cross-reference table is sound again."""
    bodies = _OBJECT.findall(data)
    if not bodies:
        return in_words(chance, data)
    at = chance.randrange(len(bodies))
    match chance.randrange(8):
        case 0:
            bodies[at] = chance.choice(bodies)
        case 1:
            del bodies[at]
        case 2:
            bodies[at] = in_bytes(chance, bodies[at])
        case 3 | 4:
            bodies[at] = in_words(chance, bodies[at])
        case _:
            bodies[at] = _in_tokens(chance, bodies[at])
    return assembled([body.decode("latin-1") for body in bodies])


def _in_tokens(chance: random.Random, body: bytes) -> bytes:
    tokens = re.findall(rb"\[[^]]*\]|\d+ \d+ R|/\w+|<<|>>|[^\s/\[<>]+", body)
    if not tokens:
        return body
    fresh = chance.choice(
        (chance.choice(_OF_PDF).encode(), chance.choice(tokens), chance.choice(AWKWARD).encode())
    )
    at = chance.randrange(len(tokens))
    tokens[at : at + chance.randrange(2)] = [fresh]
    return b" ".join(tokens)
