"""Namespaces, versions and folder names that the two sides of a hand-over agree on."""

from typing import Final

JDF_NAMESPACE: Final = "http://www.CIP4.org/JDFSchema_1_1"
"""One namespace for every JDF and JMF from 1.1 on (JDF specification, chapter on structure)."""

XSI_NAMESPACE: Final = "http://www.w3.org/2001/XMLSchema-instance"

OWN_NAMESPACE: Final = "tag:ticketbridge.example,2026:1"
"""For what the standard has no place for: layer order, passes, direction, panel number. A tag URI (RFC 4151)."""

OWN_PREFIX: Final = "tb"

JDF_VERSIONS: Final = ("1.0", "1.1", "1.2", "1.3", "1.4", "1.5", "1.6", "1.7", "1.8", "1.9")

READABLE_VERSIONS: Final = JDF_VERSIONS[1:]
"""1.0 had another namespace, so a ticket of that version in this one contradicts itself."""

WRITABLE_VERSIONS: Final = ("1.3", "1.4", "1.5", "1.6", "1.7", "1.8", "1.9")
"""Layout placements need 1.3 (SurfaceContentsBox); older presses cannot be served from a ticket alone."""

JDF_CONTENT_TYPE: Final = "application/vnd.cip4-jdf+xml"
JMF_CONTENT_TYPE: Final = "application/vnd.cip4-jmf+xml"

MARKER_NAME: Final = ".ticketbridge"
"""A folder without this file is not ours, or its share is not mounted: nothing is read or written there."""


def jdf(name: str) -> str:
    """The name in the JDF namespace, as lxml writes it: ``{namespace}name``."""
    return f"{{{JDF_NAMESPACE}}}{name}"


def own(name: str) -> str:
    """The name in our own namespace, as lxml writes it."""
    return f"{{{OWN_NAMESPACE}}}{name}"


XSI_TYPE: Final = f"{{{XSI_NAMESPACE}}}type"
