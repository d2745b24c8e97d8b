"""What is said of a plan."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

CODES: Final[tuple[Code, ...]] = (
    Code(
        "plan.no-roll",
        Severity.INFORMATION,
        "{queue_entry_id} is not planned: no roll in the shop suits it.",
        "Receive one with `ticketbridge rolls receive`; it is planned from then on.",
    ),
    Code(
        "plan.no-lane",
        Severity.INFORMATION,
        "{queue_entry_id} is not planned: no lane that is open now can print it.",
        "`ticketbridge jobs show {queue_entry_id}` says why of every lane.",
    ),
    Code(
        "plan.later",
        Severity.INFORMATION,
        "{queue_entry_id} is not planned yet: more urgent jobs fill the plan.",
        "It is planned as soon as some of them are printed; a higher priority brings it forward.",
    ),
    Code(
        "plan.accepted",
        Severity.INFORMATION,
        "The plan is in force: {planned} jobs in its order, {moved} of them on another lane than before.",
        "`ticketbridge plan` shows what becomes of it; hold and priority go before it.",
    ),
    Code(
        "plan.passed-over",
        Severity.INFORMATION,
        "{queue_entry_id} has moved on since the plan was made and was left as it is.",
        "Plan again if its place matters.",
    ),
    Code(
        "plan.nothing",
        Severity.INFORMATION,
        "No job waits, so there is nothing to plan.",
        "`ticketbridge jobs` lists what is held or at the presses.",
    ),
)
