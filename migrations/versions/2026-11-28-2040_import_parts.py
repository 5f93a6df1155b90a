"""The bytes of the files that came in, in parts and in a table of their own.

A row with 95 MB in it was copied several times whenever anything else in it changed.

Revision ID: 5b1e62d08c97
Revises: 5b8e20d4a7c6
"""

import sqlalchemy as sa
from alembic import op

revision = "5b1e62d08c97"
down_revision = "5b8e20d4a7c6"
branch_labels = None
depends_on = None

PART_BYTES = 1_000_000


def upgrade() -> None:
    op.create_table(
        "import_parts",
        sa.Column("import_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["import_id"], ["imports.id"], name=op.f("fk_import_parts_import_id_imports")),
        sa.PrimaryKeyConstraint("import_id", "number", name=op.f("pk_import_parts")),
    )
    connection = op.get_bind()
    move = sa.text(
        """INSERT INTO import_parts (import_id, number, content)
           SELECT id, CAST(:number AS INTEGER), substr(content, CAST(:start AS INTEGER), CAST(:size AS INTEGER))
           FROM imports WHERE id = :id"""
    )
    for key, size in connection.execute(sa.text("SELECT id, length(content) FROM imports ORDER BY id")).all():
        for number, start in enumerate(range(0, max(size, 1), PART_BYTES)):
            given = {"id": key, "number": number, "start": start + 1, "size": PART_BYTES}
            connection.execute(move, given)
    op.drop_column("imports", "content")


def downgrade() -> None:
    op.add_column("imports", sa.Column("content", sa.LargeBinary(), server_default=sa.text("''"), nullable=False))
    connection = op.get_bind()
    parts = sa.text("SELECT content FROM import_parts WHERE import_id = :id ORDER BY number")
    fill = sa.text("UPDATE imports SET content = :content WHERE id = :id")
    for key in connection.scalars(sa.text("SELECT id FROM imports ORDER BY id")).all():
        content = b"".join(bytes(part) for part in connection.scalars(parts, {"id": key}))
        connection.execute(fill, {"content": content, "id": key})
    op.drop_table("import_parts")
    if connection.dialect.name == "postgresql":
        op.alter_column("imports", "content", server_default=None)
