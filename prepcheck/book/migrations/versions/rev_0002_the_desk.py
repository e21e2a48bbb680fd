"""Passwords, sessions, links for clients, tokens of other programs, and releases asked for."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "account",
        sa.Column("person_id", _ID, nullable=False),
        sa.Column("password", sa.Text(), nullable=False),
        sa.Column("set_at", sa.String(length=27), nullable=False),
        sa.Column("id", _ID, nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("person_id"),
    )
    op.create_table(
        "session",
        sa.Column("token", sa.String(length=64), nullable=False),
        sa.Column("person_id", _ID, nullable=False),
        sa.Column("secret", sa.String(length=64), nullable=False),
        sa.Column("began_at", sa.String(length=27), nullable=False),
        sa.Column("until", sa.String(length=27), nullable=False),
        sa.Column("ended", sa.Boolean(), nullable=False),
        sa.Column("id", _ID, nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token"),
    )
    op.create_table(
        "link",
        sa.Column("order_id", _ID, nullable=False),
        sa.Column("token", sa.String(length=64), nullable=False),
        sa.Column("for_whom", sa.Text(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("made_at", sa.String(length=27), nullable=False),
        sa.Column("until", sa.String(length=27), nullable=False),
        sa.Column("revoked_at", sa.String(length=27), nullable=True),
        sa.Column("id", _ID, nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token"),
    )
    with op.batch_alter_table("link", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_link_order_id"), ["order_id"], unique=False)
    op.create_table(
        "program",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("token", sa.String(length=64), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("made_at", sa.String(length=27), nullable=False),
        sa.Column("revoked_at", sa.String(length=27), nullable=True),
        sa.Column("id", _ID, nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("name"),
        sa.UniqueConstraint("token"),
    )
    op.create_table(
        "asked_release",
        sa.Column("order_id", _ID, nullable=False),
        sa.Column("asked_by", sa.Text(), nullable=False),
        sa.Column("asked_at", sa.String(length=27), nullable=False),
        sa.Column("done_at", sa.String(length=27), nullable=True),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("id", _ID, nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"]),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("asked_release", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_asked_release_order_id"), ["order_id"], unique=False)
    if op.get_bind().dialect.name == "postgresql":
        body = "FOR EACH ROW EXECUTE FUNCTION nothing_is_lost()"
    else:
        body = "BEGIN SELECT RAISE(ABORT, 'nothing in the book is changed or deleted'); END"
    for table in ("account", "session", "link", "program", "asked_release"):
        op.execute(f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} {body}")
