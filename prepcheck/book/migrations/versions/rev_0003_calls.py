"""Addresses that are told of verdicts, and each telling."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "listener",
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("secret", sa.String(length=64), nullable=False),
        sa.Column("after", _ID, nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("made_at", sa.String(length=27), nullable=False),
        sa.Column("revoked_at", sa.String(length=27), nullable=True),
        sa.Column("id", _ID, nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "call",
        sa.Column("listener_id", _ID, nullable=False),
        sa.Column("examination_id", _ID, nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("next_at", sa.String(length=27), nullable=True),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("id", _ID, nullable=False),
        sa.ForeignKeyConstraint(["listener_id"], ["listener.id"]),
        sa.ForeignKeyConstraint(["examination_id"], ["examination.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("listener_id", "examination_id"),
    )
    with op.batch_alter_table("call", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_call_next_at"), ["next_at"], unique=False)
    if op.get_bind().dialect.name == "postgresql":
        body = "FOR EACH ROW EXECUTE FUNCTION nothing_is_lost()"
    else:
        body = "BEGIN SELECT RAISE(ABORT, 'nothing in the book is changed or deleted'); END"
    for table in ("listener", "call"):
        op.execute(f'CREATE TRIGGER {table}_no_delete BEFORE DELETE ON "{table}" {body}')
