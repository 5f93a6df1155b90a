"""The record: an audit that only grows, versions of readings and events, settings and verdicts of the past.

Revision ID: 7c1d5e0b92a4
Revises: 39b23879049c
"""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "7c1d5e0b92a4"
down_revision = "39b23879049c"
branch_labels = None
depends_on = None

APPEND_ONLY = ("audit", "reading_revisions", "past_assessments", "train_settings")
"""Tables whose rows are never changed and never go. Whoever builds one of them anew must renew its triggers."""

NUMBER: dict[str, Any] = {"type_": sa.Integer(), "nullable": False, "server_default": "1"}


def upgrade() -> None:
    large = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
    op.create_table(
        "audit",
        sa.Column("id", large, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=True),
        sa.Column("train_id", sa.Integer(), nullable=True),
        sa.Column("object_id", sa.BigInteger(), nullable=True),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_audit_site_id_sites")),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_audit_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit")),
    )
    op.create_index(op.f("ix_audit_train_id_id"), "audit", ["train_id", "id"])
    op.create_index(op.f("ix_audit_site_id_id"), "audit", ["site_id", "id"])
    op.create_table(
        "train_settings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_train_settings_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_train_settings")),
        sa.UniqueConstraint("train_id", "digest", name=op.f("uq_train_settings_train_id_digest")),
    )
    op.create_table(
        "past_assessments",
        sa.Column("id", large, nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("as_of", sa.DateTime(timezone=True), nullable=True),
        sa.Column("level", sa.String(length=32), nullable=False),
        sa.Column("headline", sa.Text(), nullable=False),
        sa.Column("reasons", sa.Text(), nullable=False),
        sa.Column("figures", sa.Text(), nullable=False),
        sa.Column("columns", sa.Text(), nullable=False),
        sa.Column("version", sa.String(length=32), nullable=False),
        sa.Column("inputs_version", sa.Integer(), nullable=False),
        sa.Column("settings_id", sa.Integer(), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_past_assessments_train_id_trains")),
        sa.ForeignKeyConstraint(
            ["settings_id"], ["train_settings.id"], name=op.f("fk_past_assessments_settings_id_train_settings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_past_assessments")),
    )
    op.create_index(op.f("ix_past_assessments_train_id_id"), "past_assessments", ["train_id", "id"])
    _add_columns()
    for table in APPEND_ONLY:
        _make_append_only(table)


def _add_columns() -> None:
    """Columns in place: building `readings` anew would take long, and lose its revisions on SQLite."""
    by_whom: dict[str, Any] = {"type_": sa.String(length=200), "nullable": False, "server_default": sa.text("''")}
    for table in ("readings", "events"):
        op.add_column(table, sa.Column("voided_by", **by_whom))
        op.add_column(table, sa.Column("since_version", **NUMBER))
        op.add_column(table, sa.Column("voided_version", sa.Integer(), nullable=True))
    op.add_column("reading_revisions", sa.Column("since_version", **NUMBER))
    op.add_column("reading_revisions", sa.Column("until_version", **NUMBER))
    op.execute(
        "ALTER TABLE events ADD COLUMN replaces_id INTEGER "
        "CONSTRAINT fk_events_replaces_id_events REFERENCES events (id)"
    )
    op.execute(
        "ALTER TABLE assessments ADD COLUMN settings_id INTEGER "
        "CONSTRAINT fk_assessments_settings_id_train_settings REFERENCES train_settings (id)"
    )


def _make_append_only(table: str) -> None:
    if op.get_bind().dialect.name == "sqlite":
        for what in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{what.lower()} BEFORE {what} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} only grows'); END"
            )
        return
    op.execute(
        f"CREATE FUNCTION {table}_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$BEGIN RAISE EXCEPTION '{table} only grows' USING ERRCODE = 'integrity_constraint_violation'; END$$"
    )
    op.execute(
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION {table}_only_grows()"
    )
    op.execute(
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_only_grows()"
    )


def downgrade() -> None:
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in APPEND_ONLY:
        names = ("no_update", "no_delete") if sqlite else ("no_change", "no_truncate")
        for name in names:
            op.execute(f"DROP TRIGGER {table}_{name}" + ("" if sqlite else f" ON {table}"))
        if not sqlite:
            op.execute(f"DROP FUNCTION {table}_only_grows()")
    op.execute("DELETE FROM assessments")  # they can be made again
    if sqlite:  # a column with a foreign key goes only with its table
        with op.batch_alter_table("assessments", recreate="always") as batch:
            batch.drop_column("settings_id")
        with op.batch_alter_table("events", recreate="always") as batch:
            batch.drop_column("replaces_id")
    else:
        op.drop_column("assessments", "settings_id")
        op.drop_column("events", "replaces_id")
    for table in ("readings", "events"):
        for column in ("voided_by", "since_version", "voided_version"):
            op.drop_column(table, column)
    for column in ("since_version", "until_version"):
        op.drop_column("reading_revisions", column)
    for table in ("past_assessments", "train_settings", "audit"):
        op.drop_table(table)
