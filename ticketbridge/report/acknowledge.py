"""The later answer to a command of the MIS that only the press could give."""

from datetime import datetime

from ticketbridge.jdf.writing import Element, child, clean, moment


def acknowledge(ref_id: str, kind: str, return_code: int, text: str, at: datetime) -> Element:
    """An Acknowledge: what the press said to a command that was passed on to it.

    Args:
        ref_id: ``Command@ID`` of the MIS.
        kind: Its ``@Type``.
        return_code: The press's.
        text: In words.
        at: Now.
    """
    told = child(
        None,
        "Acknowledge",
        xsi_type=f"Acknowledge{kind}",
        Type=kind,
        refID=ref_id,
        ReturnCode=str(return_code),
    )
    note = child(
        told,
        "Notification",
        Class="Error" if return_code else "Information",
        Type="Event",
        TimeStamp=moment(at),
    )
    child(note, "Event", EventID="CommandRefused" if return_code else "CommandDone")
    child(note, "Comment").text = clean(text)
    return told
