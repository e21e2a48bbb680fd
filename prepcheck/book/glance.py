"""A look into a book in a folder, without the libraries that writing takes.

They take longer to import than a board takes to read.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from prepcheck.book import reading
from prepcheck.book.reading import MARK, Rows
from prepcheck.book.records import Delivery, OrderLine, Story, Waiting

DATABASE = "book.db"
"""The SQLite file in the book's folder."""
KEY = "book.key"
"""The file in the folder that says which book its files belong to."""
NEWEST = "0004"
"""The schema this version works with; a test holds it to the newest migration."""
WAIT_MS = 60_000


@dataclass(frozen=True)
class Glance:
    """A book as it is at one moment; its methods are those of `Book` that they are named like."""

    rows: Rows

    def orders(
        self,
        *,
        waiting_for: Waiting | None = None,
        due_by: date | None = None,
        like: str | None = None,
    ) -> tuple[OrderLine, ...]:
        """Return the board; see `reading.board`."""
        return reading.board(self.rows, waiting_for=waiting_for, due_by=due_by, like=like)

    def story(self, number: str) -> Story:
        """Return all that is known of an order."""
        return reading.story(self.rows, number)

    def aside(self) -> tuple[Delivery, ...]:
        """Return the deliveries that no order was found for."""
        return reading.deliveries(self.rows, "delivery.order_id IS NULL")


@contextmanager
def glanced(folder: Path) -> Iterator[Glance | None]:
    """Give a look into the book in a folder.

    None where that is no book of this version's schema, whole and in its own folder: then
    `open_book` says what is wrong, or brings it up to date.
    """
    connection = None
    with suppress(sqlite3.Error, OSError, ValueError):
        connection = _opened(folder)
    if connection is None:
        yield None
        return
    with closing(connection):

        def rows(asked: str, values: Sequence[Any]) -> Sequence[Sequence[Any]]:
            return connection.execute(asked.replace(MARK, "?"), tuple(values)).fetchall()

        yield Glance(rows)


def _opened(folder: Path) -> sqlite3.Connection | None:
    """Return the database, all of it as it is now; None where it is not as it should be."""
    key = (folder / KEY).read_text().strip()
    address = f"{(folder / DATABASE).absolute().as_uri()}?mode=rw"  # never made anew
    connection = sqlite3.connect(address, uri=True, timeout=WAIT_MS / 1000, isolation_level=None)
    try:
        for asked in (f"PRAGMA busy_timeout={WAIT_MS}", "PRAGMA query_only=1", "BEGIN"):
            connection.execute(asked)
        stamps = connection.execute("SELECT version_num FROM alembic_version").fetchall()
        keys = connection.execute("SELECT key FROM book").fetchall()
        if stamps == [(NEWEST,)] and keys[:1] == [(key,)]:
            return connection
    except BaseException:
        connection.close()
        raise
    connection.close()
    return None
