"""Our schemas load in both validators, keep to one style, and are found where they lie."""

import threading
from pathlib import Path

import pytest
from lxml import etree

from ticketbridge.jdf import schema_catalogue
from ticketbridge.jdf.kinds import Kind, kind_of_root, type_descriptions
from ticketbridge.jdf.schema_catalogue import explaining_schema, schema, schemas_folder
from ticketbridge.vocabulary.names import jdf
from ticketbridge.vocabulary.words import (
    DEVICE_STATUSES,
    NODE_STATUSES,
    NOTIFICATION_CLASSES,
    PART_ID_KEYS,
    QUEUE_ENTRY_STATUSES,
)

XS = "{http://www.w3.org/2001/XMLSchema}"
FILES = sorted(path.name for path in schemas_folder().glob("*.xsd"))


@pytest.mark.parametrize("root_name", ["JDF", "JMF"])
def test_both_validators_load_the_schema(root_name: str) -> None:
    assert isinstance(schema(root_name), etree.XMLSchema)
    assert jdf(root_name) in explaining_schema(root_name).maps.elements


def test_each_thread_has_its_own_schema() -> None:
    seen = [schema("JDF"), schema("JDF")]
    thread = threading.Thread(target=lambda: seen.append(schema("JDF")))
    thread.start()
    thread.join()
    assert seen[0] is seen[1]
    assert seen[0] is not seen[2]


def test_in_an_installed_package_the_shipped_schemas_are_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shipped" / "schemas").mkdir(parents=True)
    monkeypatch.setattr(schema_catalogue, "_PACKAGE", tmp_path)
    assert schema_catalogue.schemas_folder.__wrapped__() == tmp_path / "shipped" / "schemas"


@pytest.mark.parametrize("name", FILES)
def test_every_element_has_a_named_type_and_every_type_is_a_repeated_choice(name: str) -> None:
    root = etree.parse(schemas_folder() / name).getroot()
    assert [element.get("name") for element in root.iter(f"{XS}element") if element.get("type") is None] == []
    for definition in root.iterchildren(f"{XS}complexType"):
        for choice in definition.iterchildren(f"{XS}choice"):
            assert (choice.get("minOccurs"), choice.get("maxOccurs")) == ("0", "unbounded"), definition.get(
                "name"
            )
        allowed = {f"{XS}{part}" for part in ("choice", "attribute", "attributeGroup", "simpleContent")}
        assert {part.tag for part in definition if isinstance(part.tag, str)} <= allowed


def test_every_attributes_type_says_what_is_allowed() -> None:
    for root_name in ("JDF", "JMF"):
        described = type_descriptions(root_name)
        for kind in every_kind(kind_of_root(root_name)):
            for type_name in kind.attributes.values():
                assert type_name.startswith("xs:") or len(described[type_name]) > 3, type_name


@pytest.mark.parametrize(
    ("type_name", "words"),
    [
        ("NodeStatus", NODE_STATUSES),
        ("DeviceStatus", DEVICE_STATUSES),
        ("QueueEntryStatus", QUEUE_ENTRY_STATUSES),
        ("NotificationClass", NOTIFICATION_CLASSES),
        ("PartIDKey", PART_ID_KEYS),
    ],
)
def test_the_vocabularys_lists_are_the_schemas(type_name: str, words: tuple[str, ...]) -> None:
    assert words_of(type_name) == words


def words_of(type_name: str) -> tuple[str, ...]:
    """The words of a closed list, from the schema that holds it."""
    root = etree.parse(schemas_folder() / "types.xsd").getroot()
    (definition,) = root.xpath(f"*[@name='{type_name}']")
    return tuple(word.get("value") for word in definition.iter(f"{XS}enumeration"))


def every_kind(start: Kind) -> list[Kind]:
    """A kind and all below it, each once."""
    found = [start]
    for kind in found:
        found += [child for child in dict.fromkeys(kind.children.values()) if child not in found]
    return found
