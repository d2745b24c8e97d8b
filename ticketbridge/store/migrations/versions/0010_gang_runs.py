"""Jobs of several orders that are printed packed together, as one ticket."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Add the table, empty: nothing was printed together so far."""
    op.create_table(
        "gang",
        sa.Column("queue_entry_id", sa.String(63), sa.ForeignKey("job.queue_entry_id"), primary_key=True),
        sa.Column("name", sa.String(63), nullable=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("layout", sa.JSON, nullable=False),
        sa.Column("ticket", sa.LargeBinary, nullable=False),
    )
    op.create_index("gang_by_name", "gang", ["name"])
