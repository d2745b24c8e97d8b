"""The answer to one message: its ReturnCode, what was asked for, and in words what was done or why not."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from ticketbridge.answer.messages import COMMANDS, QUERIES
from ticketbridge.jdf.message_parts import notification
from ticketbridge.jdf.writing import Element, child
from ticketbridge.model.codes import CODES, remedy, sentence, severity_of
from ticketbridge.model.finding import Finding, Severity
from ticketbridge.model.job import Standing
from ticketbridge.vocabulary.names import XSI_TYPE

_WITH_TYPE: Final = (*COMMANDS, *(kind for kind in QUERIES if kind != "Notification"))
"""Messages whose Response has a type of its own in the standard's schema; a Notification's has none."""


def response(
    ref_id: str | None,
    kind: str,
    findings: Sequence[Finding],
    at: datetime,
    *content: Element,
    entry: Standing | None = None,
) -> Element:
    """A Response.

    Args:
        ref_id: ``@ID`` of the message; None where it could not be read.
        kind: Its ``@Type``.
        findings: What is to be said, one for each entry that it named; the first error gives the code.
        at: Now.
        content: What was asked for.
        entry: The entry that it is about, for the notification.
    """
    errors = [finding for finding in findings if severity_of(finding) is Severity.ERROR]
    code = CODES[errors[0].code].return_code if errors else 0
    answer = child(None, "Response", Type=kind, ReturnCode=str(code))
    if ref_id is not None:
        answer.set("refID", ref_id)
    if kind in _WITH_TYPE:
        answer.set(XSI_TYPE, f"Response{kind}")
    for element in content:
        answer.append(element)
    if findings:
        answer.append(_note(findings, errors, code, at, entry))
    return answer


def _note(
    findings: Sequence[Finding], errors: Sequence[Finding], code: int, at: datetime, entry: Standing | None
) -> Element:
    text = " ".join(
        f"{sentence(finding)} {remedy(finding) if finding in errors else ''}".strip() for finding in findings
    )
    note = notification("Error" if errors else "Information", "Error" if errors else "Event", text, at, entry)
    if not errors:
        child(note, "Event", EventID="CommandDone")
        return note
    error = child(note, "Error", ErrorID=errors[0].code, ReturnCode=str(code))
    for finding in errors:
        if finding.place.path:
            child(error, "ErrorData", ErrorType="Invalid", Path=finding.place.path)
    return note
