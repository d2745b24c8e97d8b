"""What belongs to our vocabulary, read from our own schemas.

A ``Kind`` is a complex type: its attributes with their types, and which kind each child has. Pruning and the
explanations of refusals both follow it, so that the schemas stay the only place where the vocabulary is kept.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Final

from lxml import etree

from ticketbridge.jdf.paths import is_element, local_name
from ticketbridge.jdf.schema_catalogue import schema_file
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf

_XS: Final = "{http://www.w3.org/2001/XMLSchema}"
_PARTS: Final = tuple(f"{_XS}{name}" for name in ("element", "attribute", "group", "attributeGroup"))


@dataclass(slots=True, eq=False)
class Kind:
    """One complex type.

    Attributes:
        name: As in the schema.
        attributes: Name of each attribute with the name of its type.
        required: Attributes that must be there.
        fixed: Attributes that have one value only, with that value.
        times: Attributes that hold a date and time.
        children: Kind of each child, by its name in the JDF namespace.
    """

    name: str
    attributes: dict[str, str] = field(default_factory=dict)
    required: tuple[str, ...] = ()
    fixed: dict[str, str] = field(default_factory=dict)
    times: tuple[str, ...] = ()
    children: dict[Any, "Kind"] = field(default_factory=dict)


@cache
def kind_of_root(name: str) -> Kind:
    """The kind of ``JDF`` or ``JMF``, with all kinds below it."""
    return _Reader(name).kind(name)


@cache
def type_descriptions(root_name: str) -> Mapping[str, str]:
    """What values each simple type takes, in words, as its documentation in the schema says."""
    return _Reader(root_name).descriptions()


class _Reader:
    """Follows groups and includes of one schema."""

    def __init__(self, root_name: str) -> None:
        self._definitions: dict[tuple[str, str], Element] = {}
        self._kinds: dict[str, Kind] = {}
        self._load(f"{root_name.lower()}.xsd", set())

    def _load(self, file_name: str, loaded: set[str]) -> None:
        if file_name in loaded:
            return
        loaded.add(file_name)
        for definition in etree.parse(str(schema_file(file_name))).getroot():
            if definition.tag == f"{_XS}include":
                self._load(definition.attrib["schemaLocation"], loaded)
            elif is_element(definition):
                self._definitions[local_name(definition), definition.attrib["name"]] = definition

    def kind(self, name: str) -> Kind:
        """The kind of that name; kinds may hold each other."""
        if name not in self._kinds:
            kind = self._kinds[name] = Kind(name)
            self._fill(kind, self._definitions["complexType", name])
            kind.times = tuple(name for name, type_ in kind.attributes.items() if type_ == "DateTime")
        return self._kinds[name]

    def _fill(self, kind: Kind, definition: Element) -> None:
        for part in definition.iterdescendants(*_PARTS):
            what = local_name(part)
            if what == "element":
                kind.children[jdf(part.attrib["name"])] = self.kind(part.attrib["type"])
            elif what == "attribute":
                self._add_attribute(kind, part)
            else:
                self._fill(kind, self._definitions[what, part.attrib["ref"]])

    def _add_attribute(self, kind: Kind, part: Element) -> None:
        name = part.attrib["name"]
        kind.attributes[name] = part.attrib["type"]
        if part.get("use") == "required":
            kind.required += (name,)
        if "fixed" in part.attrib:
            kind.fixed[name] = part.attrib["fixed"]

    def descriptions(self) -> dict[str, str]:
        """Documentation of simple types; a closed list describes itself."""
        described = {}
        for (what, name), definition in self._definitions.items():
            if what != "simpleType":
                continue
            words = [word.attrib["value"] for word in definition.iter(f"{_XS}enumeration")]
            said = definition.findtext(f"{_XS}annotation/{_XS}documentation")
            described[name] = said.strip() if said else "one of " + ", ".join(words)
        return described
