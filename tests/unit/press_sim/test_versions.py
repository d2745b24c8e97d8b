"""Nothing the press writes is newer than the version it was told to speak."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tests.unit.press_sim.tickets import PRESS_YAML, Bench, Job, read, row
from ticketbridge.press_sim.elements import SINCE
from ticketbridge.press_sim.settings import version_numbers
from ticketbridge.vocabulary.names import JDF_NAMESPACE, WRITABLE_VERSIONS

Work = Callable[..., None]


def firsts(notes: Any, element: str, path: str) -> list[tuple[int, int]]:
    members = notes.members(element)
    dates = members["dates"].get(path, []) if members else []
    return [version_numbers(first) for first, _ in dates if first]


def lasts(notes: Any, element: str, path: str) -> list[tuple[int, int]]:
    members = notes.members(element)
    dates = members["dates"].get(path, []) if members else []
    return [version_numbers(last) for _, last in dates if last]


def misdated(root: etree._Element, version: tuple[int, int], notes: Any) -> Iterator[str]:
    """Names that the schema's version notes date after the version, or withdraw before it."""
    for element in root.iter(f"{{{JDF_NAMESPACE}}}*"):
        name = etree.QName(element).localname
        paths = [f"@{attribute}" for attribute in element.keys() if "{" not in attribute]  # noqa: SIM118
        paths += [etree.QName(child).localname for child in element.iterchildren(f"{{{JDF_NAMESPACE}}}*")]
        for path in paths:
            first = firsts(notes, name, path)
            last = lasts(notes, name, path)
            if first and min(first) > version:
                yield f"{name}/{path} came in {min(first)}"
            # IDs of inline resources were withdrawn in 1.1; the note stands on resources in the pool as well.
            if last and path != "@ID" and max(last) < version:
                yield f"{name}/{path} went in {max(last)}"


@pytest.mark.parametrize("version", WRITABLE_VERSIONS)
def test_every_answer_keeps_to_the_version(
    version: str, bench: Bench, work: Work, schema_notes: Any, problems: Callable[[Path], list[str]]
) -> None:
    yaml = PRESS_YAML.replace('"1.7"', f'"{version}"') + "ink_ml_m2: {Cyan: 2}\n"
    (bench.folder / "press.yaml").write_text(yaml)
    bench.deliver(Job(pieces=row(3), amount=3, version=version))
    bench.deliver(Job(version=version, device_id="HL-P9-Z"))
    work(clock_factor=20)
    answers = [*bench.files("status"), *bench.files("returned")]
    assert len(answers) >= 9
    for path in answers:
        assert list(misdated(read(path), version_numbers(version), schema_notes)) == []
        assert problems(path) == []
        assert read(path).get("Version") == version


@pytest.mark.parametrize("name", SINCE)
def test_the_press_dates_names_as_the_standard_does(name: str, schema_notes: Any) -> None:
    element, attribute = name.split("@")
    assert min(firsts(schema_notes, element, f"@{attribute}")) == SINCE[name]


def test_a_lot_is_named_in_the_form_of_the_version(bench: Bench, work: Work) -> None:
    (bench.folder / "press.yaml").write_text(PRESS_YAML.replace('"1.7"', '"1.5"'))
    bench.deliver(Job(version="1.5"))
    work()
    [root] = bench.returned()
    [link] = root.iterfind(f"{{{JDF_NAMESPACE}}}ResourceLinkPool/{{{JDF_NAMESPACE}}}MediaLink")
    [lot] = link.iter(f"{{{JDF_NAMESPACE}}}Lot")
    assert dict(lot.attrib) == {"LotID": "L260114", "ActualAmount": "2.416"}
    assert not [part for part in root.iter(f"{{{JDF_NAMESPACE}}}Part") if part.get("LotID")]


def test_an_older_ticket_is_returned_in_its_own_version(bench: Bench, work: Work, schema_notes: Any) -> None:
    bench.deliver(Job(version="1.3"))
    work()
    [root] = bench.returned()
    assert root.get("Version") == "1.3"
    assert list(misdated(root, (1, 3), schema_notes)) == []
