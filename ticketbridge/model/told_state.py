"""The state that a job must be in by its history. Pure; the law is ``job_states``."""

from collections.abc import Iterable, Mapping
from typing import Final

from ticketbridge.model.job_states import State, Step, after
from ticketbridge.model.request import Wish

_STEPS: Final[Mapping[str, Step]] = {step.value: step for step in Step} | {
    Wish.HOLD.value: Step.HELD,
    Wish.RESUME.value: Step.RESUMED,
    Wish.CANCEL.value: Step.CANCELLED,
    Wish.ABORT.value: Step.ABORTED,
}
"""What a history calls a step: the step itself, or the wish of whoever asked for it."""


def states_told(history: Iterable[str]) -> frozenset[State]:
    """Every state that a job can be in after what its history tells; empty where the history contradicts itself.

    Args:
        history: What happened, oldest first. A job begins Waiting, or Held by its own ticket.
    """
    states = frozenset({State.WAITING, State.HELD})
    for what in history:
        step = _STEPS.get(what)
        if step is not None:
            states = frozenset(next_one for one in states if (next_one := after(one, step)) is not None)
    return states
