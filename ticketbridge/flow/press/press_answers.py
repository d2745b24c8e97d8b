"""What a press answers to what the bridge said, and where it goes in the flow.

What a press posts of its own accord does not come here: it is kept as files in the lane's folders
(``flow.press.press_posts``), because its positive answer is a promise; an answer that is lost is asked for again.
"""

from collections.abc import Callable
from dataclasses import dataclass

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.press.following import follow_answers
from ticketbridge.flow.press.passing_on import PressAnswered, settle_command
from ticketbridge.flow.press.submitted_to_press import SubmissionSettled, settle_submission
from ticketbridge.jdf.writing import Element


@dataclass(frozen=True, slots=True)
class PressPolled:
    """What a press answered when it was asked where it stands."""

    device_id: str
    root: Element


FromPress = PressPolled | SubmissionSettled | PressAnswered


@dataclass(frozen=True, slots=True)
class Handed:
    """Something from a press, and the talk that waits until it is in the store.

    Attributes:
        item: What came.
        done: Told whether it is; where a fault of the world came between, the talk finds out again what to do.
    """

    item: FromPress
    done: Callable[[bool], None]


def take_handed(bridge: Bridge, handed: Handed) -> None:
    """Apply one thing that came from a press, and tell whoever waits, also where it could not be applied."""
    well = False
    try:
        take_from_press(bridge, handed.item)
        well = True
    finally:
        handed.done(well)


def take_from_press(bridge: Bridge, item: FromPress) -> None:
    """Apply one thing that came from a press."""
    match item:
        case PressPolled():
            follow_answers(bridge, item.root, item.device_id)
        case SubmissionSettled():
            settle_submission(bridge, item)
        case PressAnswered():
            settle_command(bridge, item)
