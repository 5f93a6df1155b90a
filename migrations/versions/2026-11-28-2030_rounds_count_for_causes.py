"""Rounds of vessels count for the causes of a verdict: from which version of its inputs on, and until which.

Those of before count from the next version on, which makes the verdict due.

Revision ID: 5b8e20d4a7c6
Revises: 3f7a90c5de21
"""

import sqlalchemy as sa
from alembic import op

revision = "5b8e20d4a7c6"
down_revision = "3f7a90c5de21"
branch_labels = None
depends_on = None

MEASURED = "SELECT train_id FROM vessel_rounds WHERE voided_at IS NULL"


def upgrade() -> None:
    op.add_column("vessel_rounds", sa.Column("since_version", sa.Integer(), server_default="1", nullable=False))
    op.add_column("vessel_rounds", sa.Column("voided_version", sa.Integer(), nullable=True))
    op.execute(f"UPDATE trains SET inputs_version = inputs_version + 1 WHERE id IN ({MEASURED})")
    op.execute(
        "UPDATE vessel_rounds SET since_version ="
        " (SELECT inputs_version FROM trains WHERE trains.id = vessel_rounds.train_id)"
    )
    op.execute("UPDATE vessel_rounds SET voided_version = since_version WHERE voided_at IS NOT NULL")
    op.execute(
        "INSERT INTO assessments_due (train_id, readings, whole, created_at)"
        f" SELECT id, 0, FALSE, CURRENT_TIMESTAMP FROM trains WHERE id IN ({MEASURED})"
    )


def downgrade() -> None:
    op.drop_column("vessel_rounds", "voided_version")
    op.drop_column("vessel_rounds", "since_version")
