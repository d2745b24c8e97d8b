"""Between the model and the rows of the job table."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from ticketbridge.model.estimate import Estimate
from ticketbridge.model.job import Job, Standing, as_moment, as_text, first_details
from ticketbridge.model.job_states import State
from ticketbridge.model.layout import Layout
from ticketbridge.model.order import Order
from ticketbridge.model.substrate import Roll
from ticketbridge.model.verdict import LaneVerdict, Verdict
from ticketbridge.store.tables import JOB

STANDING_COLUMNS: Final = tuple(JOB.c[name] for name in Standing.__slots__)
_STATE: Final = Standing.__slots__.index("state")
_TIMES: Final = tuple(
    Standing.__slots__.index(name) for name in ("due", "submitted_at", "started_at", "ended_at")
)


def job_row(job: Job) -> dict[str, Any]:
    """A new job as a row, Waiting or Held."""
    item = job.item
    return {
        "number": job.number,
        "queue_entry_id": job.queue_entry_id,
        "claim_id": job.claim_id,
        "source": job.order.source,
        "job_id": job.order.job_id,
        "job_part_id": item.job_part_id,
        "identity": job.identity,
        "item_index": job.item_index,
        "printing": job.printing,
        "revision": job.revision,
        "state": State.HELD if job.held else State.WAITING,
        "status_details": first_details(job),
        "phase": "Waiting",
        "device_id": job.device_id,
        "substrate": item.substrate,
        "print_mode": item.print_mode,
        "layer_stack": item.layer_stack.value,
        "quantity": item.quantity,
        "print_s": job.estimate.print_s,
        "roll_length_mm": job.estimate.roll_length_mm,
        "given": False,
        "priority": job.order.priority,
        "due": job.order.due and as_text(job.order.due),
        "job_order": job.order.model_dump(mode="json"),
        "origins": dict(job.origins),
        "roll": job.roll and job.roll.model_dump(),
        "roll_lot": job.roll and job.roll.lot,
        "roll_number": job.roll and job.roll.number,
        "layout": job.layout.as_json(),
        "judged": [[lane.device_id, lane.verdicts] for lane in job.judged],
        "estimate": job.estimate.as_json(),
        "amount": 0,
        "waste": 0,
        "submitted_at": as_text(job.submitted_at),
    }


def job_from_row(row: Mapping[str, Any]) -> Job:
    """The job as it was decided; when it is due and how urgent it is may have been changed since."""
    order = Order.model_validate(row["job_order"])
    planning = {"due": row["due"] and as_moment(row["due"]), "priority": row["priority"]}
    return Job(
        number=row["number"],
        queue_entry_id=row["queue_entry_id"],
        claim_id=row["claim_id"],
        identity=row["identity"],
        item_index=row["item_index"],
        printing=row["printing"],
        revision=row["revision"],
        device_id=row["device_id"],
        order=order.model_copy(update=planning),
        roll=row["roll"] and Roll.model_validate(row["roll"]),
        layout=Layout.from_json(row["layout"]),
        judged=tuple(
            LaneVerdict(device_id, tuple(Verdict.from_json(v) for v in verdicts))
            for device_id, verdicts in row["judged"]
        ),
        estimate=Estimate.from_json(row["estimate"]),
        origins=row["origins"],
        submitted_at=as_moment(row["submitted_at"]),
    )


def standing_from_row(row: Iterable[Any]) -> Standing:
    """Where the job stands; the row holds ``STANDING_COLUMNS`` in their order."""
    values = list(row)
    values[_STATE] = State(values[_STATE])
    for place in _TIMES:
        values[place] = values[place] and as_moment(values[place])
    return Standing(*values)
