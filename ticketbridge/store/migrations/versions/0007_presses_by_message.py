"""Why a message was given up, and the name of a job in the queue of a press that speaks JMF."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0004"


def upgrade() -> None:
    """Add the two columns; both are unknown for what is there."""
    op.add_column("message", sa.Column("reason", sa.String(1023)))
    op.add_column("delivery", sa.Column("press_entry_id", sa.String(63)))
