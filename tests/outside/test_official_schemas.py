"""Our schemas beside the standard's own: what ours refuses and the official one accepts must break a named rule."""

import re
from collections import defaultdict
from collections.abc import Iterator
from math import isfinite
from pathlib import Path
from typing import Any

import pytest
import xmlschema
from lxml import etree

from ticketbridge.jdf.kinds import Kind, kind_of_root
from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.schema_catalogue import explaining_schema
from ticketbridge.jdf.versions import FIRST_VERSION, LAST_VERSION, first_version
from ticketbridge.vocabulary.names import jdf

XS = "{http://www.w3.org/2001/XMLSchema}"

VALUES = [
    "", " ", "0", "1", "-1", "5", "-5", "0.5", "-0.5", "1e3", "1E3", "+5", " 5 ", "1.5.2", "100", "101",
    "true", "false", "TRUE", "INF", "-INF", "NaN", "1e309", "99999999999999999999",
    "0 0", "1 2", "-1 2", "1 2 3", "-1 2 3", "1 2 INF", "1 2 3 4", "0.1 0.2 0.3 0.4", "1 2 3 4 5 6", "1 0 0 -1 5 5",
    "1 ~ 2", "0~3", "0 ~ -1", "0 ~ 3 5", "INF ~ 3", "3 ~ INF", "1 2 ~ 3 4", "1 2 3 ~ 4 5 6",
    "Word", "Two Words", "a:b", "1a", "a,b", "ÄÖ", "a b c", "~", "x/y",
    "x" * 63, "x" * 64, "x" * 255, "x" * 256, "x" * 1023, "x" * 1024, "x" * 4095, "x" * 4096,
    "2026-03-09T12:00:00+01:00", "2026-03-09T12:00:00", "2026-02-30T12:00:00Z", "2026-03-09T24:00:00Z", "2026-03-09",
    "2026-03-09T12:00:00Z ~ 2026-03-10T12:00:00Z", "PT1H", "P1D", "-PT1H", "1H",
    "file:///a/b.pdf", "a b.pdf", "http://x/y", "cid:a@b", "en", "en-GB", "00ff", "0ff",
    "1.0", "1.3", "1.9", "1.10", "2.0", "1.3 1.4", "/JDF/@ID",
]  # fmt: skip
"""Texts of every form that an attribute of JDF has, and of some that none has."""

NUMBERS = {
    "Count", "Counts", "Lab", "Matrix", "NotNegative", "Positive", "PositivePair", "Priority", "Ranges", "Rectangle",
    "Shape", "Size", "Whole", "WholeRanges", "XYPair",
}  # fmt: skip
CLOSED_LISTS_IN_SPANS = {
    "MediaCoatings", "MediaCoatingsList", "MediaType", "MediaTypes", "Opacities", "Opacity", "PrintPreference",
    "PrintPreferences",
}  # fmt: skip
FILED_WRONGLY = {"JMF/Command/SuspendQueueEntryParams", "JMF/Query/FlushQueueParams"}
"""Parameters of a message that the official schema counts among others, unless the message has an xsi:type."""
GLUED = re.compile(r"[\d]+([-+]\d+)+")
"""The official pattern for lists of whole numbers lets them touch; a date is three of them to it."""


@pytest.fixture(scope="module")
def official(shared: Path) -> xmlschema.XMLSchema:
    return xmlschema.XMLSchema(str(shared / "standards" / "jdf" / "JDF.xsd"))


class Step:
    """An element of our vocabulary with its kind, the official type of the same, and the way to it."""

    def __init__(self, way: tuple[tuple[str, Any], ...], kind: Kind) -> None:
        self.way = way
        self.kind = kind

    @property
    def name(self) -> str:
        return self.way[-1][0]

    @property
    def type(self) -> Any:
        return self.way[-1][1]

    def __str__(self) -> str:
        return "/".join(name for name, _ in self.way)


@pytest.fixture(scope="module")
def steps(official: xmlschema.XMLSchema) -> list[Step]:
    """Every element of ours in every place, as far as the last three names make a difference."""
    found: list[Step] = []
    seen = set()
    todo = [
        Step((("JDF", official.maps.types[jdf("JDFProcessNode")]),), kind_of_root("JDF")),
        Step((("JMF", official.maps.types[jdf("JMFRootMessage")]),), kind_of_root("JMF")),
    ]
    while todo:
        step = todo.pop()
        key = (step.kind.name, tuple(name for name, _ in step.way[-3:]))
        if key in seen:
            continue
        seen.add(key)
        found.append(step)
        for tag, kind in step.kind.children.items():
            if f"{step}/{local_name(tag)}" in FILED_WRONGLY:
                continue
            child = official_child(official, step.type, tag)
            assert child is not None, f"the official schema has no {local_name(tag)} in {step}"
            todo.append(Step((*step.way, (local_name(tag), child)), kind))
    return found


