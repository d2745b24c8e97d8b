"""Messages that were given up, and one that a subscriber is stuck at: what people do with them by command."""

from typing import Final

from ticketbridge.flow.bridge import Bridge
from ticketbridge.model.event import Event
from ticketbridge.model.finding import Finding, type_of_fact
from ticketbridge.model.request import Request, Wish

MESSAGE_WISHES: Final = frozenset({Wish.MESSAGE_RESEND, Wish.MESSAGE_SKIP})


def answer_about_messages(bridge: Bridge, request: Request, request_id: str) -> tuple[Finding, ...]:
    """Send a dead letter again, or give up the message that a channel is stuck at. Once for each request."""
    now, channel = bridge.now(), str(request.args["channel"])
    facts: dict[str, type_of_fact] = {"channel": channel}
    with bridge.store.transaction() as tx:
        if not tx.is_new_message("request", request_id, now):
            return (Finding("message.asked-before"),)
        if request.wish is Wish.MESSAGE_RESEND:
            facts["number"] = int(request.args["number"])
            if not tx.send_again(channel, int(request.args["number"]), now):
                return (Finding("message.no-dead-letter", facts=facts),)
            code = "message.sent-again"
        else:
            head = tx.bury_next(channel, f"skipped by {request.who}")
            if head is None:
                return (Finding("message.none-waits", facts=facts),)
            facts["number"] = head.seq
            code = "message.skipped"
        tx.tell(Event(request.wish, now, who=request.who, facts=facts))
    return (Finding(code, facts=facts),)
