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
from prepcheck.errors import BookError


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


def test_a_book_of_each_version_is_brought_up_to_date(where: str, tmp_path: Path) -> None:
    """Each version's book is made by its own migrations, then opened by today's program."""
    from prepcheck.book.book import open_book

    engine = connect.create_engine(
        connect.sqlite_url(tmp_path / "book") if "://" not in where else where
    )
    (tmp_path / "book").mkdir(exist_ok=True)
    first = [script.revision for script in _scripts().walk_revisions()][-1]
    with engine.begin() as connection:
        connect.upgrade(connection, first)
    engine.dispose()
    book = open_book(where, files=tmp_path / "book")
    assert book.orders() == ()
    assert book.verify().faults == ()
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