def official_child(official: xmlschema.XMLSchema, parent: Any, tag: str) -> Any:
    """The official type of a child, by its own declaration or as a substitute for what is declared."""
    declared = {element.name: element for element in parent.content.iter_elements()}
    if tag in declared:
        return declared[tag].type
    substitute = official.maps.elements[tag]
    head = substitute.substitution_group
    while head is not None and head not in declared:
        head = official.maps.elements[head].substitution_group
    return None if head is None else substitute.type


def test_every_attribute_of_ours_is_an_official_one(steps: list[Step]) -> None:
    unknown = [
        f"{step}/@{name}"
        for step in steps
        for name in step.kind.attributes
        if name not in step.type.attributes
    ]
    assert unknown == []


def test_what_must_be_there_is_the_same(steps: list[Step]) -> None:
    for step in steps:
        official_required = {
            name for name in step.kind.attributes if step.type.attributes[name].use == "required"
        }
        assert set(step.kind.required) == official_required, str(step)


def test_fixed_values_are_the_same(steps: list[Step]) -> None:
    for step in steps:
        for name, value in step.kind.fixed.items():
            assert step.type.attributes[name].fixed == value, f"{step}/@{name}"


def is_valid(type_: Any, value: str) -> bool:
    return bool(type_.is_valid(value))


def words_of(type_: Any) -> list[str]:
    item = getattr(type_, "item_type", None)
    return [str(word) for one in (type_, item) for word in (getattr(one, "enumeration", None) or ())]


def pairs_of_types(steps: list[Step]) -> Iterator[tuple[str, Any, Any, str]]:
    """Each pair of our type and the official one, once, with an attribute that has them."""
    seen = set()
    for step in steps:
        schema = explaining_schema("JMF" if str(step).startswith("JMF") else "JDF")
        for name, type_name in step.kind.attributes.items():
            their = step.type.attributes[name].type
            if name in step.kind.fixed or (type_name, their.name or id(their)) in seen:
                continue
            seen.add((type_name, their.name or id(their)))
            own = f"{XS}{type_name[3:]}" if type_name.startswith("xs:") else jdf(type_name)
            yield type_name, schema.maps.types[own], their, f"{step}/@{name}"


def breaks_a_rule(type_name: str, value: str) -> bool:
    """Whether a value breaks a rule that our schema states on purpose.

    Numbers are finite and not negative, and above zero where nothing can be zero (rule 8 of the facts, section
    12); a span takes the words of the closed list it stands for (rule 9). A process index is a position in Types
    (rule 3), so it is not negative.
    """
    if type_name in CLOSED_LISTS_IN_SPANS:
        return True
    if type_name == "WholeRanges" and GLUED.search(value):
        return True
    zero = not type_name.startswith("Positive")
    return type_name in NUMBERS and any(not is_sensible(word, zero=zero) for word in value.split())


def is_sensible(word: str, *, zero: bool) -> bool:
    try:
        number = float(word)
    except ValueError:
        return True
    return isfinite(number) and 0 <= number <= 1e15 and (zero or number > 0)


def test_what_only_ours_refuses_breaks_a_rule(steps: list[Step]) -> None:
    unexplained = [
        (where, type_name, value)
        for type_name, own, their, where in pairs_of_types(steps)
        for value in [*VALUES, *words_of(their)]
        if is_valid(their, value) and not is_valid(own, value) and not breaks_a_rule(type_name, value)
    ]
    assert unexplained == []


def test_numbers_above_zero_where_zero_has_no_sense() -> None:
    """The one place where ours refuses zero: nothing is 0 micron thick, weighs nothing, or prints at 0 dpi."""
    positive = {
        f"{kind.name}/@{name}"
        for kind in _every_kind()
        for name, type_name in kind.attributes.items()
        if type_name.startswith("Positive")
    }
    assert positive == {
        "InterpretingParams/@Scaling", "InterpretingParamsLeaf/@Scaling", "Media/@Thickness", "Media/@Weight", "MediaInside/@Thickness",
        "MediaInside/@Weight", "MediaLeaf/@Thickness", "MediaLeaf/@Weight", "ObjectResolution/@Resolution",
        "PositiveNumberSpan/@Actual", "PositiveNumberSpan/@Preferred",
    }  # fmt: skip


