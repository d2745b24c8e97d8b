"""Where something stands, as people write it: XPath 1.0 and 3.1, JSONPath (RFC 9535), JSON Pointer (RFC 6901).

``xpath31:`` chooses XPath 3.1; ``xpath:``, ``jsonpath:`` and ``pointer:`` may be written for clearness. XPath 3.1
is evaluated already when it is compiled, as far as it does not look at the document, so compiling it may take for
ever: that is for the child process (``apart``). Nothing outside the document can be reached from an expression.
"""

from collections.abc import Mapping
from enum import StrEnum
from functools import lru_cache
from typing import Any, Final, NamedTuple

from lxml import etree

from ticketbridge.model.reads import FileKind


class Language(StrEnum):
    """What an expression is written in."""

    XPATH = "xpath"
    XPATH_31 = "xpath31"
    JSONPATH = "jsonpath"
    POINTER = "pointer"


_ALLOWED: Final[Mapping[FileKind, tuple[Language, ...]]] = {
    FileKind.XML: (Language.XPATH, Language.XPATH_31),
    FileKind.JDF: (Language.XPATH, Language.XPATH_31),
    FileKind.JSON: (Language.JSONPATH, Language.POINTER),
}
XPATH_FUNCTIONS: Final = "http://www.w3.org/2005/xpath-functions"


class ExpressionWrong(Exception):
    """It is no expression of its language, or cannot be used; the text says why."""


class Node(NamedTuple):
    """One thing that an XPath found: an element, with the attribute's name where it is one, or a computed value."""

    element: Any
    attribute: str | None
    value: str | float | bool | None


class JsonNode(NamedTuple):
    """One value that a JSONPath or a pointer found, and its JSON Pointer from the value it was asked of."""

    value: Any
    pointer: str


def language_of(text: str, kind: FileKind) -> tuple[Language, str]:
    """The language of an expression and the expression itself.

    Raises:
        ExpressionWrong: Files of this kind are not asked in it.
    """
    prefix, colon, rest = text.partition(":")
    allowed = _ALLOWED[kind]
    if colon and prefix in tuple(Language):
        language, body = Language(prefix), rest.strip()
    elif kind is FileKind.JSON:
        language, body = (Language.JSONPATH if text.startswith("$") else Language.POINTER), text
    else:
        language, body = Language.XPATH, text
    if language not in allowed:
        raise ExpressionWrong(f"{kind} files are asked in {' or '.join(allowed)}, not in {language}")
    return language, body


def check(text: str, kind: FileKind, namespaces: Mapping[str, str]) -> None:
    """Prove that an expression can be compiled.

    Raises:
        ExpressionWrong: It cannot; the text says where and why.
    """
    language, body = language_of(text, kind)
    if language is Language.XPATH:
        _parsed_xpath10(body, tuple(sorted(namespaces.items())))
        _xpath10(body, tuple(sorted(namespaces.items())))
    elif language is Language.XPATH_31:
        _xpath31(body, tuple(sorted(namespaces.items())))
    elif language is Language.JSONPATH:
        _jsonpath(body)
    else:
        _pointer(body)


def may_hang(text: str) -> bool:
    """Whether compiling alone may take for ever."""
    return text.startswith(f"{Language.XPATH_31}:")


def nodes(text: str, kind: FileKind, namespaces: Mapping[str, str], element: Any) -> list[Node]:
    """What an XPath finds from an element, in document order.

    Raises:
        ExpressionWrong: It cannot be evaluated here.
    """
    language, body = language_of(text, kind)
    known = tuple(sorted(namespaces.items()))
    if language is Language.XPATH_31:
        return _found31(body, known, element)
    try:
        found = _xpath10(body, known)(element)
    except etree.XPathError as error:
        raise ExpressionWrong(str(error)) from error
    return [_node(one) for one in found] if isinstance(found, list) else [_node(found)]


