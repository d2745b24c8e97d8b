"""Deliveries are found by their state: a start asks for the few that are open, however many there ever were."""

from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Make the index."""
    op.create_index("delivery_by_state", "delivery", ["state"])
