"""Documents of ours, spoiled: bytes, words, elements, values. The same number gives the same document everywhere."""

import random
import re
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from typing import Final

from lxml import etree

from tests.fuzz.documents import SEEDS, SHARES, Document
from tests.fuzz.mutate_packed import in_part, in_pdf_object, in_workbook
from tests.fuzz.mutate_text import AWKWARD, cut_off, in_bytes, in_cells, in_values, in_words

Way = Callable[[random.Random, bytes], bytes]


def case(number: int, seed: int) -> Document:
    """The document of this number."""
    chance = random.Random(f"{seed}/{number}")
    name = some_name(chance)
    return spoiled(chance, Document(name, chance.choice(SEEDS[name])), SEEDS[name])


def some_name(chance: random.Random, names: Sequence[str] = tuple(SHARES)) -> str:
    """One of the ways in, by their shares."""
    return chance.choices(names, [SHARES[name] for name in names])[0]


def spoiled(chance: random.Random, document: Document, others: Sequence[bytes]) -> Document:
    """The document spoiled once or a few times; pieces of others may get into it."""
    data = document.data
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        way = chance.choice(WAYS[document.ending])
        data = _spliced(chance, data, chance.choice(others)) if way is None else way(chance, data)
    return Document(document.name, data)


def _spliced(chance: random.Random, data: bytes, other: bytes) -> bytes:
    at, there = chance.randrange(len(data) + 1), chance.randrange(len(other) + 1)
    return data[:at] + other[there : there + chance.choice((10, 100, 1000))] + data[at:]


def in_elements(chance: random.Random, data: bytes) -> bytes:
    """One element doubled, moved, dropped, renamed, nested, or with another attribute."""
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
_TEXT: Final[Sequence[Way | None]] = (in_bytes, cut_off, None, in_words, in_words)
_XML: Final[Sequence[Way | None]] = (*_TEXT, *[in_elements] * 9)


def _in_xml(chance: random.Random, data: bytes) -> bytes:
    """For XML inside something else."""
    return chance.choice((in_bytes, in_words, in_words, *[in_elements] * 4))(chance, data)


def _in_workbook(chance: random.Random, data: bytes) -> bytes:
    return in_workbook(chance, data, _in_xml)


def _in_part(chance: random.Random, data: bytes) -> bytes:
    return in_part(chance, data, _in_xml)


WAYS: Final[Mapping[str, Sequence[Way | None]]] = {
    ".jdf": _XML,
    ".jmf": _XML,
    ".xml": _XML,
    ".json": (*_TEXT, *[in_values] * 9),
    ".csv": (*_TEXT, in_words, *[in_cells] * 6),
    ".xlsx": (in_bytes, cut_off, *[_in_workbook] * 8),
    ".mime": (*_TEXT, *[_in_part] * 8),
    ".pdf": (*_TEXT, *[in_pdf_object] * 8),
}
"""How documents of an ending are spoiled; None puts a piece of another document in."""
