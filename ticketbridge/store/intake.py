"""Dropped files and what became of them."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from sqlalchemy import insert, select, update

from ticketbridge.model.finding import Finding
from ticketbridge.model.job import as_text
from ticketbridge.store.records import Intake
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import INTAKE

_RECORD: Final = insert(INTAKE)


class IntakeStatements(Statements):
    """Dropped files and what became of them."""

    def record_intakes(self, intakes: Sequence[Intake], at: datetime) -> None:
        """What became of dropped files, and which folder holds each."""
        self._connection.execute(
            _RECORD,
            [
                {
                    "claim_id": intake.claim_id,
                    "source": intake.source,
                    "original_name": intake.original_name.encode("utf-8", "surrogateescape").decode(
                        "utf-8", "backslashreplace"
                    )[:1023],
                    "place": intake.place,
                    "sha256": intake.sha256,
                    "findings": [finding.as_json() for finding in intake.findings],
                    "at": as_text(at),
                }
                for intake in intakes
            ],
        )

    def intake_outcome(self, claim_id: str) -> tuple[str | None, list[Finding]]:
        """The folder that holds a claimed file and what was found; (None, []) where the claim is not known."""
        row = self._connection.execute(
            select(INTAKE.c.place, INTAKE.c.findings).where(INTAKE.c.claim_id == claim_id)
        ).one_or_none()
        if row is None:
            return None, []
        return row.place, [Finding.from_json(finding) for finding in row.findings]

    def refused_intakes(self) -> list[Mapping[str, Any]]:
        """Refused files that were not tried again, oldest first."""
        rows = self._connection.execute(
            select(INTAKE).where(INTAKE.c.place == "refused").order_by(INTAKE.c.at)
        )
        return [dict(row) for row in rows.mappings()]

    def note_tried_again(self, claim_id: str) -> None:
        """The file lies elsewhere now, under a new claim."""
        self._connection.execute(
            update(INTAKE).where(INTAKE.c.claim_id == claim_id).values(place="tried again")
        )

    def intakes(self, limit: int) -> list[Mapping[str, Any]]:
        """The latest dropped files with their outcome, newest first."""
        rows = self._connection.execute(
            select(INTAKE).order_by(INTAKE.c.at.desc(), INTAKE.c.claim_id.desc()).limit(limit)
        )
        return [dict(row) for row in rows.mappings()]
