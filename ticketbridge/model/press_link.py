"""How a press that speaks JMF by HTTP is reached."""

from typing import Annotated

from pydantic import Field

from ticketbridge.model.substrate import FromOutside, Positive

HttpAddress = Annotated[str, Field(pattern=r"^https?://")]


class PressLink(FromOutside):
    """A press that takes its tickets by SubmitQueueEntry instead of from its lanes' folders."""

    url: HttpAddress
    """Where the press takes JMF. Nothing else of it is ever called, and redirects are not followed."""
    answer_url: HttpAddress | None = None
    """The bridge's own JMF address as the press sees it: there the press posts its signals and gives tickets back.
    Without it nothing is subscribed to and the press is polled; it gives tickets back by the folder ``returned``."""
    poll_s: Positive = 10
    """How often the press is asked where it stands, where it does not signal; where it does, six times more
    seldom, in case a signal was lost."""
    patience_s: Positive = 10
    """The longest wait for an answer."""
    settle_s: Positive = 5
    """After an answer that was lost the press gets so long to list what it took, before it is asked."""
