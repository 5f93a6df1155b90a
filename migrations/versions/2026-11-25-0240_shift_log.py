"""The shift log: entries with the key that keeps them single, pictures of gauges, and the layout of each train's page.

Revision ID: 3c3800f95c38
Revises: 2f6a90c4d1b7
"""

import sqlalchemy as sa
from alembic import op

revision = "3c3800f95c38"
down_revision = "2f6a90c4d1b7"
branch_labels = None
depends_on = None

LARGE_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "shift_layouts",
        sa.Column("train_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("fields", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_shift_layouts_train_id_trains")),
        sa.PrimaryKeyConstraint("train_id", name=op.f("pk_shift_layouts")),
    )
    op.create_table(
        "shift_entries",
        sa.Column("id", LARGE_ID, nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("status", sa.String(length=16), nullable=False),
        sa.Column("reading_id", LARGE_ID, nullable=True),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("settled_by", sa.String(length=200), nullable=False),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["reading_id"], ["readings.id"], name=op.f("fk_shift_entries_reading_id_readings")),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_shift_entries_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shift_entries")),
        sa.UniqueConstraint("train_id", "key", name=op.f("uq_shift_entries_train_id_key")),
    )
    op.create_index(op.f("ix_shift_entries_train_id_id"), "shift_entries", ["train_id", "id"])
    op.create_table(
        "gauge_photos",
        sa.Column("id", LARGE_ID, nullable=False),
        sa.Column("entry_id", LARGE_ID, nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["shift_entries.id"], name=op.f("fk_gauge_photos_entry_id_shift_entries")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_gauge_photos")),
    )
    op.create_index(op.f("ix_gauge_photos_entry_id"), "gauge_photos", ["entry_id"])


def downgrade() -> None:
    for name in ("gauge_photos", "shift_entries", "shift_layouts"):
        op.drop_table(name)
