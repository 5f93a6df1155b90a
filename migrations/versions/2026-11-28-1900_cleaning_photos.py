"""Photos that belong to the record of a cleaning.

Revision ID: 3f7a90c5de21
Revises: 9c41d7f2ab30
"""

import sqlalchemy as sa
from alembic import op

revision = "3f7a90c5de21"
down_revision = "9c41d7f2ab30"
branch_labels = None
depends_on = None

LARGE_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "cleaning_photos",
        sa.Column("id", LARGE_ID, nullable=False),
        sa.Column("cleaning_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("caption", sa.String(length=200), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("voided_by", sa.String(length=200), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(
            ["cleaning_id"], ["cleanings.id"], name=op.f("fk_cleaning_photos_cleaning_id_cleanings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cleaning_photos")),
    )
    op.create_index(op.f("ix_cleaning_photos_cleaning_id"), "cleaning_photos", ["cleaning_id"])


def downgrade() -> None:
    op.drop_table("cleaning_photos")
