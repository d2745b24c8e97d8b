"""The first tables. Written out, not taken from ``tables.py``: a migration never changes afterwards."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables of the first release."""
    op.create_table(
        "intake",
        sa.Column("claim_id", sa.String(40), primary_key=True),
        sa.Column("source", sa.String(63), nullable=False),
        sa.Column("original_name", sa.String(1023), nullable=False),
        sa.Column("place", sa.String(16), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("findings", sa.JSON, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
    )
    op.create_table(
        "job",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("queue_entry_id", sa.String(63), nullable=False, unique=True),
        sa.Column("claim_id", sa.String(40), sa.ForeignKey("intake.claim_id"), nullable=False),
        sa.Column("source", sa.String(63), nullable=False),
        sa.Column("job_id", sa.String(63), nullable=False),
        sa.Column("job_part_id", sa.String(63), nullable=False),
        sa.Column("identity", sa.String(64), nullable=False),
        sa.Column("item_index", sa.Integer, nullable=False),
        sa.Column("printing", sa.Integer, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("status_details", sa.String(63)),
        sa.Column("phase", sa.String(20), nullable=False),
        sa.Column("device_id", sa.String(63), nullable=False),
        sa.Column("substrate", sa.String(63), nullable=False),
        sa.Column("print_mode", sa.String(63), nullable=False),
        sa.Column("layer_stack", sa.String(63), nullable=False),
        sa.Column("quantity", sa.Integer, nullable=False),
        sa.Column("print_s", sa.Float, nullable=False),
        sa.Column("roll_length_mm", sa.Float, nullable=False),
        sa.Column("given", sa.Boolean, nullable=False),
        sa.Column("priority", sa.Integer, nullable=False),
        sa.Column("due", sa.String(32)),
        sa.Column("job_order", sa.JSON, nullable=False),
        sa.Column("origins", sa.JSON, nullable=False),
        sa.Column("roll", sa.JSON),
        sa.Column("layout", sa.JSON, nullable=False),
        sa.Column("judged", sa.JSON, nullable=False),
        sa.Column("estimate", sa.JSON, nullable=False),
        sa.Column("amount", sa.Float, nullable=False),
        sa.Column("waste", sa.Float, nullable=False),
        sa.Column("submitted_at", sa.String(32), nullable=False),
        sa.Column("started_at", sa.String(32)),
        sa.Column("ended_at", sa.String(32)),
        sa.UniqueConstraint("identity", "item_index", "printing"),
    )
    op.create_index("job_by_name", "job", ["source", "job_id", "job_part_id"])
    op.create_index("job_by_state", "job", ["state"])
    op.create_table(
        "delivery",
        sa.Column("queue_entry_id", sa.String(63), sa.ForeignKey("job.queue_entry_id"), primary_key=True),
        sa.Column("device_id", sa.String(63), nullable=False),
        sa.Column("temporary_name", sa.String(255), nullable=False),
        sa.Column("final_name", sa.String(255), nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
    )
    op.create_table(
        "event",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("queue_entry_id", sa.String(63)),
        sa.Column("what", sa.String(63), nullable=False),
        sa.Column("who", sa.String(63), nullable=False),
        sa.Column("facts", sa.JSON, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
    )
    op.create_index("event_by_job", "event", ["queue_entry_id"])
    op.create_table(
        "channel",
        sa.Column("channel", sa.String(127), primary_key=True),
        sa.Column("last_seq", sa.Integer, nullable=False),
        sa.Column("sent_up_to", sa.Integer, nullable=False),
    )
    op.create_table(
        "message",
        sa.Column("channel", sa.String(127), sa.ForeignKey("channel.channel"), primary_key=True),
        sa.Column("seq", sa.Integer, primary_key=True),
        sa.Column("body", sa.LargeBinary, nullable=False),
        sa.Column("file_name", sa.String(255), nullable=False),
        sa.Column("dead", sa.Boolean, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
    )
    op.create_table(
        "received",
        sa.Column("sender_id", sa.String(255), primary_key=True),
        sa.Column("message_id", sa.String(63), primary_key=True),
        sa.Column("at", sa.String(32), nullable=False),
    )
    op.create_table(
        "roll",
        sa.Column("device_id", sa.String(63), primary_key=True),
        sa.Column("substrate", sa.String(63), nullable=False),
        sa.Column("lot", sa.String(255), nullable=False),
        sa.Column("width_mm", sa.Float, nullable=False),
        sa.Column("length_left_m", sa.Float, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
    )
