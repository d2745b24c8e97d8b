"""The tables. Times are UTC as ISO 8601 text, so that they sort and a person can read them in any database."""

from typing import Final

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    UniqueConstraint,
    true,
)

METADATA: Final = MetaData()

INTAKE: Final = Table(
    "intake",
    METADATA,
    Column("claim_id", String(40), primary_key=True),
    Column("source", String(63), nullable=False),
    Column("original_name", String(1023), nullable=False),
    Column("place", String(16), nullable=False),  # the folder that holds the file
    Column("sha256", String(64), nullable=False),
    Column("findings", JSON, nullable=False),
    Column("at", String(32), nullable=False),
)
"""One row for each dropped file that was taken: what became of it."""

JOB: Final = Table(
    "job",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("queue_entry_id", String(63), nullable=False, unique=True),
    Column("claim_id", String(40), ForeignKey("intake.claim_id"), nullable=False),
    Column("source", String(63), nullable=False),
    Column("job_id", String(63), nullable=False),
    Column("job_part_id", String(63), nullable=False),
    Column("identity", String(64), nullable=False),
    Column("item_index", Integer, nullable=False),
    Column("printing", Integer, nullable=False),  # more than one takes a person's word
    Column("revision", Integer, nullable=False, default=1),
    Column("state", String(16), nullable=False),
    Column("status_details", String(63)),
    Column("phase", String(20), nullable=False, default="Waiting"),
    Column("device_id", String(63), nullable=False),
    Column("substrate", String(63), nullable=False),
    Column("print_mode", String(63), nullable=False),
    Column("layer_stack", String(63), nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("print_s", Float, nullable=False),
    Column("roll_length_mm", Float, nullable=False),
    Column("given", Boolean, nullable=False, default=False),  # at the press, or about to be
    Column("priority", Integer, nullable=False),
    Column("due", String(32)),
    Column("job_order", JSON, nullable=False),
    Column("origins", JSON, nullable=False),
    Column("roll", JSON(none_as_null=True)),
    Column("roll_lot", String(63)),
    Column("roll_number", Integer),
    Column("layout", JSON, nullable=False),
    Column("judged", JSON, nullable=False),
    Column("estimate", JSON, nullable=False),
    Column("amount", Float, nullable=False, default=0),
    Column("waste", Float, nullable=False, default=0),
    Column("submitted_at", String(32), nullable=False),
    Column("started_at", String(32)),
    Column("ended_at", String(32)),
    Column("plan_position", Integer),  # in the order of the plan in force; none for what came after it
    Column("position", Integer),
    Column("listed", Boolean, nullable=False, default=True, server_default=true()),
    UniqueConstraint("identity", "item_index", "printing"),
    Index("job_by_name", "source", "job_id", "job_part_id"),
    # Rows of jobs are long. What every batch asks of the open ones is in these, so that no row need be read.
    Index(
        "job_by_state",
        "state",
        "given",
        "device_id",
        "print_mode",
        "layer_stack",
        "substrate",
        "print_s",
        "roll_length_mm",
        "queue_entry_id",
    ),
    Index("job_by_roll", "roll_lot", "roll_number", "state", "started_at", "roll_length_mm"),
)
"""One row for each item of an accepted order. The same content again meets the unique key."""

DELIVERY: Final = Table(
    "delivery",
    METADATA,
    Column("queue_entry_id", String(63), ForeignKey("job.queue_entry_id"), primary_key=True),
    Column("device_id", String(63), nullable=False),
    Column("temporary_name", String(255), nullable=False),
    Column("final_name", String(255), nullable=False),
    Column("state", String(16), nullable=False),  # intended, submitting, in doubt, delivered
    Column("press_entry_id", String(63)),  # the entry's name in the press's own queue, where it speaks JMF
    Column("at", String(32), nullable=False),
    Index("delivery_by_state", "state"),
)
"""The intention to hand a ticket over, committed before the one rename, or the one message, that does it."""

EVENT: Final = Table(
    "event",
    METADATA,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("queue_entry_id", String(63)),
    Column("what", String(63), nullable=False),
    Column("who", String(63), nullable=False),
    Column("facts", JSON, nullable=False),
    Column("at", String(32), nullable=False),
    Index("event_by_job", "queue_entry_id"),
)
"""Append-only history, written in the same transaction as the change it tells of."""

CHANNEL: Final = Table(
    "channel",
    METADATA,
    Column("channel", String(127), primary_key=True),
    Column("last_seq", Integer, nullable=False, default=0),
    Column("sent_up_to", Integer, nullable=False, default=0),
)
"""One subscriber: how many messages it was promised, and up to which it surely has them."""

MESSAGE: Final = Table(
    "message",
    METADATA,
    Column("channel", String(127), ForeignKey("channel.channel"), primary_key=True),
    Column("seq", Integer, primary_key=True),
    Column("body", LargeBinary, nullable=False),
    Column("file_name", String(255), nullable=False),
    Column("dead", Boolean, nullable=False, default=False),
    Column("reason", String(1023)),  # why it was given up
    Column("at", String(32), nullable=False),
)
"""The outbox: the bytes to send, written with the change they tell of; the same bytes on every try."""

RECEIVED: Final = Table(
    "received",
    METADATA,
    Column("sender_id", String(255), primary_key=True),
    Column("message_id", String(63), primary_key=True),
    Column("at", String(32), nullable=False),
)
"""Messages of the presses that were taken in; a repeated one is dropped by its sender and ID."""

GANG: Final = Table(
    "gang",
    METADATA,
    Column("queue_entry_id", String(63), ForeignKey("job.queue_entry_id"), primary_key=True),
    Column("name", String(63), nullable=False),  # under which the press has the run
    Column("place", Integer, nullable=False),  # in the ticket
    Column("layout", JSON, nullable=False),  # what the job has of the run
    Column("ticket", LargeBinary, nullable=False),  # the node that goes back for it
    Index("gang_by_name", "name"),
)
"""Jobs that are printed packed together, as one ticket. The job's own row keeps the layout it would have alone."""

ACTUAL: Final = Table(
    "actual",
    METADATA,
    Column("queue_entry_id", String(63), ForeignKey("job.queue_entry_id"), primary_key=True),
    Column("press", String(63), nullable=False),
    Column("print_mode", String(63), nullable=False),
    Column("substrate", String(63), nullable=False),
    Column(
        "estimated_s", Float, nullable=False
    ),  # by the bare model, so that a correction never feeds itself
    Column("actual_s", Float),
    Column("estimated_ml", Float, nullable=False),
    Column("actual_ml", Float),
    Column("at", String(32), nullable=False),
)
"""What a print really took, beside what the model had said."""

ROLL: Final = Table(
    "roll",
    METADATA,
    Column("lot", String(255), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("substrate", String(63), nullable=False),
    Column("width_mm", Float, nullable=False),
    Column("length_left_m", Float, nullable=False),
    Column("core_outside_mm", Float),
    Column("flaws", JSON, nullable=False),
    Column("place", String(8), nullable=False),  # shelf, lane, gone
    Column("device_id", String(63), unique=True),  # the lane; one roll on each
    Column("placed_at", String(32), nullable=False),
    Column("measured_diameter_mm", Float),
    Column("measured_at", String(32)),
    Column("at", String(32), nullable=False),
)
"""Every roll the shop has or had: where it is, and what is left of it by account."""

BRIDGE: Final = Table(
    "bridge",
    METADATA,
    Column("bridge_id", String(127), primary_key=True),
    Column("host", String(255), nullable=False),
    Column("pid", Integer, nullable=False),
    Column("version", String(63), nullable=False),
    Column("can_serve", JSON, nullable=False),
    Column("started_s", Float, nullable=False),
    Column("alive_until_s", Float, nullable=False),
)
"""The bridges on this store, each under a name that is new at each start. One whose row is gone may write no more.
Times of this table and the next are seconds since 1970 by the clock of the database, the only one all go by."""

LEASE: Final = Table(
    "lease",
    METADATA,
    Column("name", String(127), primary_key=True),  # kind, blank, id: lane HL-P1-A
    Column("bridge_id", String(127)),
    Column("taken_s", Float, nullable=False),
    Column("takeovers", Integer, nullable=False, default=0),
)
"""What only one bridge may serve at a time, and which does; a bridge that is not there any more counts as none."""

LANE_QUEUE: Final = Table(
    "lane_queue",
    METADATA,
    Column("device_id", String(63), primary_key=True),
    Column("closed", Boolean, nullable=False),  # takes no new entries
    Column("held", Boolean, nullable=False),  # starts none
)
"""Queues that a message or a person closed or held; a lane that is not here is open."""

SUBMISSION: Final = Table(
    "submission",
    METADATA,
    Column("claim_id", String(40), ForeignKey("intake.claim_id"), primary_key=True),
    Column("said", JSON, nullable=False),
)
"""What a message said about the ticket that it submitted, such as where it is to be returned."""

SUBSCRIPTION: Final = Table(
    "subscription",
    METADATA,
    Column("channel", String(127), primary_key=True),
    Column("said", JSON, nullable=False),
    Column("at", String(32), nullable=False),
)
"""Channels that partners opened by message; they outlive a restart."""
