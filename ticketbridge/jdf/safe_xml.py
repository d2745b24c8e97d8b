"""Bytes from outside to an element tree, or to findings that say why not.

The order matters: size, then encoding, then a DOCTYPE, then rough counts, and only then the parser. Nothing
is expanded, nothing is fetched, no schema hint is followed, and each step takes linear time.
"""

from functools import lru_cache
from typing import Final

from lxml import etree

from ticketbridge.jdf.closed_root import root_is_closed
from ticketbridge.jdf.parser_names import forget_in_time
from ticketbridge.jdf.text_encoding import SUPPORTED, EncodingRefused, as_text
from ticketbridge.jdf.writing import Element
from ticketbridge.model.finding import Finding, Place
from ticketbridge.model.shop import Limits

__all__ = ["NAMESPACE_DECLARATIONS", "XmlRefused", "parse", "root_is_closed"]

NAMESPACE_DECLARATIONS: Final = 1000
"""Declarations in one ticket. Every copy of an element looks through those in scope, so their number counts twice."""

_SPACE: Final = " \t\r\n"


class XmlRefused(Exception):
    """The bytes are not a document that is read.

    Attributes:
        findings: Why, at least one.
    """

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(findings[0].code)
        self.findings = findings


def parse(data: bytes, limits: Limits, file: str) -> Element:
    """The root element of a document.

    Args:
        data: The document, in one of the encodings that are read.
        limits: What a single ticket may ask of the machine.
        file: Its name, for findings.

    Raises:
        XmlRefused: Too large, not text, not well-formed, with a DOCTYPE, or beyond a limit.
    """
    if len(data) > limits.ticket_bytes:
        raise _refused("xml.too-large", Place(file), size=len(data), limit=limits.ticket_bytes)
    try:
        text = as_text(data)
    except EncodingRefused as error:
        raise _encoding_refused(error, file) from error
    _refuse_doctype(text, file)
    _refuse_markup(text, limits, file)
    forget_in_time(len(data))
    root = _parsed(text, file)
    _refuse_structure(root, limits, file)
    return root


def _parsed(text: str, file: str) -> Element:
    parser = etree.XMLParser(
        encoding="utf-8",
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        collect_ids=False,
    )
    try:
        root: Element = etree.fromstring(text.encode(), parser)
    except etree.XMLSyntaxError as error:
        line, column = error.position
        reason = (error.msg or "no reason given").split(", line ")[0][:200]
        raise _refused("xml.not-well-formed", Place(file, line, column), reason=reason) from error
    return root


def _refuse_doctype(text: str, file: str) -> None:
    """Look at the prolog only: a DOCTYPE anywhere else is not well-formed, or is mere text."""
    at = 0
    while True:
        while at < len(text) and text[at] in _SPACE:
            at += 1
        if text.startswith("<!--", at):
            end, width = text.find("-->", at + 4), 3
        elif text.startswith("<?", at):
            end, width = text.find("?>", at + 2), 2
        else:
            break
        if end < 0:
            return
        at = end + width
    if text.startswith("<!DOCTYPE", at):
        raise _refused("xml.doctype", Place(file, text.count("\n", 0, at) + 1))


def _refuse_markup(text: str, limits: Limits, file: str) -> None:
    """Counts that bound what the parser would build, before it builds it."""
    markup = text.count("<") - text.count("</")
    if markup > 2 * limits.elements:
        raise _too_much(limits.elements, "elements", file)
    if text.count("xmlns") > NAMESPACE_DECLARATIONS:
        raise _too_much(NAMESPACE_DECLARATIONS, "namespace declarations", file)


def _refuse_structure(root: Element, limits: Limits, file: str) -> None:
    elements, attributes, depth = _measures(limits)
    if elements(root) > limits.elements:
        raise _too_much(limits.elements, "elements", file)
    if attributes(root):
        raise _too_much(limits.attributes_per_element, "attributes on one element", file)
    if depth(root):
        raise _too_much(limits.depth, "elements inside each other", file)


@lru_cache(maxsize=8)
def _measures(limits: Limits) -> tuple[etree.XPath, etree.XPath, etree.XPath]:
    return (
        etree.XPath("count(//*)"),
        etree.XPath(f"boolean(/descendant::*/attribute::*[{limits.attributes_per_element + 1}])"),
        etree.XPath("boolean(" + "/*" * (limits.depth + 1) + ")"),
    )


def _too_much(limit: int, what: str, file: str) -> XmlRefused:
    return _refused("xml.too-much", Place(file), limit=limit, what=what)


def _encoding_refused(error: EncodingRefused, file: str) -> XmlRefused:
    if error.contradiction is None:
        return _refused("xml.encoding-not-read", Place(file), encoding=error.encoding, supported=SUPPORTED)
    return _refused(
        "xml.encoding-contradicted", Place(file), encoding=error.encoding, contradiction=error.contradiction
    )


def _refused(code: str, place: Place, **facts: str | int) -> XmlRefused:
    return XmlRefused((Finding(code, place, facts),))
