"""One thing found in a file at a place that a mapping names."""

from dataclasses import dataclass

from ticketbridge.extract.rows import Typed


@dataclass(frozen=True, slots=True)
class Found:
    """A text with its place.

    Attributes:
        raw: The text, without blanks around it; never empty.
        path: The XPath, JSON Pointer, cell or heading where it stands.
        line: The line in the file, from 1, where files of this kind have lines.
        typed: What it is, where the file itself says more than the text.
    """

    raw: str
    path: str
    line: int | None
    typed: Typed | None = None
