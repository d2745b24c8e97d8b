"""Which part of a partitioned resource a link means, what a leaf inherits, and what is wrong with a partition."""

from collections.abc import Sequence

import pytest

from tests.unit.jdf.tickets import PROCESS, changed, codes, root_of
from ticketbridge.jdf.check import check
from ticketbridge.jdf.partitions import Choices, Chosen, Keys, TooManyParts
from ticketbridge.jdf.read_ticket import read_ticket
from ticketbridge.jdf.writing import Element
from ticketbridge.model.codes import remedy, sentence
from ticketbridge.vocabulary.names import jdf

MEDIA = '<Media ID="m" Class="Consumable" Status="Available" MediaUnit="Roll" Thickness="500"/>'
HEAD = 'ID="m" Class="Consumable" Status="Available" MediaUnit="Roll" Thickness="500"'
TWO_LEVELS = f"""<Media {HEAD} PartIDKeys="Location Run" Weight="500">
<Media Location="Roll-1" Weight="400"><Media Run="a" Brand="1a"/><Media Run="b" Brand="1b" Weight="300"/></Media>
<Media Location="Roll-2"><Media Run="a" Brand="2a"/></Media>
</Media>"""


def media(text: str) -> Element:
    found = root_of(changed(PROCESS, (MEDIA, text))).find(f"{jdf('ResourcePool')}/{jdf('Media')}")
    assert found is not None
    return found


def choose(resource: Element, parts: Sequence[Keys]) -> Chosen | None:
    return Choices().choose(resource, parts)


def brands(*parts: dict[str, str], usage: str = "") -> list[str | None]:
    resource = media(TWO_LEVELS)
    if usage:
        resource.set("PartUsage", usage)
    chosen = choose(resource, parts)
    return [] if chosen is None else [way[0].get("Brand") for way in chosen.ways]


@pytest.mark.parametrize(
    ("parts", "leaves"),
    [
        ([], ["1a", "1b", "2a"]),
        ([{}], ["1a", "1b", "2a"]),
        ([{"Location": "Roll-1"}], ["1a", "1b"]),
        ([{"Run": "a"}], ["1a", "2a"]),
        ([{"Location": "Roll-1", "Run": "b"}], ["1b"]),
        ([{"Location": "Roll-2"}, {"Run": "b"}], ["2a", "1b"]),
        ([{"Location": "Roll-2"}, {"Run": "a"}], ["2a", "1a"]),
        ([{"Separation": "Cyan"}], ["1a", "1b", "2a"]),
    ],
)
def test_a_part_names_the_leaves_that_agree_with_it(parts: list[dict[str, str]], leaves: list[str]) -> None:
    assert brands(*parts) == leaves


def test_a_part_that_is_not_there_is_none_unless_the_partition_may_be_incomplete() -> None:
    asked = {"Location": "Roll-2", "Run": "b"}
    assert brands(asked) == brands(asked, usage="Explicit") == []
    assert brands(asked, usage="Implicit") == brands(asked, usage="Sparse") == [None]
    assert brands({"Location": "Roll-3"}, usage="Implicit") == [None]


@pytest.mark.parametrize(
    ("part", "weight"),
    [
        ({"Location": "Roll-1", "Run": "b"}, "300"),
        ({"Location": "Roll-1", "Run": "a"}, "400"),
        ({"Location": "Roll-2", "Run": "a"}, "500"),
        ({"Location": "Roll-1"}, None),
    ],
)
def test_a_leaf_inherits_what_it_does_not_say_and_leaves_that_differ_say_nothing(
    part: dict[str, str], weight: str | None
) -> None:
    chosen = choose(media(TWO_LEVELS), [part])
    assert chosen is not None
    said = chosen.said_by("Weight")
    assert (None if said is None else said.raw) == weight
    assert chosen.differs_in("Thickness", "Weight") == (None if weight else "Weight")


def test_a_very_deep_partition_is_followed_to_its_end() -> None:
    depth = 90
    text = f'<Media {HEAD} PartIDKeys="Run">' + '<Media Run="a">' * depth + "</Media>" * (depth + 1)
    chosen = choose(media(text), [])
    assert chosen is not None
    assert len(chosen.ways[0]) == depth + 1


IDENTICAL = f"""<Media {HEAD} PartIDKeys="Location Run">
<Media Location="Roll-1"><Media Run="a" Brand="1a"/><Media Run="b" Brand="1b"/></Media>
<Media Location="Roll-2"><Identical><Part Location="Roll-1"/></Identical></Media>
<Media Location="Roll-3"><Identical><Part Location="Roll-3"/></Identical></Media>
</Media>"""


