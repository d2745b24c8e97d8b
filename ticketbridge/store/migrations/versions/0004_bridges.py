"""Several bridges on one store: who is there, and who serves what.

Job numbers come from a sequence where there is one to be had; a SQLite store has one bridge, which counts by itself.
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the two tables and the sequence."""
    op.create_table(
        "bridge",
        sa.Column("bridge_id", sa.String(127), primary_key=True),
        sa.Column("host", sa.String(255), nullable=False),
        sa.Column("pid", sa.Integer, nullable=False),
        sa.Column("version", sa.String(63), nullable=False),
        sa.Column("can_serve", sa.JSON, nullable=False),
        sa.Column("started_s", sa.Float, nullable=False),
        sa.Column("alive_until_s", sa.Float, nullable=False),
    )
    op.create_table(
        "lease",
        sa.Column("name", sa.String(127), primary_key=True),
        sa.Column("bridge_id", sa.String(127)),
        sa.Column("taken_s", sa.Float, nullable=False),
        sa.Column("takeovers", sa.Integer, nullable=False),
    )
    if op.get_bind().dialect.name == "postgresql":
        op.execute("CREATE SEQUENCE job_number")
        op.execute("SELECT setval('job_number', COALESCE(MAX(number), 0) + 1, false) FROM job")
