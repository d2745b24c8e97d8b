"""Bytes, words, table cells and JSON values, spoiled."""

import json
import random
import re
from typing import Any, Final

AWKWARD: Final = (
    "", " ", "0", "-0", "-1", "1e309", "NaN", "INF", "-INF", "9" * 400, "1,5", "1 000", "0x10", "1e-320", "0.1.2",
    "\u0663", "true", "2026-02-31T00:00:00Z", "0000-01-01T00:00:00Z", "9999-12-31T23:59:59+14:00", "24:00", "\ud7ff",
    "../../x", "file:///dev/zero", "cid:x", "http://[", "%00", "%", "a" * 5000, "=1+1", "]]>", "&#0;", "&lt;", "{0}",
    "{missing}", "%s", "'\"", "\u202e", "\U0001f600", "n1", "li", "x ~ y", "1 ~ 0", "0 ~ -1", "1 2 3 4 5 6 7",
    "1/0", "6' 6 1/2\"", "31.02.2026", "29.2.1900", "top top", "25 25; 1", "Q000001", "1e5", "\u00b2", "INF INF",
)  # fmt: skip
WORD: Final = re.compile(rb'(?<=")[^"<>]{0,200}(?=")|[\w.+-]+')
_MARKS: Final = (
    b"\0", b"<", b">", b"&", b'"', b"\xff\xfe", b"\xef\xbb\xbf", b"<!DOCTYPE a>", b"<![CDATA[", b"-->", b"\r", b"\n\n",
    b"\xe2\x80\xa8", b"\x85", b"\x1c",
)  # fmt: skip
_VALUES: Final = (None, True, False, [], {}, 0, -1, 10**30, 1e308, 0.1, [[]], [None], {"": 1})
DEEP: Final = (1, 5, 120)


def in_bytes(chance: random.Random, data: bytes) -> bytes:
    """Some bytes taken out, doubled, or others put in."""
    at = chance.randrange(len(data) + 1)
    length = chance.choice((0, 1, 1, 2, 4, 50, 500))
    fresh = (chance.randbytes(chance.choice((0, 1, 2, 4))), data[at : at + length] * 2, chance.choice(_MARKS))
    return data[:at] + chance.choice(fresh) + data[at + length :]


def cut_off(chance: random.Random, data: bytes) -> bytes:
    """The end is missing."""
    return data[: chance.randrange(len(data) + 1)]


def in_words(chance: random.Random, data: bytes) -> bytes:
    """An attribute's value or a word becomes another one of the document, or an awkward one."""
    words = list(WORD.finditer(data))
    if not words:
        return data
    old = chance.choice(words)
    new = chance.choice((chance.choice(AWKWARD).encode(), chance.choice(words)[0]))
    return data[: old.start()] + new + data[old.end() :]


def in_cells(chance: random.Random, data: bytes) -> bytes:
    """A cell of a table replaced, dropped or doubled, or a line dropped, doubled or moved."""
    separator = max((b";", b",", b"\t"), key=data.count)
    lines = data.split(b"\n")
    at, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    cells = lines[at].split(separator)
    spot = chance.randrange(len(cells))
    awkward = chance.choice(AWKWARD).encode()
    match chance.randrange(8):
        case 0:
            del cells[spot]
        case 1:
            cells.insert(spot, chance.choice(cells))
        case 2:
            cells[spot] = b'"' + awkward.replace(b'"', b'""') + b'"'
        case 3:
            lines.insert(other, lines[at])
        case 4:
            del lines[other]
        case _:
            cells[spot] = chance.choice((awkward, chance.choice(lines[other].split(separator))))
    if at < len(lines):
        lines[at] = separator.join(cells)
    return b"\n".join(lines)


def in_values(chance: random.Random, data: bytes) -> bytes:
    """A value of a JSON document replaced, dropped, moved, doubled or nested."""
    try:
        root = json.loads(data)
        spots = list(_spots(root))
    except (ValueError, RecursionError):
        return in_bytes(chance, data)
    if not spots:
        return data
    (holder, key), (there, name) = chance.choice(spots), chance.choice(spots)
    match chance.randrange(8):
        case 0:
            del holder[key]
        case 1:
            holder[key] = there[name]
        case 2:
            holder[key] = [holder[key]] * 2
        case 3:
            for _ in range(chance.choice(DEEP)):
                holder[key] = chance.choice(([holder[key]], {str(name): holder[key]}))
        case 4 if isinstance(holder, dict):
            holder[chance.choice(AWKWARD)] = holder[key]
        case 5:
            holder[key] = chance.choice(_VALUES)
        case _:
            holder[key] = chance.choice(AWKWARD)
    try:
        return json.dumps(root, ensure_ascii=chance.random() < 0.5).encode()
    except (ValueError, RecursionError):  # it holds itself, or is too deep to be written
        return data


def _spots(value: Any) -> Any:
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            yield value, key
            yield from _spots(value[key])