def test_every_closed_list_is_the_same(steps: list[Step]) -> None:
    for type_name, own, their, where in pairs_of_types(steps):
        if type_name not in CLOSED_LISTS_IN_SPANS and words_of(own):
            official_words = words_of(their)
            assert not official_words or set(words_of(own)) == set(official_words), where


def _every_kind() -> list[Kind]:
    found = [kind_of_root("JDF"), kind_of_root("JMF")]
    for kind in found:
        found += [child for child in dict.fromkeys(kind.children.values()) if child not in found]
    return found


# Versions

Notes = dict[tuple[str, str], dict[str, tuple[str | None, str | None]]]


@pytest.fixture(scope="module")
def notes(shared: Path) -> Notes:
    """What the official schemas note about versions: (kind of definition, its name) -> path -> (first, last)."""
    found: Notes = defaultdict(dict)
    definitions = (f"{XS}element", f"{XS}complexType", f"{XS}attributeGroup")
    for path in (shared / "standards" / "jdf").glob("*.xsd"):
        for note in etree.parse(path).iter("{*}Version"):
            owner = next((one for one in note.iterancestors(*definitions) if one.get("name")), None)
            if owner is None:
                continue  # on a simple type
            of_owner = found[local_name(owner), owner.get("name", "")]
            first, last = of_owner.get(note.get("Path", ""), (None, None))
            of_owner[note.get("Path", "")] = (note.get("First", first), note.get("Last", last))
    return found


def with_base_types(type_: Any) -> Iterator[str]:
    """The name of a type of the standard and of those it extends."""
    while type_ is not None and type_.name and type_.name.startswith(jdf("")):
        yield local_name(type_.name)
        type_ = type_.base_type


def noted(step: Step, what: str, notes: Notes) -> Iterator[tuple[str | None, str | None]]:
    """Notes about an attribute or a child, at its element or at one around it, and at their types."""
    path = what
    for name, type_ in reversed(step.way):
        for type_name in with_base_types(type_):
            yield from filter(None, [notes["complexType", type_name].get(path)])
        yield from filter(None, [notes["element", name].get(path)])
        path = f"{name}/{path}"


def dated(steps: list[Step], notes: Notes) -> Iterator[tuple[str, str, str | None, str | None]]:
    """Element, attribute or child, latest first version, earliest last version."""
    for step in steps:
        row = "ResourceLink" if step.name.endswith("Link") else step.name
        whats = [*(f"@{name}" for name in step.kind.attributes), *map(local_name, step.kind.children)]
        for what in whats:
            found = list(noted(step, what, notes))
            firsts = [first for first, _ in found if first]
            lasts = [last for _, last in found if last]
            yield row, what, max(firsts, default=None), min(lasts, default=None)


def test_every_word_that_came_after_1_1_has_its_version(steps: list[Step], notes: Notes) -> None:
    """Later than 1.1, which includes everything later than 1.3, the oldest version that is written to a press."""
    wrong = {
        (row, what, first, first_version(row, what))
        for row, what, first, _ in dated(steps, notes)
        if first is not None and first > "1.1" and first_version(row, what) != first
    }
    assert wrong == set()


def test_no_version_is_invented(steps: list[Step], notes: Notes) -> None:
    official_rows = {(row, what): first for row, what, first, _ in dated(steps, notes) if first}
    invented = {
        row: version
        for row, version in FIRST_VERSION.items()
        if row[0] != "*" and official_rows.get(row) != version
    }
    assert invented == {}
    withdrawn = {(row, what): last for row, what, _, last in dated(steps, notes) if last}
    assert {row: version for row, version in LAST_VERSION.items() if withdrawn.get(row) != version} == {}


KEPT = {"@ID", "@rRefs", "NodeInfo", "CustomerInfo", "Company", "CompanyRef"}
"""Withdrawn in their old place and still read there: IDs inside resources, planning in the node. Never taken out."""


def test_every_word_that_was_withdrawn_is_known(steps: list[Step], notes: Notes) -> None:
    unknown = {
        (row, what, last)
        for row, what, _, last in dated(steps, notes)
        if last is not None and what not in KEPT and LAST_VERSION.get((row, what)) != last
    }
    assert unknown == set()
