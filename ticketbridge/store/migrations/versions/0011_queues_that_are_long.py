"""What is asked of the open jobs for every batch is answered from an index: their rows are long, and may be thousands."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"

_JOB = sa.table(
    "job",
    sa.column("roll", sa.JSON),
    sa.column("roll_lot", sa.String),
    sa.column("roll_number", sa.Integer),
)


def upgrade() -> None:
    """A job's roll by name beside its text, and the indexes."""
    op.add_column("job", sa.Column("roll_lot", sa.String(63)))
    op.add_column("job", sa.Column("roll_number", sa.Integer))
    op.execute(
        sa.update(_JOB).values(
            roll_lot=_JOB.c.roll["lot"].as_string(), roll_number=_JOB.c.roll["number"].as_integer()
        )
    )
    op.drop_index("job_by_state", "job")
    op.create_index(
        "job_by_state",
        "job",
        [
            "state",
            "given",
            "device_id",
            "print_mode",
            "layer_stack",
            "substrate",
            "print_s",
            "roll_length_mm",
            "queue_entry_id",
        ],
    )
    op.create_index(
        "job_by_roll", "job", ["roll_lot", "roll_number", "state", "started_at", "roll_length_mm"]
    )
