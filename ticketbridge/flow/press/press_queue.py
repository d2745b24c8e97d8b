"""What the queue of a press says of a job: one table, for presses that are asked and for those that signal."""

from collections.abc import Mapping
from dataclasses import dataclass

from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.press.steps import step_job, tell_finding
from ticketbridge.hand_over.follow import EntrySaid
from ticketbridge.model.finding import Finding, type_of_fact
from ticketbridge.model.job import Standing
from ticketbridge.model.job_states import State, Step
from ticketbridge.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class Contradiction:
    """What a press's queue says cannot follow on what the job is here."""


ENTRY_STEPS: Mapping[tuple[State, str], Step | Contradiction] = {
    (State.WAITING, "Held"): Step.HELD,
    (State.WAITING, "Running"): Step.STARTED,
    (State.WAITING, "PendingReturn"): Step.FINISHED,
    (State.WAITING, "Completed"): Step.FINISHED,
    (State.WAITING, "Aborted"): Step.BROKEN_OFF,
    (State.WAITING, "Removed"): Step.CANCELLED,
    (State.HELD, "Waiting"): Step.RESUMED,
    (State.HELD, "Running"): Step.STARTED,
    (State.HELD, "Aborted"): Step.BROKEN_OFF,
    (State.HELD, "Removed"): Step.CANCELLED,
    (State.RUNNING, "Suspended"): Step.SUSPENDED,
    (State.RUNNING, "PendingReturn"): Step.FINISHED,
    (State.RUNNING, "Completed"): Step.FINISHED,
    (State.RUNNING, "Aborted"): Step.BROKEN_OFF,
    (State.RUNNING, "Waiting"): Contradiction(),
    (State.RUNNING, "Held"): Contradiction(),
    (State.RUNNING, "Removed"): Contradiction(),
    (State.SUSPENDED, "Running"): Step.WENT_ON,
    (State.SUSPENDED, "Aborted"): Step.BROKEN_OFF,
    (State.SUSPENDED, "Waiting"): Contradiction(),
    (State.SUSPENDED, "Removed"): Contradiction(),
    (State.PENDING_RETURN, "Waiting"): Contradiction(),
    (State.COMPLETED, "Waiting"): Contradiction(),
    (State.COMPLETED, "Running"): Contradiction(),
    (State.ABORTED, "Running"): Contradiction(),
}
"""(the job here, ``QueueEntry@Status`` there) -> the step, or that it cannot be. What is not here says nothing new."""


def apply_entry(bridge: Bridge, tx: Transaction, said: EntrySaid, job: Standing) -> None:
    """The entry of a press's queue: holds, removals and ends that no JobPhase told of."""
    wanted = ENTRY_STEPS.get((job.state, said.status))
    if wanted is None:
        return
    if isinstance(wanted, Contradiction):
        key = f"{job.queue_entry_id} {said.status} {job.state}"
        if tx.is_new_message(f"{said.device_id} contradicts", key[:63], bridge.now()):
            facts: dict[str, type_of_fact] = {
                "device_id": said.device_id,
                "queue_entry_id": job.queue_entry_id,
                "said": said.status,
                "state": job.state.value,
            }
            tell_finding(bridge, tx, job, Finding("press.contradiction", facts=facts))
        return
    step_job(bridge, tx, job, wanted)