@pytest.mark.parametrize(
    ("part", "brands"),
    [
        ({"Location": "Roll-2"}, ["1a", "1b"]),
        ({"Location": "Roll-2", "Run": "b"}, ["1b"]),
        ({"Location": "Roll-3"}, [None]),
    ],
)
def test_a_part_that_is_identical_to_another_says_what_that_one_says(
    part: Keys, brands: list[str | None]
) -> None:
    chosen = choose(media(IDENTICAL), [part])
    assert chosen is not None
    assert [way[0].get("Brand") for way in chosen.ways] == brands


@pytest.mark.parametrize(
    ("keys", "right"),
    [('Location="a"', True), ('Run="1"', False), ('Location="a" Run="1"', False), ("", False)],
)
def test_a_part_is_identical_to_one_of_its_own_level_only(keys: str, right: bool) -> None:
    inside = f'PartIDKeys="Location Run"><Media Location="a"/><Media Location="b"><Identical><Part {keys}/></Identical></Media>'
    findings = check(root_of(changed(PROCESS, (MEDIA, f"<Media {HEAD} {inside}</Media>"))), "t.jdf")
    assert codes(findings) == ([] if right else ["ticket.part-wrong-identical"])


def test_the_same_question_is_answered_once_and_too_many_are_refused() -> None:
    choices, resource = Choices(leaves_left=20), media(TWO_LEVELS)
    for _ in range(1000):
        assert choices.choose(resource, [{"Run": "a"}]) is choices.choose(resource, [{"Run": "a"}])
    with pytest.raises(TooManyParts):
        choices.choose(resource, [{"Separation": str(number)} for number in range(1000)])


def test_a_ticket_of_crossed_parts_is_refused_and_keeps_nobody_waiting() -> None:
    leaves = "".join(f'<Media Location="r{number}"/>' for number in range(2000))
    asked = "".join(f'<Part Separation="s{number}"/>' for number in range(2000))
    link = '<MediaLink rRef="m" Usage="Input" CombinedProcessIndex="2"'
    document = changed(
        PROCESS,
        (MEDIA, f'<Media {HEAD} PartIDKeys="Location">{leaves}</Media>'),
        (f"{link}/>", f"{link}>{asked}</MediaLink>"),
    )
    ticket, findings = read_ticket(root_of(document), "t.jdf")
    assert (ticket.items, codes(findings)) == ((), ["ticket.too-many-parts"])


@pytest.mark.parametrize(
    ("inside", "found"),
    [
        ('PartIDKeys="Location"><Media Location="a"/><Media Location="b"/>', []),
        ('PartIDKeys="Location Run"><Media Location="a"><Media Run="1"/></Media>', []),
        ('PartIDKeys="Location Run"><Media Location="a"><Media Run="1"/></Media><Media Location="b"><Media Run="1"/></Media>', []),
        ('PartIDKeys="Location Run"><Media Location="a"/>', []),
        ('PartIDKeys="Location"><Media/>', ["ticket.part-wrong-key"]),
        ('PartIDKeys="Location"><Media Separation="Cyan"/>', ["ticket.part-wrong-key"]),
        ('PartIDKeys="Location Run"><Media Location="a" Run="1"/>', ["ticket.part-wrong-key"]),
        ('PartIDKeys="Location Run"><Media Run="1"/>', ["ticket.part-wrong-key"]),
        ('PartIDKeys="Location"><Media Location="a"><Media Location="b"/></Media>', ["ticket.part-wrong-key"]),
        ('PartIDKeys="Location"><Media Location="a"/><Media Location="a"/>', ["ticket.part-twice"]),
        ('><Media Location="a"/><Media Location="b"/>', ["ticket.part-without-keys"]),
    ],
)  # fmt: skip
def test_each_level_of_parts_sets_one_key_and_no_part_is_there_twice(inside: str, found: list[str]) -> None:
    findings = check(root_of(changed(PROCESS, (MEDIA, f"<Media {HEAD} {inside}</Media>"))), "t.jdf")
    assert codes(findings) == found
    for finding in findings:
        assert sentence(finding)
        assert remedy(finding)
        assert finding.place.path is not None
        assert finding.place.path.startswith("/JDF/ResourcePool/Media/Media")


def test_a_partition_written_inside_another_resource_is_looked_at_too() -> None:
    inline = '<DigitalPrintingParams ID="dp" Class="Parameter" Status="Available" PrintingType="WebFed">{}</DigitalPrintingParams>'
    wrong = inline.format('<Media PartIDKeys="Location"><Media/><Media/></Media>')
    params = '<DigitalPrintingParams ID="dp" Class="Parameter" Status="Available" PrintingType="WebFed"/>'
    findings = check(root_of(changed(PROCESS, (params, wrong))), "t.jdf")
    assert codes(findings) == ["ticket.part-wrong-key", "ticket.part-wrong-key"]
