"""Tables that turn a word of the MIS into a word of a ticket: written in the mapping, or kept in a spreadsheet."""

import re
from collections import Counter
from enum import StrEnum
from functools import cached_property
from typing import Annotated

from pydantic import Field, model_validator

from ticketbridge.model.spelling import Encoding, Separator, folded
from ticketbridge.model.substrate import FromOutside


class Match(StrEnum):
    """When a row fits."""

    EXACT = "exact"
    ANY_CASE = "any case"
    """Capitals and the width of blanks do not matter."""
    PATTERN = "pattern"
    """``says`` is a regular expression that the whole value must match; capitals do not matter."""


class LookupRow(FromOutside):
    """One row: what the file says, and what is meant."""

    says: Annotated[str, Field(min_length=1, max_length=500, examples=["PVC 510"])]
    """As the file has it."""
    means: Annotated[
        str, Field(min_length=1, max_length=500, examples=["Harbour Banner 510", "30 top bottom"])
    ]
    """As a ticket would say it; lengths in millimetres."""


class LookupTable(FromOutside):
    """A table; the first row that fits wins."""

    match: Match = Match.ANY_CASE
    """How ``says`` is compared."""
    file: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,62}\.(csv|xlsx)$")] | None = None
    """A spreadsheet beside the mapping, .csv or .xlsx, with the headings ``says`` and ``means``; other columns are
    left alone."""
    separator: Separator = Separator.COMMA
    """Of a .csv file."""
    encoding: Encoding = Encoding.UTF_8
    """Of a .csv file."""
    rows: tuple[LookupRow, ...] = ()
    """The rows, where no file holds them."""

    @model_validator(mode="after")
    def _rows_stand_somewhere(self) -> "LookupTable":
        if self.file is None and not self.rows:
            raise ValueError("a table has rows here, or a file that holds them")
        if self.match is not Match.PATTERN:
            counted = Counter(self._compared(row.says) for row in self.rows)
            twice = next((text for text, count in counted.items() if count > 1), None)
            if twice is not None:
                raise ValueError(f'two rows say "{twice}"')
            return self
        for row in self.rows:
            try:
                re.compile(row.says)
            except re.error as error:
                raise ValueError(f'"{row.says}" is no regular expression: {error}') from error
        return self

    def row_for(self, text: str) -> tuple[int, LookupRow] | None:
        """The first row that fits, with its number from 1; None where none does."""
        if self.match is not Match.PATTERN:
            return self._by_text.get(self._compared(text))
        return next(
            (
                (number, row)
                for number, (pattern, row) in enumerate(self._patterns, start=1)
                if pattern.fullmatch(text)
            ),
            None,
        )

    def _compared(self, text: str) -> str:
        return text if self.match is Match.EXACT else folded(text)

    @cached_property
    def _by_text(self) -> dict[str, tuple[int, LookupRow]]:
        return {self._compared(row.says): (number, row) for number, row in enumerate(self.rows, start=1)}

    @cached_property
    def _patterns(self) -> list[tuple[re.Pattern[str], LookupRow]]:
        return [(re.compile(row.says, re.IGNORECASE), row) for row in self.rows]