def json_nodes(text: str, value: Any) -> list[JsonNode]:
    """What a JSONPath or a pointer finds in a value, in its order.

    Raises:
        ExpressionWrong: It cannot be evaluated here.
    """
    import jsonpath

    language, body = language_of(text, FileKind.JSON)
    if isinstance(value, str):  # the library would read it as a document of its own
        return [JsonNode(value, "")] if body in ("$", "") else []
    try:
        if language is Language.JSONPATH:
            return [JsonNode(match.obj, str(match.pointer())) for match in _jsonpath(body).finditer(value)]
        missing = object()
        found = _pointer(body).resolve(value, default=missing)
        return [] if found is missing else [JsonNode(found, body)]
    except (jsonpath.JSONPathError, jsonpath.JSONPointerError, RecursionError) as error:
        raise ExpressionWrong(_short(error)) from error


def _node(found: Any) -> Node:
    if isinstance(found, etree._Element):  # noqa: SLF001  lxml gives its elements no public name
        return Node(found, None, None)
    parent = found.getparent() if hasattr(found, "getparent") else None
    if parent is None:
        return Node(None, None, found)
    if found.is_attribute:
        return Node(parent, str(found.attrname), None)
    return Node(parent, None, str(found))


def _found31(body: str, namespaces: tuple[tuple[str, str], ...], element: Any) -> list[Node]:
    import elementpath

    try:
        context = elementpath.XPathContext(element.getroottree(), item=element)
        return [_node31(one) for one in _xpath31(body, namespaces).select(context)]
    except (elementpath.ElementPathError, ValueError, TypeError, ArithmeticError, RecursionError) as error:
        raise ExpressionWrong(_short(error)) from error


def _node31(found: Any) -> Node:
    from elementpath import AttributeNode, ElementNode
    from elementpath.xpath_nodes import TextNode

    if isinstance(found, ElementNode):
        return Node(found.obj, None, None)
    if isinstance(found, AttributeNode) and found.parent is not None:
        return Node(found.parent.obj, str(found.name), None)
    if isinstance(found, TextNode) and found.parent is not None:
        return Node(found.parent.obj, None, found.string_value)
    if isinstance(found, bool | int | float):
        return Node(None, None, found)
    return Node(None, None, str(found))


@lru_cache(maxsize=1000)
def _xpath10(body: str, namespaces: tuple[tuple[str, str], ...]) -> etree.XPath:
    try:
        return etree.XPath(body, namespaces=dict(namespaces) or None, regexp=False)
    except (etree.XPathError, ValueError) as error:
        raise ExpressionWrong(_short(error)) from error


def _parsed_xpath10(body: str, namespaces: tuple[tuple[str, str], ...]) -> None:
    """A second reader of XPath 1.0, which names prefixes and functions that nobody knows, and says where."""
    import elementpath

    try:
        elementpath.XPath1Parser(namespaces=dict(namespaces)).parse(body)
    except (elementpath.ElementPathError, ValueError, TypeError) as error:
        raise ExpressionWrong(_short(error)) from error


@lru_cache(maxsize=1000)
def _xpath31(body: str, namespaces: tuple[tuple[str, str], ...]) -> Any:
    import elementpath
    from elementpath.xpath31 import XPath31Parser

    try:
        return XPath31Parser(namespaces={**dict(namespaces), "fn": XPATH_FUNCTIONS}).parse(body)
    except (elementpath.ElementPathError, ValueError, TypeError, ArithmeticError, RecursionError) as error:
        raise ExpressionWrong(_short(error)) from error


@lru_cache(maxsize=1000)
def _jsonpath(body: str) -> Any:
    import jsonpath

    try:
        return jsonpath.JSONPathEnvironment(strict=True).compile(body)
    except (jsonpath.JSONPathError, RecursionError) as error:
        raise ExpressionWrong(_short(error)) from error


@lru_cache(maxsize=1000)
def _pointer(body: str) -> Any:
    import jsonpath

    try:
        return jsonpath.JSONPointer(body)
    except jsonpath.JSONPointerError as error:
        raise ExpressionWrong(_short(error)) from error


def _short(error: Exception) -> str:
    """The reason on one line; libraries draw the place below it."""
    return (str(error).split("\n  ->")[0].strip() or type(error).__name__).split("\n")[0][:200]
