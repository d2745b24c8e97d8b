"""A job's place in the plan in force, and what each print really took beside what was estimated."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Add the column, unplanned for what is there, and the table, empty."""
    op.add_column("job", sa.Column("plan_position", sa.Integer))
    op.create_table(
        "actual",
        sa.Column("queue_entry_id", sa.String(63), sa.ForeignKey("job.queue_entry_id"), primary_key=True),
        sa.Column("press", sa.String(63), nullable=False),
        sa.Column("print_mode", sa.String(63), nullable=False),
        sa.Column("substrate", sa.String(63), nullable=False),
        sa.Column("estimated_s", sa.Float, nullable=False),
        sa.Column("actual_s", sa.Float),
        sa.Column("estimated_ml", sa.Float, nullable=False),
        sa.Column("actual_ml", sa.Float),
        sa.Column("at", sa.String(32), nullable=False),
    )
