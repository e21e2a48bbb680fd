"""Which parts of an examination a check failed on."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Nullable: of rows that are there already nothing is known, and none is ever changed.
    op.add_column("examined", sa.Column("crashed", sa.Boolean(), nullable=True))
