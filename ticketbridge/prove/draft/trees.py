"""XML and JSON as one kind of tree, with the steps by which a mapping walks in it."""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from ticketbridge.extract.found import Found
from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.writing import Element

_PLAIN_MEMBER: Final = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_XSI: Final = "http://www.w3.org/2001/XMLSchema-instance"


@dataclass(slots=True)
class Node:
    """An element, an attribute, or a JSON value.

    Attributes:
        name: What it is called.
        step: The step that leads to it from its parent: ``o:size``, ``@width``, a member's name.
        value: What stands in it, if anything does.
        children: Attributes, then elements; members, or what a list holds.
        listed: Whether it came in a list, so that there may be more of it.
    """

    name: str
    step: str
    value: Found | None = None
    children: list["Node"] = field(default_factory=list)
    listed: bool = False

    @property
    def is_attribute(self) -> bool:
        """Whether it is an XML attribute."""
        return self.step.startswith("@")


def prefixes(roots: Sequence[Element]) -> dict[str, str]:
    """A prefix for each namespace of the documents' elements and attributes, where possible their own."""
    found: dict[str, str] = {}
    for root in roots:
        for element in root.iter(tag=_etree_element()):
            for name in (element.tag, *element.attrib):
                uri = str(name)[1:].partition("}")[0] if str(name).startswith("{") else ""
                if not uri or uri == _XSI or uri in found.values():
                    continue
                own = next(
                    (prefix for prefix, known in element.nsmap.items() if prefix and known == uri), "n"
                )
                prefix = own
                while prefix in found:
                    prefix = f"{own}{len(found) + 1}"
                found[prefix] = uri
    return found


def _etree_element() -> Any:
    from lxml import etree

    return etree.Element


def tree_of_xml(root: Element, namespaces: Mapping[str, str]) -> Node:
    """An element with everything below it."""
    by_uri = {uri: prefix for prefix, uri in namespaces.items()}

    def step(name: str) -> str:
        uri, brace, local = name[1:].partition("}") if name.startswith("{") else ("", "", name)
        return f"{by_uri[uri]}:{local}" if brace and uri in by_uri else local

    def node(element: Element) -> Node:
        tag = str(element.tag)
        inner = [child for child in element if isinstance(child.tag, str)]
        text = " ".join("".join(element.itertext()).split()) if not inner else ""
        attributes = [
            Node(local_name(str(name)), f"@{step(str(name))}", _found(str(value), element.sourceline))
            for name, value in element.attrib.items()
            if not str(name).startswith(f"{{{_XSI}}}")
        ]
        value = _found(text, element.sourceline)
        return Node(local_name(tag), step(tag), value, attributes + [node(child) for child in inner])

    return node(root)


def tree_of_json(value: Any, name: str = "", *, listed: bool = False) -> Node:
    """A value with everything below it; a list of objects stands for its members, one of texts for one of them."""
    if isinstance(value, dict):
        children = [child for key, inner in value.items() for child in _members(str(key), inner)]
        return Node(name, name, None, children, listed)
    return Node(name, name, _found_json(value), [], listed)


def _members(key: str, value: Any) -> Iterator[Node]:
    if isinstance(value, list):
        for inner in value:
            yield tree_of_json(inner, key, listed=True)
    else:
        yield tree_of_json(value, key)


def _found(text: str, line: int | None) -> Found | None:
    said = " ".join(text.split())
    return Found(said, "", line) if said else None


def _found_json(value: Any) -> Found | None:
    if value is None or isinstance(value, list) or value == "":
        return None
    if isinstance(value, bool):
        return Found(json.dumps(value), "", None, value)
    text = " ".join(str(value).split())
    return Found(text, "", None, value if isinstance(value, int | float) else None) if text else None


def json_place(steps: Sequence[str], *, many: bool = False) -> str:
    """A JSON Pointer; a JSONPath where a step asks for one of several, or all of several are meant."""
    if not many and not any(_asks(step) for step in steps):
        return "".join("/" + step.replace("~", "~0").replace("/", "~1") for step in steps) or "$"
    path = "$"
    for step in steps:
        if not step:  # the list that is the whole document
            continue
        if step == "*":
            path += "[*]"
            continue
        name, _, condition = step.partition("[?")
        path += f".{name}" if _PLAIN_MEMBER.fullmatch(name) else f"[{json.dumps(name)}]"
        path += f"[?{condition}" if condition else ""
    return path


def _asks(step: str) -> bool:
    return "[?" in step or step == "*"
