"""Documents of ours, spoiled: bytes, words, elements. The same number gives the same document everywhere."""

import random
import re
from collections.abc import Callable, Sequence
from copy import deepcopy
from typing import Final

from lxml import etree

from tests.unit.daemon.http.office import command, jmf, query, submit
from tests.unit.flow.bench import COUNTER_HEADINGS, counter_line
from tests.unit.jdf.tickets import GOLDEN, GOLDEN_PROCESS, MESSAGE, ORDER, PROCESS
from ticketbridge.demo.orders import ORDERS, ticket

Document = tuple[str, bytes]
"""The ending of its name, and its content."""

QUEUE_FILTER: Final = '<QueueFilter QueueEntryDetails="Full" MaxEntries="3"/>'
SEEDS: Final[tuple[Document, ...]] = (
    *(
        (".jdf", path.read_bytes())
        for folder in (GOLDEN, GOLDEN_PROCESS)
        for path in sorted(folder.glob("*.jdf"))
    ),
    *((".jdf", ticket(order)) for order in ORDERS if order.raw is None),
    (".jdf", ORDER.encode()),
    (".jdf", PROCESS.encode()),
    (".jmf", MESSAGE.encode()),
    (".jmf", jmf(submit(), query("QueueStatus", QUEUE_FILTER), query("KnownDevices", message_id="q2"))),
    (".jmf", jmf(command("RemoveQueueEntry", '<QueueEntryDef QueueEntryID="Q000001"/>'))),
    (".csv", "\n".join([COUNTER_HEADINGS, counter_line("HC-1"), counter_line("HC-2", pieces="3")]).encode()),
)
AWKWARD: Final = (
    "", " ", "0", "-0", "-1", "1e309", "NaN", "INF", "-INF", "9" * 400, "1,5", "1 000", "0x10", "1e-320", "0.1.2",
    "\u0663", "true", "2026-02-31T00:00:00Z", "0000-01-01T00:00:00Z", "9999-12-31T23:59:59+14:00", "24:00", "\ud7ff",
    "../../x", "file:///dev/zero", "cid:x", "http://[", "%00", "%", "a" * 5000, "=1+1", "]]>", "&#0;", "&lt;", "{0}",
    "{missing}", "%s", "'\"", "\u202e", "\U0001f600", "n1", "li", "x ~ y", "1 ~ 0", "0 ~ -1", "1 2 3 4 5 6 7",
)  # fmt: skip
WORD: Final = re.compile(rb'(?<=")[^"<>]{0,200}(?=")|[\w.+-]+')


def case(number: int, seed: int) -> Document:
    """The document of this number."""
    chance = random.Random(f"{seed}/{number}")
    ending, data = chance.choice(SEEDS)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        data = chance.choice(WAYS)(chance, data)
    return ending, data


def _bytes(chance: random.Random, data: bytes) -> bytes:
    at = chance.randrange(len(data) + 1)
    length = chance.choice((0, 1, 1, 2, 4, 50, 500))
    fresh = (
        chance.randbytes(chance.choice((0, 1, 2, 4))),
        data[at : at + length] * 2,
        chance.choice(
            (
                b"\0",
                b"<",
                b">",
                b"&",
                b'"',
                b"\xff\xfe",
                b"\xef\xbb\xbf",
                b"<!DOCTYPE a>",
                b"<![CDATA[",
                b"-->",
            )
        ),
    )
    return data[:at] + chance.choice(fresh) + data[at + length :]


def _cut(chance: random.Random, data: bytes) -> bytes:
    return data[: chance.randrange(len(data) + 1)]


def _word(chance: random.Random, data: bytes) -> bytes:
    words = list(WORD.finditer(data))
    if not words:
        return data
    old = chance.choice(words)
    new = chance.choice((chance.choice(AWKWARD).encode(), chance.choice(words)[0]))
    return data[: old.start()] + new + data[old.end() :]


def _spliced(chance: random.Random, data: bytes) -> bytes:
    other = chance.choice(SEEDS)[1]
    at, there = chance.randrange(len(data) + 1), chance.randrange(len(other) + 1)
    return data[:at] + other[there : there + chance.choice((10, 100, 1000))] + data[at:]


def _elements(chance: random.Random, data: bytes) -> bytes:
    try:
        root = etree.fromstring(data)
    except (etree.XMLSyntaxError, ValueError):
        return data
    elements = list(root.iter("*"))
    one, two = chance.choice(elements), chance.choice(elements)
    chance.choice(ON_ELEMENTS)(chance, one, two)
    return etree.tostring(root, xml_declaration=chance.random() < 0.5, encoding="UTF-8")


def _double(_chance: random.Random, one: etree._Element, two: etree._Element) -> None:
    two.append(deepcopy(one))


def _move(_chance: random.Random, one: etree._Element, two: etree._Element) -> None:
    if one not in [two, *two.iterancestors()]:
        two.append(one)


def _drop(_chance: random.Random, one: etree._Element, _two: etree._Element) -> None:
    parent = one.getparent()
    if parent is not None:
        parent.remove(one)


def _rename(_chance: random.Random, one: etree._Element, two: etree._Element) -> None:
    one.tag = two.tag


def _attribute(chance: random.Random, one: etree._Element, two: etree._Element) -> None:
    names = [str(name) for name in (*one.attrib, *two.attrib)]
    if names:
        value = chance.choice((chance.choice(AWKWARD), *map(str, two.attrib.values())))
        if not re.search("[\x00-\x08]", value):
            one.set(chance.choice(names), value)


def _nest(chance: random.Random, one: etree._Element, _two: etree._Element) -> None:
    for _ in range(chance.choice((1, 5, 120))):
        one = etree.SubElement(one, one.tag, dict(one.attrib))


ON_ELEMENTS: Final[Sequence[Callable[[random.Random, etree._Element, etree._Element], None]]] = (
    _double, _move, _drop, _rename, _nest, *[_attribute] * 5,
)  # fmt: skip
WAYS: Final[Sequence[Callable[[random.Random, bytes], bytes]]] = (
    _bytes, _cut, _spliced, _word, _word, *[_elements] * 9,
)  # fmt: skip
