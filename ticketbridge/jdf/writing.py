"""Making JDF and JMF elements: the few lines that every writer needs, and no string templates."""

import re
from datetime import datetime
from typing import Any, Final

from lxml import etree

from ticketbridge.vocabulary.names import (
    JDF_NAMESPACE,
    OWN_NAMESPACE,
    OWN_PREFIX,
    XSI_NAMESPACE,
    XSI_TYPE,
    jdf,
    own,
)

_NOT_IN_XML: Final = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
Element = etree._Element  # noqa: SLF001  lxml gives its element type no public name

NAMESPACES = {None: JDF_NAMESPACE, "xsi": XSI_NAMESPACE, OWN_PREFIX: OWN_NAMESPACE}


def jdf_root(name: str, *, xsi_type: str | None = None, **attributes: str) -> Element:
    """A root element with every prefix declared once."""
    root: Element = etree.Element(jdf(name), _carried(xsi_type, attributes), NAMESPACES)
    return root


def child(parent: Element | None, name: str, *, xsi_type: str | None = None, **attributes: str) -> Element:
    """A child in the JDF namespace, or a loose element where there is no parent yet."""
    if parent is None:
        return jdf_root(name, xsi_type=xsi_type, **attributes)
    made: Element = etree.SubElement(parent, jdf(name), _carried(xsi_type, attributes))
    return made


def own_child(parent: Element, name: str, **attributes: str) -> Element:
    """A child in our own namespace."""
    made: Element = etree.SubElement(parent, own(name), _carried(None, attributes))
    return made


def moment(at: datetime) -> str:
    """A time as JDF wants it: ISO 8601 with its offset, to the second or finer."""
    if at.tzinfo is None:
        raise ValueError("a time without a zone must not leave the bridge")
    return at.isoformat(timespec="milliseconds" if at.microsecond else "seconds")


def as_bytes(root: Element) -> bytes:
    """The document, UTF-8 with its declaration."""
    data: Any = etree.tostring(root, xml_declaration=True, encoding="UTF-8")
    return bytes(data)


def _carried(xsi_type: str | None, attributes: dict[str, str]) -> dict[str, str]:
    """All attributes in one, as lxml takes them quicker so than one by one."""
    if xsi_type is None and all(map(str.isprintable, attributes.values())):  # nearly always
        return attributes
    found = {XSI_TYPE: xsi_type} if xsi_type else {}
    for name, value in attributes.items():
        found[name] = clean(value)
    return found


def clean(text: str) -> str:
    """Text without what XML 1.0 cannot carry (production 2: control characters, halves of pairs, U+FFFE and U+FFFF).

    Names of files may hold any of them: bytes that are no UTF-8 come as halves of pairs.
    """
    if text.isprintable():  # nearly always, and much quicker than looking at each letter
        return text
    return _NOT_IN_XML.sub("", text)


def as_text(root: Element) -> str:
    """The document indented, for people to read."""
    etree.indent(root)
    return str(etree.tostring(root, encoding="unicode", pretty_print=True))
