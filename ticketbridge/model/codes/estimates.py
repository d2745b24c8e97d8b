"""What is said of estimates that learn."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

CODES: Final[tuple[Code, ...]] = (
    Code(
        "estimates.changed",
        Severity.WARNING,
        "Prints on {press} take {percent} % more time than before, since about {runs} prints; below 0 is less.",
        "If it was serviced or set otherwise, this is expected. If not, let a trained person look at it: `ticketbridge "
        "estimates` shows the prints.",
    ),
)
