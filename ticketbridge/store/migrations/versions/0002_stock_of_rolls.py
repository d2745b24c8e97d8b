"""Rolls become a stock: named by lot and number, on a lane, on the shelf or gone.

What was on the lanes stays there with its account. Two lanes may have carried rolls of one lot, so rolls are
numbered within their lot, lane by lane.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the stock and take over what is on the lanes."""
    # A copy, as a renamed table would keep the name of its key, which PostgreSQL gives only once.
    op.execute("CREATE TABLE roll_on_lane AS SELECT * FROM roll")
    op.drop_table("roll")
    op.create_table(
        "roll",
        sa.Column("lot", sa.String(255), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("substrate", sa.String(63), nullable=False),
        sa.Column("width_mm", sa.Float, nullable=False),
        sa.Column("length_left_m", sa.Float, nullable=False),
        sa.Column("core_outside_mm", sa.Float),
        sa.Column("flaws", sa.JSON, nullable=False),
        sa.Column("place", sa.String(8), nullable=False),
        sa.Column("device_id", sa.String(63), unique=True),
        sa.Column("placed_at", sa.String(32), nullable=False),
        sa.Column("measured_diameter_mm", sa.Float),
        sa.Column("measured_at", sa.String(32)),
        sa.Column("at", sa.String(32), nullable=False),
    )
    op.execute(
        "INSERT INTO roll"
        " (lot, number, substrate, width_mm, length_left_m, flaws, place, device_id, placed_at, at)"
        " SELECT lot, ROW_NUMBER() OVER (PARTITION BY lot ORDER BY device_id),"
        " substrate, width_mm, length_left_m, '[]', 'lane', device_id, at, at FROM roll_on_lane"
    )
    op.drop_table("roll_on_lane")
