"""Rules about single values that no schema can state: versions, zones, control characters."""

import re
from collections.abc import Iterable, Iterator
from typing import Final

from ticketbridge.jdf.explain import shown
from ticketbridge.jdf.kinds import Kind
from ticketbridge.jdf.paths import Paths, local_name
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place, type_of_fact
from ticketbridge.vocabulary.names import READABLE_VERSIONS

NAMES_OF_THE_JOB: Final = ("JobID", "JobPartID")
"""They name the job in file names, logs and messages."""

_CONTROL: Final = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_WITHOUT_ZONE: Final = re.compile(r"\s*-?\d{4,9}-\d\d-\d\dT[\d:.]{8,40}\s*", re.ASCII)

_Broken = tuple[str, str, dict[str, type_of_fact]]
"""Code, attribute, facts."""


def check_rules(elements: Iterable[tuple[Element, Kind]], file: str) -> Iterator[Finding]:
    """Findings about single values.

    Args:
        elements: The elements of a pruned document with their kinds.
        file: Name of the document.
    """
    paths = Paths()
    for element, kind in elements:
        if kind.times or "JobID" in kind.attributes or "Version" in kind.attributes:
            for code, attribute, facts in _broken(element, kind):
                place = Place(file, element.sourceline, path=paths.of(element, attribute))
                yield Finding(code, place, {"element": local_name(element)} | facts)


def _broken(element: Element, kind: Kind) -> Iterator[_Broken]:
    for attribute in kind.times:
        value = element.get(attribute)
        if value is not None and _WITHOUT_ZONE.fullmatch(value):
            yield "ticket.time-without-zone", attribute, {"attribute": attribute, "found": shown(value)}
    for attribute in NAMES_OF_THE_JOB:
        value = element.get(attribute)
        if value is not None and _CONTROL.search(value):
            yield "ticket.control-character", attribute, {"attribute": attribute, "found": shown(value)}
    if "Version" in kind.attributes:
        yield from _wrong_versions(element.get("Version"), element.get("MaxVersion"))


def _wrong_versions(version: str | None, newest: str | None) -> Iterator[_Broken]:
    if version == "1.0":
        first, last = READABLE_VERSIONS[0], READABLE_VERSIONS[-1]
        yield "ticket.version-not-read", "Version", {"found": version, "first": first, "last": last}
    elif version is not None and newest is not None and newest < version:
        yield "ticket.max-version-below", "MaxVersion", {"version": version, "max_version": newest}
