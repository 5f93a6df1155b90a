"""Answers to batches of machines, by their keys.

Revision ID: 9c41d7f2ab30
Revises: 8e41c6a70b5d
"""

import sqlalchemy as sa
from alembic import op

revision = "9c41d7f2ab30"
down_revision = "8e41c6a70b5d"
branch_labels = None
depends_on = None

LARGE_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "api_answers",
        sa.Column("id", LARGE_ID, nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=200), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_api_answers_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_answers")),
        sa.UniqueConstraint("train_id", "key", name=op.f("uq_api_answers_train_id_key")),
    )


def downgrade() -> None:
    op.drop_table("api_answers")
