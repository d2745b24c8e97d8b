"""Whether a file is whole: is its root element closed?

A file that is still being written cannot be told from a broken one by its clock. It can be told by its end:
half a ticket lacks the tag that closes its root. This asks no more than that, without building a tree.
"""

import re
from typing import Final

from ticketbridge.jdf.text_encoding import EncodingRefused, as_text

_SECTIONS: Final = (("<!--", "-->"), ("<![CDATA[", "]]>"), ("<?", "?>"), ("<!", ">"))
"""What is neither tag nor text: how it begins, how it ends."""

_NAME: Final = re.compile(r"<([^\s<>/!?=\"'&]+)(?=[\s/>])")
_TAG_END: Final = re.compile(r"(?:[^<>\"']++|\"[^\"<]*+\"|'[^'<]*+')*+>")


def root_is_closed(data: bytes) -> bool:
    """Whether the document's root element is closed, with nothing but space, comments and instructions after it.

    Bytes that are no text in an encoding that is read, and text that is no XML, have no closed root.
    """
    try:
        text = as_text(data)
    except EncodingRefused:
        return False
    root = _root_start(text)
    end = _after_root(text)
    if root is None or end <= root.start():
        return False
    return _balanced(text, root.group(1), root.start(), end)


def _root_start(text: str) -> re.Match[str] | None:
    """The root's start tag, past the prolog."""
    at = 0
    while (found := text.find("<", at)) >= 0:
        section_end = _section_end(text, found)
        if section_end is None:
            return _NAME.match(text, found)
        if section_end < 0:
            return None
        at = section_end
    return None


def _section_end(text: str, at: int) -> int | None:
    """Where the section that begins here ends; -1 where it does not; None where a tag begins here."""
    for opening, closing in _SECTIONS:
        if text.startswith(opening, at):
            end = text.find(closing, at + len(opening))
            return -1 if end < 0 else end + len(closing)
    return None


def _after_root(text: str) -> int:
    """Where the text ends without the space, comments and instructions behind its last tag."""
    end = len(text)
    while end > 0:
        if text[end - 1].isspace():
            end -= 1
        elif text.endswith("-->", 0, end):
            end = text.rfind("<!--", 0, end)
        elif text.endswith("?>", 0, end):
            end = text.rfind("<?", 0, end)
        else:
            break
    return end


def _balanced(text: str, name: str, start: int, end: int) -> bool:
    """Whether the root's own end tag is the last thing before ``end``.

    Elements of the root's name are counted, because a JDF node holds JDF nodes: a ticket may be cut off
    just behind a tag that looks like its last one.
    """
    depth, at = 0, start
    interesting = re.compile(rf"<(?:!--|!\[CDATA\[|\?|(/?){re.escape(name)}(?=[\s/>]))")
    while (found := interesting.search(text, at, end)) is not None:
        section_end = _section_end(text, found.start())
        if section_end is not None:
            if section_end < 0:
                return False
            at = section_end
            continue
        tag = _TAG_END.match(text, found.end(), end)
        if tag is None:
            return False
        at = tag.end()
        if found.group(1):
            depth -= 1
        elif not text.endswith("/>", 0, at):
            depth += 1
    return depth == 0 and at == end
