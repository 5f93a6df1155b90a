"""People: users, their roles at sites, sessions, one-time links, and tokens of machines.

Revision ID: a4e0c92d7f31
Revises: 7c1d5e0b92a4
"""

import sqlalchemy as sa
from alembic import op

revision = "a4e0c92d7f31"
down_revision = "7c1d5e0b92a4"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "users",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("email", sa.String(length=254), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("administrator", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_sign_in_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("disabled_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_users")),
        sa.UniqueConstraint("email", name=op.f("uq_users_email")),
    )
    op.create_table(
        "site_roles",
        sa.Column("user_id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_site_roles_site_id_sites")),
        sa.ForeignKeyConstraint(["user_id"], ["users.id"], name=op.f("fk_site_roles_user_id_users")),
        sa.PrimaryKeyConstraint("user_id", "site_id", name=op.f("pk_site_roles")),
    )
    op.create_index(op.f("ix_site_roles_site_id"), "site_roles", ["site_id"])
    for name, extra in (
        ("sessions", [sa.Column("last_used_at", sa.DateTime(timezone=True), nullable=False)]),
        (
            "one_time_links",
            [
                sa.Column("purpose", sa.String(length=16), nullable=False),
                sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
            ],
        ),
    ):
        op.create_table(
            name,
            sa.Column("id", sa.Integer(), nullable=False),
            sa.Column("digest", sa.String(length=64), nullable=False),
            sa.Column("user_id", sa.Integer(), nullable=False),
            sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
            sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
            *extra,
            sa.ForeignKeyConstraint(["user_id"], ["users.id"], name=op.f(f"fk_{name}_user_id_users")),
            sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
            sa.UniqueConstraint("digest", name=op.f(f"uq_{name}_digest")),
        )
        op.create_index(op.f(f"ix_{name}_user_id"), name, ["user_id"])
    op.create_table(
        "api_tokens",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=100), nullable=False),
        sa.Column("may_read", sa.Boolean(), nullable=False),
        sa.Column("may_write", sa.Boolean(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_used_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_api_tokens_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_tokens")),
        sa.UniqueConstraint("digest", name=op.f("uq_api_tokens_digest")),
    )
    op.create_index(op.f("ix_api_tokens_site_id"), "api_tokens", ["site_id"])


def downgrade() -> None:
    for name in ("api_tokens", "one_time_links", "sessions", "site_roles", "users"):
        op.drop_table(name)
