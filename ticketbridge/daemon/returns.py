"""Finished tickets and acknowledgements to the addresses that messages named, proved again when each is sent."""

from collections.abc import Callable, Sequence

from ticketbridge.flow.press.giving_back import acknowledge_address, return_address
from ticketbridge.flow.press.passing_on import ASKED
from ticketbridge.jdf.package import content_type_of
from ticketbridge.jdf.post import Poster
from ticketbridge.model.exchange import Exchange, Outcome
from ticketbridge.model.jmf_partner import JmfEndpoint, JmfSender
from ticketbridge.report.send import NotReceived
from ticketbridge.store.store import Store


class ReturnSender:
    """Posts what lies in one partner's channel for them.

    Files are named after their jobs, and an acknowledgement besides after the command that was passed on.
    """

    def __init__(
        self, channel: str, endpoint: JmfEndpoint, store: Store, note: Callable[[Exchange], None]
    ) -> None:
        self._channel = channel
        self._endpoint = endpoint
        self._store = store
        self._note = note

    def send(self, body: bytes, file_name: str) -> None:
        """Post one.

        Raises:
            NotReceived: The partner does not have it, or its address is not configured any more.
        """
        name, _, ending = file_name.rpartition(".")
        name, _, message_id = name.partition(".")
        found = self._acknowledge_address(name, message_id) if message_id else self._return_address(name)
        if not found:
            raise NotReceived(f"the address for {name} is not among signal_urls any more", Outcome.NOT_THERE)
        poster = Poster(found[1], self._channel, self._note)
        answer = poster.post(body, content_type_of(body, file_name))
        poster.close()
        # Whoever takes a ticket alone need not speak JMF: then what HTTP says counts.
        if answer.outcome is not Outcome.RECEIVED and (ending, answer.outcome) != ("jdf", Outcome.NO_JMF):
            raise NotReceived(answer.reason, answer.outcome)

    def _return_address(self, name: str) -> tuple[JmfSender, str] | None:
        with self._store.transaction() as tx:
            job = tx.job(name)
            said = tx.submission(job.claim_id)
        return return_address(self._endpoint, job.order.source, said) if said else None

    def _acknowledge_address(self, name: str, message_id: str) -> tuple[JmfSender, str] | None:
        with self._store.transaction() as tx:
            source_id = tx.standing(name).source
            asked = [event["facts"] for event in tx.history(name) if event["what"] == ASKED]
        urls = [one.get("acknowledge_url", "") for one in asked if one["message_id"] == message_id]
        return acknowledge_address(self._endpoint, source_id, urls[0]) if urls else None

    def settle(self, file_names: Sequence[str]) -> None:
        """The partner has it; nothing lies here."""

    def close(self) -> None:
        """Nothing is held."""
