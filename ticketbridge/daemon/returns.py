"""Finished tickets to the addresses that their submissions named, each looked up and proved again when it is sent."""

from collections.abc import Callable, Sequence

from ticketbridge.flow.giving_back import return_address
from ticketbridge.jdf.package import content_type_of
from ticketbridge.jdf.post import Poster
from ticketbridge.model.exchange import Exchange, Outcome
from ticketbridge.model.jmf_partner import JmfEndpoint
from ticketbridge.report.send import NotReceived
from ticketbridge.store.store import Store


class ReturnSender:
    """Posts what lies in one partner's channel for finished tickets; files are named after their jobs."""

    def __init__(
        self, channel: str, endpoint: JmfEndpoint, store: Store, note: Callable[[Exchange], None]
    ) -> None:
        self._channel = channel
        self._endpoint = endpoint
        self._store = store
        self._note = note

    def send(self, body: bytes, file_name: str) -> None:
        """Post one ticket.

        Raises:
            NotReceived: The partner does not have it, or its address is not configured any more.
        """
        name, _, ending = file_name.rpartition(".")
        with self._store.transaction() as tx:
            job = tx.job(name)
            said = tx.submission(job.claim_id)
        found = said and return_address(self._endpoint, job.order.source, said)
        if not found:
            raise NotReceived(f"the address for {name} is not among signal_urls any more", Outcome.NOT_THERE)
        poster = Poster(found[1], self._channel, self._note)
        answer = poster.post(body, content_type_of(body, file_name))
        poster.close()
        # Whoever takes a ticket alone need not speak JMF: then what HTTP says counts.
        if answer.outcome is not Outcome.RECEIVED and (ending, answer.outcome) != ("jdf", Outcome.NO_JMF):
            raise NotReceived(answer.reason, answer.outcome)

    def settle(self, file_names: Sequence[str]) -> None:
        """The partner has it; nothing lies here."""

    def close(self) -> None:
        """Nothing is held."""
