"""Foreign tables: what was understood of a file, what a person chose, and which stored readings it revised.

Revision ID: 5d0b7f3e9c12
Revises: b7d1f4c08e52
"""

import sqlalchemy as sa
from alembic import op

revision = "5d0b7f3e9c12"
down_revision = "b7d1f4c08e52"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("imports", sa.Column("understanding", sa.Text(), nullable=True))
    op.add_column("imports", sa.Column("choices", sa.Text(), nullable=True))
    op.add_column("imports", sa.Column("revised", sa.Text(), nullable=True))


def downgrade() -> None:
    for name in ("revised", "choices", "understanding"):
        op.drop_column("imports", name)
