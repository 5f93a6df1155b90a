"""Long imports: what a process of its own is doing with a file.

Revision ID: 8e41c6a70b5d
Revises: c19e5b7a3d42
"""

import sqlalchemy as sa
from alembic import op

revision = "8e41c6a70b5d"
down_revision = "c19e5b7a3d42"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("imports", sa.Column("job", sa.Text(), nullable=True))


def downgrade() -> None:
    op.drop_column("imports", "job")
