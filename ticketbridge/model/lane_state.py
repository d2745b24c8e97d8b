"""What a lane is doing: what the decisions need to know of it, put together by whoever asks."""

from dataclasses import dataclass

from ticketbridge.model.substrate import LayerStack, Roll


@dataclass(frozen=True, slots=True)
class RunningWork:
    """What prints on a lane, as far as it binds the other lanes of the press."""

    print_mode: str
    layer_stack: LayerStack
    substrate: str


@dataclass(frozen=True, slots=True)
class LaneState:
    """A lane at one moment.

    Attributes:
        roll: The roll loaded, with what is left on it.
        running: What prints now.
        minutes_ahead: Until all that is queued for the lane has been printed.
        given: Tickets at the lane that are not finished, the running one included.
        given_work: What those tickets print, where the caller knows it; the running one may be among them.
    """

    roll: Roll | None = None
    running: RunningWork | None = None
    minutes_ahead: float = 0.0
    given: int = 0
    given_work: tuple[RunningWork, ...] = ()
