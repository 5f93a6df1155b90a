"""Cleanings: their records and older versions, the prices of a site, and what elements stand in a cleaning.

Revision ID: c19e5b7a3d42
Revises: 5e8a7c20f1d6
"""

import sqlalchemy as sa
from alembic import op

revision = "c19e5b7a3d42"
down_revision = "5e8a7c20f1d6"
branch_labels = None
depends_on = None

ELEMENT_LIMITS = {
    "element_length_m": "1.016",
    "cleaning_min_ph": "2.0",
    "cleaning_max_ph_25c": "12.0",
    "cleaning_max_ph_35c": "12.0",
    "cleaning_max_ph_45c": "10.5",
    "cleaning_max_temperature_c": "45.0",
    "cleaning_max_pressure_bar": "4.0",
}
"""Of elements that were there before: the usual ones (analytics.plant.Membrane)."""


def upgrade() -> None:
    op.create_table(
        "cleanings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("event_id", sa.Integer(), nullable=True),
        sa.Column("stage", sa.Integer(), nullable=True),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("revision", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("void_reason", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.Column("voided_by", sa.String(length=200), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["events.id"], name=op.f("fk_cleanings_event_id_events")),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_cleanings_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cleanings")),
    )
    op.create_index(op.f("ix_cleanings_train_id_started_at"), "cleanings", ["train_id", "started_at"])
    op.create_table(
        "cleaning_revisions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cleaning_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("replaced_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("replaced_by", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["cleaning_id"], ["cleanings.id"], name=op.f("fk_cleaning_revisions_cleaning_id_cleanings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cleaning_revisions")),
        sa.UniqueConstraint("cleaning_id", "revision", name=op.f("uq_cleaning_revisions_cleaning_id_revision")),
    )
    op.create_table(
        "cleaning_prices",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_cleaning_prices_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cleaning_prices")),
    )
    op.create_index(op.f("ix_cleaning_prices_site_id_id"), "cleaning_prices", ["site_id", "id"])
    with op.batch_alter_table("element_models") as table:
        for name, value in ELEMENT_LIMITS.items():
            table.add_column(sa.Column(name, sa.Double(), server_default=value, nullable=False))


def downgrade() -> None:
    with op.batch_alter_table("element_models") as table:
        for name in ELEMENT_LIMITS:
            table.drop_column(name)
    for name in ("cleaning_prices", "cleaning_revisions", "cleanings"):
        op.drop_table(name)
