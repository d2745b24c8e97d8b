"""What a returned ticket says a print really took: the time at work, the ink. Pure."""

from dataclasses import dataclass
from datetime import datetime

from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf


@dataclass(frozen=True, slots=True)
class Took:
    """What one print took by the press's own word.

    Attributes:
        printing: When it printed, as (from, until), by the PhaseTime audits with Status InProgress.
        ink_ml: Ink by all separations together, by the ActualAmount of the ink link; None where it says none.
    """

    printing: tuple[tuple[datetime, datetime], ...]
    ink_ml: float | None


def read_took(root: Element) -> Took:
    """The audits and amounts of a returned ticket; what is not there, or no time, is left out."""
    phases = root.iterfind(f"{jdf('AuditPool')}/{jdf('PhaseTime')}")
    printing = [
        (start, end)
        for phase in phases
        if phase.get("Status") == "InProgress"
        if (start := _moment(phase.get("Start"))) and (end := _moment(phase.get("End"))) and end > start
    ]
    return Took(tuple(printing), _ink_ml(root))


def _moment(text: str | None) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    return moment if moment.tzinfo else None


def _ink_ml(root: Element) -> float | None:
    """Ink is counted in litres (JDF 1.7, Ink: the unit of amount is l unless the link says another)."""
    litres: list[float] = []
    for link in root.iterfind(f"{jdf('ResourceLinkPool')}/{jdf('InkLink')}"):
        for part in (link, *link.iterfind(f"{jdf('AmountPool')}/{jdf('PartAmount')}")):
            try:
                litres.append(float(part.get("ActualAmount", "")))
            except ValueError:
                continue
    return 1000 * sum(litres) if litres else None
