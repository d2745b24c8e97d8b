"""The commands in a README: each fenced ``sh`` block may carry a name, ``<!-- command: NAME -->`` before it.

Run as a program it prints one of them: ``python tests/documents/commands.py README.md test``.
"""

import re
import sys
from pathlib import Path

BLOCK = re.compile(r"<!-- command: (?P<name>[a-z-]+) -->\s*```sh\n(?P<body>.*?)```", re.DOTALL)
FENCE = re.compile(r"```sh\n(?P<body>.*?)```", re.DOTALL)


def named_commands(text: str) -> dict[str, str]:
    """The named blocks of a document."""
    return {match["name"]: match["body"].strip() for match in BLOCK.finditer(text)}


def all_commands(text: str) -> list[str]:
    """Every line of every ``sh`` block."""
    return [line for match in FENCE.finditer(text) for line in match["body"].strip().splitlines()]


if __name__ == "__main__":
    print(named_commands(Path(sys.argv[1]).read_text(encoding="utf-8"))[sys.argv[2]])
