"""The line on which each value of a JSON document begins, by its JSON Pointer (RFC 6901)."""

import json
import re
from typing import Final

_TOKEN: Final = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\],:\n]|[^\s{}\[\],:"]+')


def lines_of(text: str) -> dict[str, int]:
    """Lines from 1, by pointer; the whole document is the empty pointer.

    Args:
        text: A document that a JSON parser has taken.
    """
    lines: dict[str, int] = {}
    line = 1
    pointer = ""
    around: list[tuple[str, int | None]] = []
    """The pointers of the objects and lists that are open, with the number of a list's member."""
    name_follows = False
    for mark in _TOKEN.findall(text):
        if mark == "\n":
            line += 1
        elif mark in "}]":
            around.pop()
            name_follows = False
        elif mark == ",":
            outer, number = around[-1]
            name_follows = number is None
            if number is not None:
                around[-1] = (outer, number + 1)
                pointer = f"{outer}/{number + 1}"
        elif name_follows and mark != ":":
            pointer = f"{around[-1][0]}/{_escaped(json.loads(mark))}"
            name_follows = False
        elif mark != ":":
            lines[pointer] = line
            if mark == "{":
                around.append((pointer, None))
                name_follows = True
            elif mark == "[":
                around.append((pointer, 0))
                pointer = f"{pointer}/0"
    return lines


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")
