"""What JMF by HTTP asks to be remembered: queues closed or held, submissions, channels, an entry's place."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the tables, and to a job its place and whether the MIS still sees it."""
    op.add_column("job", sa.Column("position", sa.Integer))
    op.add_column("job", sa.Column("listed", sa.Boolean, nullable=False, server_default=sa.true()))
    op.create_table(
        "lane_queue",
        sa.Column("device_id", sa.String(63), primary_key=True),
        sa.Column("closed", sa.Boolean, nullable=False),
        sa.Column("held", sa.Boolean, nullable=False),
    )
    op.create_table(
        "submission",
        sa.Column("claim_id", sa.String(40), sa.ForeignKey("intake.claim_id"), primary_key=True),
        sa.Column("said", sa.JSON, nullable=False),
    )
    op.create_table(
        "subscription",
        sa.Column("channel", sa.String(127), primary_key=True),
        sa.Column("said", sa.JSON, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
    )
