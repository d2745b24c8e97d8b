"""What was found wrong, or worth saying: a stable code, where, and the facts. Sentences are made when shown."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any

type_of_fact = str | int | float | bool | None


class Severity(StrEnum):
    """How bad it is; the words rise and match JMF's ``Notification@Class``."""

    INFORMATION = "Information"
    WARNING = "Warning"
    ERROR = "Error"


@dataclass(frozen=True, slots=True)
class Code:
    """One row of the table of findings.

    Attributes:
        code: Stable name, ``area.what``; documented, never reused for something else.
        severity: How bad it is unless the finding says otherwise.
        sentence: For people, with ``{fact}`` places that every finding of this code fills.
        remedy: What to do next, in the same form.
        return_code: The JMF ReturnCode that answers a message refused for this reason.
    """

    code: str
    severity: Severity
    sentence: str
    remedy: str
    return_code: int = 1


@dataclass(frozen=True, slots=True)
class Place:
    """Where it was found: a file, its line and column (from 1), the XPath or key inside it. All optional.

    ``part`` is the JobPartID of the item that it is about, where it is about one item alone.
    """

    file: str | None = None
    line: int | None = None
    column: int | None = None
    path: str | None = None
    part: str | None = None

    def __str__(self) -> str:
        """``file:line:column path``, as far as known."""
        spot = ":".join(str(part) for part in (self.file, self.line, self.column) if part is not None)
        return " ".join(part for part in (spot, self.path) if part)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found: its code, where, and the facts that its sentence needs."""

    code: str
    place: Place = Place()
    facts: Mapping[str, type_of_fact] = field(default_factory=dict)

    def about_part(self, job_part_id: str) -> "Finding":
        """The same, about this item alone."""
        return replace(self, place=replace(self.place, part=job_part_id))

    def as_json(self) -> dict[str, Any]:
        """Plain values for the store and for programs."""
        place = {
            name: value
            for name in ("file", "line", "column", "path", "part")
            if (value := getattr(self.place, name)) is not None
        }
        return {"code": self.code, "place": place, "facts": dict(self.facts)}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "Finding":
        """The reverse of ``as_json``."""
        return cls(data["code"], Place(**data["place"]), dict(data["facts"]))
