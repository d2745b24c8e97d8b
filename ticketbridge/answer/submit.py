"""SubmitQueueEntry and ResubmitQueueEntry: which ticket, and what is said of it."""

import re
from dataclasses import dataclass

from ticketbridge.answer.messages import Message
from ticketbridge.model.submission import Submission
from ticketbridge.vocabulary.names import jdf


@dataclass(frozen=True, slots=True)
class TicketOffered:
    """A ticket that a message offers.

    Attributes:
        url: Where it is.
        submission: What is said of it.
        file_name: A name for it, for people and for findings.
    """

    url: str
    submission: Submission
    file_name: str


def ticket_offered(message: Message, sender_id: str, device_id: str | None) -> TicketOffered | None:
    """The ticket of a Submit or Resubmit; None where the message has no parameters."""
    again = message.kind == "ResubmitQueueEntry"
    params = message.element.find(jdf("ResubmissionParams" if again else "QueueSubmissionParams"))
    if params is None:
        return None
    priority = params.get("Priority")
    submission = Submission(
        sender_id=sender_id,
        message_id=message.message_id,
        device_id=device_id,
        priority=None if priority is None else int(priority),
        hold=params.get("Hold") == "true",
        resubmits=params.get("QueueEntryID") if again else None,
        return_jmf=params.get("ReturnJMF"),
        return_url=params.get("ReturnURL"),
    )
    name = re.sub(r"[^A-Za-z0-9._-]", "_", message.message_id)[:100]
    return TicketOffered(params.get("URL", ""), submission, f"{name}.jdf")
