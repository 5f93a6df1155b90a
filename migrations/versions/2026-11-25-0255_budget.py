"""The budget: choices, lives, spendings, and plans that were kept.

Revision ID: b7d1f4c08e52
Revises: 3c3800f95c38
"""

import sqlalchemy as sa
from alembic import op

revision = "b7d1f4c08e52"
down_revision = "3c3800f95c38"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "budget_choices",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=True),
        sa.Column("train_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("value", sa.String(length=64), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_budget_choices_site_id_sites")),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_budget_choices_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_budget_choices")),
    )
    op.create_index(op.f("ix_budget_choices_site_id_name"), "budget_choices", ["site_id", "name"])
    op.create_index(op.f("ix_budget_choices_train_id_name"), "budget_choices", ["train_id", "name"])
    op.create_table(
        "lives",
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("as_of", sa.DateTime(timezone=True), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("version", sa.String(length=32), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_lives_train_id_trains")),
        sa.PrimaryKeyConstraint("train_id", name=op.f("pk_lives")),
    )
    op.create_table(
        "spendings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("elements", sa.Integer(), nullable=False),
        sa.Column("amount_cents", sa.BigInteger(), nullable=False),
        sa.Column("note", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("withdrawn_by", sa.String(length=200), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_spendings_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_spendings")),
    )
    op.create_index(op.f("ix_spendings_train_id_day"), "spendings", ["train_id", "day"])
    op.create_table(
        "kept_plans",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("years", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_kept_plans_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kept_plans")),
    )
    op.create_index(op.f("ix_kept_plans_train_id_id"), "kept_plans", ["train_id", "id"])


def downgrade() -> None:
    for name in ("kept_plans", "spendings", "lives", "budget_choices"):
        op.drop_table(name)
