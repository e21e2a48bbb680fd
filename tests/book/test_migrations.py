"""Migrations make the tables that the models describe, from the first version on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

import prepcheck.book.connect as connect
from prepcheck.book.book import Book
from prepcheck.book.models import Base
from prepcheck.book.records import Role
from prepcheck.errors import BookError

_AT, _SHA = "'2026-03-01T09:30:00.000000Z'", f"'{'ab' * 32}'"
ROWS = (
    "INSERT INTO orders (id, number, client, title, catalogue, head, made_at, round, parts, "
    "received, clear, open, waiting_for, waiting_why, waiting_since) VALUES "
    f"(1, 'TR-9', 'C', 'T', 'TRL 9', '{{}}', {_AT}, 1, 1, 1, 0, 1, 'us', 'open', {_AT})",
    "INSERT INTO part (id, order_id, position, name, data, dropped) "
    "VALUES (1, 1, 0, 'Label A', '{}', FALSE)",
    f"INSERT INTO content (id, digest, bytes, kept_at) VALUES (1, {_SHA}, 3, {_AT})",
    "INSERT INTO delivery (id, order_id, round, state, came_at, way, note) "
    f"VALUES (1, 1, 1, 'examined', {_AT}, 'by command', '')",
    "INSERT INTO file (id, delivery_id, name, digest, note, asked) "
    f"VALUES (1, 1, 'a.pdf', {_SHA}, '', FALSE)",
    "INSERT INTO placement (id, file_id, part_id, why, at, withdrawn) "
    f"VALUES (1, 1, 1, 'named so', {_AT}, FALSE)",
    "INSERT INTO finding (id, order_id, part_id, number, check_name, severity, state, message, "
    "fix, stand, first_round, last_round) VALUES "
    f"(1, 1, 1, 1, 'a.b', 'stop', 'there', 'Too near.', 'Move it.', {_SHA}, 1, 1)",
)
"""An order with a part, its file and a finding, in the tables of the first version."""


def _scripts() -> ScriptDirectory:
    config = Config()
    config.set_main_option("script_location", str(Path(connect.__file__).parent / "migrations"))
    return ScriptDirectory.from_config(config)


def test_the_newest_migration_is_the_one_that_is_known() -> None:
    assert _scripts().get_heads() == [connect.NEWEST]


def test_migrations_make_what_the_models_describe(book: Book) -> None:
    with book.database.engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, Base.metadata) == []


@pytest.mark.parametrize("revision", ["0001", "0002", "0003", "0004"])
def test_a_book_of_each_version_is_brought_up_to_date(
    where: str, tmp_path: Path, revision: str
) -> None:
    """Each version's book is made by its own migrations, with an order in its tables; then it is
    opened by today's program."""
    from prepcheck.book.book import open_book

    engine = connect.create_engine(
        connect.sqlite_url(tmp_path / "book") if "://" not in where else where
    )
    (tmp_path / "book").mkdir(exist_ok=True)
    with engine.begin() as connection:
        connect.upgrade(connection, revision)
        for statement in ROWS:
            connection.execute(text(statement))
    engine.dispose()
    book = open_book(where, files=tmp_path / "book")
    (line,) = book.orders()
    assert (line.number, line.waiting_for, line.open) == ("TR-9", "us", 1)
    story = book.story("TR-9")
    assert [part.file for part in story.parts] == ["a.pdf"]
    assert [finding.message for finding in story.open] == ["Too near."]
    book.add_person("Ada Fenn", Role.INTAKE, "Ada Fenn")
    book.ask("TR-9", "Is it?", "Ada Fenn")
    assert book.story("TR-9").questions[0].text == "Is it?"
    book.close()


def test_a_book_of_a_later_version_is_left_alone(opened: Callable[[], Book]) -> None:
    with opened().database.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(BookError, match="written by a newer prepcheck"):
        opened()


def test_tables_of_something_else_are_left_alone(opened: Callable[[], Book]) -> None:
    with opened().database.engine.begin() as connection:
        connection.execute(text("DROP TABLE alembic_version"))
    with pytest.raises(BookError, match="holds tables that are no book's"):
        opened()
