"""What an assessment leaves for the next one: the table of days, its basis, and what has changed since.

Revision ID: 5e8a7c20f1d6
Revises: 81be0c37d5f2
"""

import sqlalchemy as sa
from alembic import op

revision = "5e8a7c20f1d6"
down_revision = "81be0c37d5f2"
branch_labels = None
depends_on = None

LARGE_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "assessments_due",
        sa.Column("id", LARGE_ID, nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=True),
        sa.Column("until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("whole", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_assessments_due_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assessments_due")),
    )
    op.create_index(op.f("ix_assessments_due_train_id"), "assessments_due", ["train_id"])
    op.create_table(
        "working_bases",
        sa.Column("train_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("settings_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.String(length=32), nullable=False),
        sa.Column("inputs_version", sa.Integer(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("columns", sa.Text(), nullable=False),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("changed", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_working_bases_train_id_trains")),
        sa.ForeignKeyConstraint(
            ["settings_id"], ["train_settings.id"], name=op.f("fk_working_bases_settings_id_train_settings")
        ),
        sa.PrimaryKeyConstraint("train_id", name=op.f("pk_working_bases")),
    )
    op.create_table(
        "working_days",
        sa.Column("train_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("month", sa.Date(), nullable=False),
        sa.Column("columns", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_working_days_train_id_trains")),
        sa.PrimaryKeyConstraint("train_id", "month", name=op.f("pk_working_days")),
    )


def downgrade() -> None:
    for name in ("working_days", "working_bases", "assessments_due"):
        op.drop_table(name)
