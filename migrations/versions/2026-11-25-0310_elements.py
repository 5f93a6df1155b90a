"""Elements by serial number, where they lie, their weights, and rounds of single vessels.

Revision ID: 81be0c37d5f2
Revises: 5d0b7f3e9c12
"""

import sqlalchemy as sa
from alembic import op

revision = "81be0c37d5f2"
down_revision = "5d0b7f3e9c12"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "elements",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("serial", sa.String(length=60), nullable=False),
        sa.Column("model", sa.String(length=100), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_elements_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_elements")),
        sa.UniqueConstraint("site_id", "serial", name=op.f("uq_elements_site_id_serial")),
    )
    op.create_table(
        "element_stays",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("element_id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.Integer(), nullable=False),
        sa.Column("vessel", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["element_id"], ["elements.id"], name=op.f("fk_element_stays_element_id_elements")),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_element_stays_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_element_stays")),
    )
    op.create_index(op.f("ix_element_stays_element_id"), "element_stays", ["element_id"])
    op.create_index(
        op.f("ix_element_stays_train_id_stage_vessel_position"),
        "element_stays",
        ["train_id", "stage", "vessel", "position"],
    )
    op.create_table(
        "element_weights",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("element_id", sa.Integer(), nullable=False),
        sa.Column("weighed_on", sa.Date(), nullable=False),
        sa.Column("weight_kg", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(["element_id"], ["elements.id"], name=op.f("fk_element_weights_element_id_elements")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_element_weights")),
    )
    op.create_index(op.f("ix_element_weights_element_id"), "element_weights", ["element_id"])
    op.create_table(
        "vessel_rounds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("measured_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("conductivities", sa.Text(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_vessel_rounds_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vessel_rounds")),
    )
    op.create_index(op.f("ix_vessel_rounds_train_id_measured_at"), "vessel_rounds", ["train_id", "measured_at"])


def downgrade() -> None:
    for table in ("vessel_rounds", "element_weights", "element_stays", "elements"):
        op.drop_table(table)
