"""What is too new for a reader, or gone, is left out; everything else stays."""

import pytest

from tests.unit.jdf.tickets import NAMESPACE, root_of
from ticketbridge.jdf.check import check
from ticketbridge.jdf.versions import FIRST_VERSION, LAST_VERSION, first_version, fit_to_version
from ticketbridge.jdf.writing import as_bytes
from ticketbridge.vocabulary.names import JDF_VERSIONS

LANE_TICKET = f"""<JDF {NAMESPACE} xmlns:tb="tag:ticketbridge.example,2026:1" ID="n" Type="Combined" Status="Waiting"
Types="Interpreting DigitalPrinting" Category="DigitalPrinting" JobID="J" Version="1.9">
<GeneralID IDUsage="PrintMode" IDValue="M" DataType="NamedFeature"/>
<ResourcePool>
<Device ID="d" Class="Implementation" Status="Available" DeviceID="A" DeviceClass="WideFormatPrinter"><Module ModuleID="r"/></Device>
<Media ID="m" Class="Consumable" Status="Available" Thickness="500" InnerCoreDiameter="216" OuterCoreDiameter="244" tb:Lot="x"/>
<Tile ID="t" Class="Parameter" Status="Available" CTM="1 0 0 1 0 0" ClipBox="0 0 1 1" TrimBox="0 0 1 1"/>
</ResourcePool>
<ResourceLinkPool>
<MediaLink rRef="m" Usage="Input"><AmountPool><PartAmount Amount="1"><Part LotID="L" Condition="Good"/></PartAmount></AmountPool><Lot LotID="L"/></MediaLink>
</ResourceLinkPool>
<AuditPool><Created TimeStamp="2026-01-01T00:00:00Z" ID="a" Author="B"/></AuditPool>
</JDF>"""


def fitted(version: str) -> str:
    root = root_of(LANE_TICKET)
    fit_to_version(root, version)
    assert check(root, "t.jdf") == []
    return as_bytes(root).decode()


@pytest.mark.parametrize(
    ("word", "first"),
    [
        (' Category="', "1.2"),
        (' Condition="', "1.2"),
        ("<GeneralID ", "1.3"),
        ("<Module ", "1.3"),
        (' OuterCoreDiameter="', "1.3"),
        (' DataType="', "1.4"),
        (' InnerCoreDiameter="', "1.4"),
        (' DeviceClass="', "1.5"),
        (' TrimBox="', "1.5"),
        ('<Part LotID="', "1.6"),
        (' Thickness="', "1.1"),
        (' tb:Lot="', "1.1"),
    ],
)
def test_a_word_is_there_from_its_version_on(word: str, first: str) -> None:
    assert [version for version in JDF_VERSIONS[1:] if word in fitted(version)] == [
        version for version in JDF_VERSIONS[1:] if version >= first
    ]


@pytest.mark.parametrize(("word", "first", "last"), [("<Lot ", "1.3", "1.5"), (' Author="', "1.1", "1.3")])
def test_a_word_that_was_withdrawn_is_left_out_afterwards(word: str, first: str, last: str) -> None:
    assert [version for version in JDF_VERSIONS[1:] if word in fitted(version)] == [
        version for version in JDF_VERSIONS[1:] if first <= version <= last
    ]


def test_what_holds_for_any_element_holds_for_each() -> None:
    assert first_version("Media", "@SettingsPolicy") == "1.2"
    assert first_version("Media", "@Thickness") is None


def test_the_tables_are_not_empty_and_name_versions_only() -> None:
    assert len(FIRST_VERSION) > 150
    assert set(FIRST_VERSION.values()) | set(LAST_VERSION.values()) <= set(JDF_VERSIONS)
