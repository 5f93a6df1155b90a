"""Feed water: analyses, and limits of the concentrate.

Revision ID: 2f6a90c4d1b7
Revises: a4e0c92d7f31
"""

import sqlalchemy as sa
from alembic import op

revision = "2f6a90c4d1b7"
down_revision = "a4e0c92d7f31"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "feed_analyses",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("sampled_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered", sa.Text(), nullable=False),
        sa.Column("ph", sa.Double(), nullable=False),
        sa.Column("temperature_c", sa.Double(), nullable=False),
        sa.Column("alkalinity_mg_l", sa.Double(), nullable=True),
        sa.Column("conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.Column("voided_by", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_feed_analyses_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_feed_analyses")),
    )
    op.create_index(op.f("ix_feed_analyses_train_id_sampled_at"), "feed_analyses", ["train_id", "sampled_at"])
    op.create_table(
        "scaling_limits",
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("limits", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_scaling_limits_train_id_trains")),
        sa.PrimaryKeyConstraint("train_id", name=op.f("pk_scaling_limits")),
    )


def downgrade() -> None:
    op.drop_table("scaling_limits")
    op.drop_table("feed_analyses")
