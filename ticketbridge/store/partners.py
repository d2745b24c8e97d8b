"""What partners that speak JMF by HTTP asked to be remembered: queues, submissions, channels."""

from datetime import datetime

from sqlalchemy import delete, insert, select

from ticketbridge.model.job import as_text
from ticketbridge.model.queue_state import QueueState
from ticketbridge.model.submission import Submission
from ticketbridge.model.subscription import Subscription
from ticketbridge.store.statements import Statements
from ticketbridge.store.tables import LANE_QUEUE, SUBMISSION, SUBSCRIPTION


class PartnerStatements(Statements):
    """What partners that speak JMF by HTTP asked to be remembered."""

    def queue_states(self) -> dict[str, QueueState]:
        """The queues that are closed or held, by lane."""
        rows = self._connection.execute(select(LANE_QUEUE))
        return {row.device_id: QueueState(closed=row.closed, held=row.held) for row in rows}

    def set_queue_state(self, device_id: str, state: QueueState) -> None:
        """Close, open, hold or resume a lane's queue."""
        self._connection.execute(delete(LANE_QUEUE).where(LANE_QUEUE.c.device_id == device_id))
        values = {"device_id": device_id, "closed": state.closed, "held": state.held}
        self._connection.execute(insert(LANE_QUEUE), values)

    def add_submission(self, claim_id: str, submission: Submission) -> None:
        """What the message said that brought this ticket."""
        self._connection.execute(insert(SUBMISSION), {"claim_id": claim_id, "said": submission.as_json()})

    def submission(self, claim_id: str) -> Submission | None:
        """What the message said that brought this ticket; None where it came otherwise."""
        said = self._connection.execute(
            select(SUBMISSION.c.said).where(SUBMISSION.c.claim_id == claim_id)
        ).scalar_one_or_none()
        return None if said is None else Submission.from_json(said)

    def subscriptions(self) -> list[Subscription]:
        """Every open channel, oldest first."""
        rows = self._connection.execute(
            select(SUBSCRIPTION.c.said).order_by(SUBSCRIPTION.c.at, SUBSCRIPTION.c.channel)
        )
        return [Subscription.from_json(row.said) for row in rows]

    def open_channel(self, subscription: Subscription, at: datetime) -> None:
        """Remember a channel; the same one again takes its place."""
        self.close_channel(subscription.channel)
        values = {"channel": subscription.channel, "said": subscription.as_json(), "at": as_text(at)}
        self._connection.execute(insert(SUBSCRIPTION), values)

    def close_channel(self, channel: str) -> None:
        """Forget a channel; its messages stay."""
        self._connection.execute(delete(SUBSCRIPTION).where(SUBSCRIPTION.c.channel == channel))
