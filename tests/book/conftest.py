"""Books to write in: on SQLite, and on PostgreSQL where it is installed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import copytree

import pytest
from sqlalchemy import create_engine, text

from prepcheck.book.book import Book, open_book
from tests.book import postgres


class Clock:
    """A clock that goes on by a minute whenever it is looked at."""

    def __init__(self) -> None:
        self.time = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(minutes=1)
        return self.time


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    if postgres.programs() is None:
        pytest.skip("PostgreSQL is not installed; these tests ran on SQLite only")
    with postgres.server() as address:
        yield address


@pytest.fixture(params=["sqlite", "postgres"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a book may be: a folder, or the address of an empty database."""
    if request.param == "sqlite":
        return str(tmp_path / "book")
    address = request.getfixturevalue("postgres_server")
    engine = create_engine(f"{address}postgres")
    with engine.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    engine.dispose()
    return f"{address}postgres"


@pytest.fixture
def opened(where: str, tmp_path: Path, made_book: Path) -> Iterator[Callable[[], Book]]:
    """Open the book, as often as asked."""
    books = []

    def open_one() -> Book:
        if not (books or "://" in where):
            copytree(made_book, where)
        books.append(open_book(where, files=tmp_path / "book", clock=Clock()))
        return books[-1]

    yield open_one
    for book in books:
        book.close()


@pytest.fixture
def book(opened: Callable[[], Book]) -> Book:
    return opened()
