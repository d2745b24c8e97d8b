"""The standard's own schemas as a judge: validity, and the version notes that they carry.

Source: the official XSDs of JDF 1.x (snapshot of 1 July 2025) in the shared folder; read from there, not copied.
"""

import importlib.util
import sys
from functools import lru_cache
from pathlib import Path
from types import ModuleType
from typing import Any

from lxml import etree

JDF_NAMESPACE = "{http://www.CIP4.org/JDFSchema_1_1}"


@lru_cache(maxsize=4)
def _module(shared: Path, name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"shared_{name}", shared / "standards" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def invalid(shared: Path, path: Path) -> list[str]:
    """What the official schema, and the check of references, have against a file."""
    return list(_module(shared, "validate").problems(path, refs=True))


@lru_cache(maxsize=1)
def _schema(shared: Path) -> Any:
    return _module(shared, "check_facts").Schema(sorted((shared / "standards" / "jdf").glob("*.xsd")))


def too_new(shared: Path, root: etree._Element, version: str) -> list[str]:
    """Attributes and elements that the schema's notes date later than the version, or withdraw before it.

    Where one name stands in several contexts with different dates, only what is wrong in all of them counts.
    """
    schema = _schema(shared)
    found = set()
    for element in root.iter():
        if not isinstance(element.tag, str) or not element.tag.startswith(JDF_NAMESPACE):
            continue
        name = element.tag.removeprefix(JDF_NAMESPACE)
        members = schema.members(name)
        dates = members["dates"] if members else {}
        keys = [f"@{key}" for key in element.attrib if not key.startswith("{")]
        keys += [
            child.tag.removeprefix(JDF_NAMESPACE)
            for child in element
            if str(child.tag).startswith(JDF_NAMESPACE)
        ]
        for key in keys:
            notes = dates.get(key, [])
            if key == "@ID" and _stands_alone(element):
                continue  # the note speaks of resources written inside another one, which lost their ID after 1.1
            if notes and all(_outside(first, last, version) for first, last in notes):
                found.add(f"{name}/{key} {notes[0]}")
    return sorted(found)


def _outside(first: str | None, last: str | None, version: str) -> bool:
    return bool((first and first > version) or (last and last < version))


def _stands_alone(element: etree._Element) -> bool:
    parent = element.getparent()
    return parent is not None and parent.tag in (
        f"{JDF_NAMESPACE}ResourcePool",
        f"{JDF_NAMESPACE}ResourceInfo",
    )
