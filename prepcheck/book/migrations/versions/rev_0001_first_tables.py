"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "book",
        sa.Column("key", sa.String(length=32), nullable=False),
        sa.Column("made_at", sa.String(length=27), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "content",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("bytes", sa.BigInteger(), nullable=False),
        sa.Column("kept_at", sa.String(length=27), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("digest"),
    )
    op.create_table(
        "journal",
        sa.Column("at", sa.String(length=27), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("act", sa.String(length=32), nullable=False),
        sa.Column("order_number", sa.Text(), nullable=True),
        sa.Column("data", sa.Text(), nullable=False),
        sa.Column("before", sa.String(length=64), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("journal", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_journal_order_number"), ["order_number"], unique=False)

    op.create_table(
        "orders",
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("catalogue", sa.Text(), nullable=False),
        sa.Column("barcode", sa.Text(), nullable=True),
        sa.Column("head", sa.Text(), nullable=False),
        sa.Column("made_at", sa.String(length=27), nullable=False),
        sa.Column("due", sa.String(length=10), nullable=True),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("parts", sa.Integer(), nullable=False),
        sa.Column("received", sa.Integer(), nullable=False),
        sa.Column("clear", sa.Integer(), nullable=False),
        sa.Column("open", sa.Integer(), nullable=False),
        sa.Column("waiting_for", sa.String(length=8), nullable=False),
        sa.Column("waiting_why", sa.Text(), nullable=False),
        sa.Column("waiting_since", sa.String(length=27), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("number"),
    )
    with op.batch_alter_table("orders", schema=None) as batch_op:
        batch_op.create_index("orders_waiting", ["waiting_for", "due"], unique=False)

    op.create_table(
        "person",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("since", sa.String(length=27), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("name"),
    )
    op.create_table(
        "delivery",
        sa.Column("order_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("round", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("came_at", sa.String(length=27), nullable=False),
        sa.Column("sender", sa.Text(), nullable=True),
        sa.Column("way", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("order_id", "round"),
    )
    with op.batch_alter_table("delivery", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_delivery_order_id"), ["order_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_delivery_state"), ["state"], unique=False)

    op.create_table(
        "examination",
        sa.Column("order_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("turn", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(length=27), nullable=False),
        sa.Column("version", sa.Text(), nullable=False),
        sa.Column("verdict", sa.String(length=8), nullable=False),
        sa.Column("crashed", sa.Boolean(), nullable=False),
        sa.Column("result", sa.String(length=64), nullable=False),
        sa.Column("report", sa.String(length=64), nullable=False),
        sa.Column("proof", sa.String(length=64), nullable=True),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
        ),
        sa.ForeignKeyConstraint(
            ["proof"],
            ["content.digest"],
        ),
        sa.ForeignKeyConstraint(
            ["report"],
            ["content.digest"],
        ),
        sa.ForeignKeyConstraint(
            ["result"],
            ["content.digest"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("order_id", "round", "turn"),
    )
    with op.batch_alter_table("examination", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_examination_order_id"), ["order_id"], unique=False)

    op.create_table(
        "letter",
        sa.Column("order_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(length=27), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["digest"],
            ["content.digest"],
        ),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("letter", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_letter_order_id"), ["order_id"], unique=False)

    op.create_table(
        "part",
        sa.Column("order_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("side", sa.String(length=1), nullable=True),
        sa.Column("data", sa.Text(), nullable=False),
        sa.Column("spec_digest", sa.String(length=64), nullable=True),
        sa.Column("dropped", sa.Boolean(), nullable=False),
        sa.Column("verdict", sa.String(length=8), nullable=True),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("order_id", "name"),
    )
    with op.batch_alter_table("part", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_part_order_id"), ["order_id"], unique=False)

    op.create_table(
        "release",
        sa.Column("order_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(length=27), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("manifest", sa.String(length=64), nullable=False),
        sa.Column("proof", sa.String(length=64), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["manifest"],
            ["content.digest"],
        ),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
        ),
        sa.ForeignKeyConstraint(
            ["proof"],
            ["content.digest"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("order_id", "revision"),
    )
    with op.batch_alter_table("release", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_release_order_id"), ["order_id"], unique=False)

    op.create_table(
        "signoff",
        sa.Column("order_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(length=27), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("choice", sa.String(length=16), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("proof", sa.String(length=64), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
        ),
        sa.ForeignKeyConstraint(
            ["proof"],
            ["content.digest"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("signoff", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_signoff_order_id"), ["order_id"], unique=False)

    op.create_table(
        "examined",
        sa.Column(
            "examination_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("part_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("page", sa.Integer(), nullable=True),
        sa.Column("spec", sa.Text(), nullable=True),
        sa.Column("spec_digest", sa.String(length=64), nullable=True),
        sa.Column("verdict", sa.String(length=8), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["digest"],
            ["content.digest"],
        ),
        sa.ForeignKeyConstraint(
            ["examination_id"],
            ["examination.id"],
        ),
        sa.ForeignKeyConstraint(
            ["part_id"],
            ["part.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("examined", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_examined_examination_id"), ["examination_id"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_examined_part_id"), ["part_id"], unique=False)

    op.create_table(
        "file",
        sa.Column(
            "delivery_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("asked", sa.Boolean(), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["delivery_id"],
            ["delivery.id"],
        ),
        sa.ForeignKeyConstraint(
            ["digest"],
            ["content.digest"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("file", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_file_delivery_id"), ["delivery_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_file_digest"), ["digest"], unique=False)

    op.create_table(
        "finding",
        sa.Column("order_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("part_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("check_name", sa.Text(), nullable=False),
        sa.Column("severity", sa.String(length=8), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("page", sa.Integer(), nullable=True),
        sa.Column("message", sa.Text(), nullable=False),
        sa.Column("fix", sa.Text(), nullable=False),
        sa.Column("stand", sa.String(length=64), nullable=False),
        sa.Column("first_round", sa.Integer(), nullable=False),
        sa.Column("last_round", sa.Integer(), nullable=False),
        sa.Column("cured_round", sa.Integer(), nullable=True),
        sa.Column(
            "decision_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True
        ),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
        ),
        sa.ForeignKeyConstraint(
            ["part_id"],
            ["part.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("order_id", "number"),
    )
    with op.batch_alter_table("finding", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_finding_order_id"), ["order_id"], unique=False)

    op.create_table(
        "taken",
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column(
            "delivery_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True
        ),
        sa.Column("at", sa.String(length=27), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["delivery_id"],
            ["delivery.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("key"),
    )
    op.create_table(
        "decision",
        sa.Column(
            "finding_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("at", sa.String(length=27), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("stand", sa.String(length=64), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["finding_id"],
            ["finding.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("decision", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_decision_finding_id"), ["finding_id"], unique=False)

    op.create_table(
        "placement",
        sa.Column("file_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("part_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("page", sa.Integer(), nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=True),
        sa.Column("at", sa.String(length=27), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["file_id"],
            ["file.id"],
        ),
        sa.ForeignKeyConstraint(
            ["part_id"],
            ["part.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("placement", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_placement_file_id"), ["file_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_placement_part_id"), ["part_id"], unique=False)

    op.create_table(
        "question",
        sa.Column("order_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "finding_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True
        ),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("asked_by", sa.Text(), nullable=False),
        sa.Column("asked_at", sa.String(length=27), nullable=False),
        sa.Column("answer", sa.Text(), nullable=True),
        sa.Column("answered_by", sa.Text(), nullable=True),
        sa.Column("answered_at", sa.String(length=27), nullable=True),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["finding_id"],
            ["finding.id"],
        ),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("question", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_question_order_id"), ["order_id"], unique=False)

    op.create_table(
        "sighting",
        sa.Column(
            "finding_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column(
            "examination_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("data", sa.Text(), nullable=False),
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["examination_id"],
            ["examination.id"],
        ),
        sa.ForeignKeyConstraint(
            ["finding_id"],
            ["finding.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("finding_id", "examination_id"),
    )
    with op.batch_alter_table("sighting", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_sighting_examination_id"), ["examination_id"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_sighting_finding_id"), ["finding_id"], unique=False)
    _append_only()


_FOR_EVER = ("journal", "decision", "letter", "signoff", "release", "sighting", "examined")
"""Tables whose rows are never changed; from no table at all is a row ever deleted."""
_KEPT = (
    "book", "person", "orders", "part", "content", "delivery", "file", "placement",
    "examination", "finding", "question", "taken",
)  # fmt: skip


def _append_only() -> None:
    """Have the database itself refuse what no step does."""
    refused = [(table, act) for table in _FOR_EVER for act in ("UPDATE", "DELETE")]
    refused += [(table, "DELETE") for table in _KEPT]
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION nothing_is_lost() RETURNS trigger AS "
            "$$ BEGIN RAISE EXCEPTION 'nothing in the book is changed or deleted'; END $$ "
            "LANGUAGE plpgsql"
        )
        body = "FOR EACH ROW EXECUTE FUNCTION nothing_is_lost()"
    else:
        body = "BEGIN SELECT RAISE(ABORT, 'nothing in the book is changed or deleted'); END"
    for table, act in refused:
        op.execute(f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} {body}")
