"""Why a job cannot be laid out on a width: a code and its facts."""

from collections.abc import Mapping
from dataclasses import dataclass

from ticketbridge.model.finding import type_of_fact


@dataclass(frozen=True, slots=True)
class LayoutProblem:
    """There is no layout, and the row of the table of findings that says why.

    Attributes:
        code: A row of ``model/codes/lanes.py``.
        facts: What its sentence needs.
    """

    code: str
    facts: Mapping[str, type_of_fact]
