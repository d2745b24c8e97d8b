"""The one table of findings and verdicts. Each area has its module; the documents are generated from here."""

from collections.abc import Iterable
from typing import Final

from ticketbridge.model.codes import (
    config,
    delivery,
    estimates,
    exports,
    intake,
    keeping,
    lanes,
    mapping,
    messages,
    order_files,
    partners,
    plan,
    requests,
    rolls,
    tickets,
)
from ticketbridge.model.finding import Code, Finding, Severity


def _table(*areas: Iterable[Code]) -> dict[str, Code]:
    table: dict[str, Code] = {}
    for area in areas:
        for row in area:
            if row.code in table:
                raise ValueError(f"two rows for the code {row.code}")
            table[row.code] = row
    return table


CODES: Final = _table(
    config.CODES,
    intake.CODES,
    order_files.CODES,
    partners.CODES,
    exports.CODES,
    tickets.CODES,
    mapping.CODES,
    lanes.CODES,
    delivery.CODES,
    requests.CODES,
    rolls.CODES,
    plan.CODES,
    estimates.CODES,
    messages.CODES,
    keeping.CODES,
)
"""Every code that a finding or a verdict may carry."""


def severity_of(finding: Finding) -> Severity:
    """How bad a finding is."""
    return CODES[finding.code].severity


def sentence(finding: Finding) -> str:
    """The finding as a sentence for people, control characters escaped."""
    return printable(CODES[finding.code].sentence.format_map(_rounded(finding)))


def remedy(finding: Finding) -> str:
    """What to do about it."""
    return printable(CODES[finding.code].remedy.format_map(_rounded(finding)))


def refuses(findings: Iterable[Finding]) -> bool:
    """Whether any of them is an error."""
    return any(severity_of(finding) is Severity.ERROR for finding in findings)


def printable(text: str) -> str:
    """Text from outside made safe for a terminal or a log: control and direction marks are escaped."""
    return "".join(
        letter if letter.isprintable() else letter.encode("unicode_escape", "backslashreplace").decode()
        for letter in text
    )


def _rounded(finding: Finding) -> dict[str, str]:
    return {
        name: _duration(value) if name.endswith("_minutes") and isinstance(value, float) else _shown(value)
        for name, value in finding.facts.items()
    }


def _duration(minutes: float) -> str:
    """Minutes as a person says them: minutes up to two hours, hours up to two days, then days."""
    if abs(minutes) < 120:
        return f"{minutes:.0f} min"
    return f"{minutes / 60:.1f} h" if abs(minutes) < 2880 else f"{minutes / 1440:.0f} days"


def _shown(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.1f}".removesuffix(".0")
    return str(value)
