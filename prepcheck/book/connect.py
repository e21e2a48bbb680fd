"""Opens the database: SQLite in a folder, or PostgreSQL by its address, at the newest schema."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.exc import DatabaseError, DBAPIError, OperationalError
from sqlalchemy.orm import Session

from prepcheck.book.glance import DATABASE, NEWEST, WAIT_MS
from prepcheck.book.reading import MARK, Rows
from prepcheck.errors import BookError

_LOCK = 0x70726570
"""PostgreSQL's name for the one pen: who writes in the book holds it."""


@dataclass(frozen=True)
class Database:
    """An open database. One step that writes runs at a time, whoever runs it."""

    engine: Engine
    place: str
    """How messages name it: never with a password."""

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session whose work is recorded whole when the block ends, or not at all."""
        with self._said(), self.engine.connect() as connection:
            writing = connection.execution_options(writes=True)
            with writing.begin():
                _take_pen(writing)
                with Session(writing, expire_on_commit=False) as session:
                    yield session
                    session.flush()

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session that sees the book as it is at one moment."""
        with self._said(), self.engine.connect() as connection:
            if connection.dialect.name == "postgresql":
                connection = connection.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin(), Session(connection) as session:
                yield session

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()

    @contextmanager
    def _said(self) -> Iterator[None]:
        """Say in one line what the database refuses."""
        try:
            yield
        except OperationalError as fault:
            raise BookError(f"{self.place}: {_reason(fault)}; {_advice(fault)}") from None


def rows_of(session: Session) -> Rows:
    """Return how `reading` asks through a session; it sees what the session has changed."""
    connection = session.connection()
    mark = "?" if connection.dialect.name == "sqlite" else MARK

    def rows(asked: str, values: Sequence[Any]) -> Sequence[Sequence[Any]]:
        session.flush()
        return connection.exec_driver_sql(asked.replace(MARK, mark), tuple(values)).all()

    return rows


def connect(url: str, place: str) -> Database:
    """Open the database and bring its schema up to date.

    Raises BookError when it cannot be opened, is no book, or was written by a newer version.
    """
    engine = create_engine(url, connect_args=_arguments(url))
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _sqlite_connected)
        event.listen(engine, "begin", _sqlite_begun)
    database = Database(engine, place)
    try:
        _bring_up_to_date(database)
    except DBAPIError as fault:
        engine.dispose()
        raise BookError(f"{place}: {_reason(fault)}; {_advice(fault)}") from None
    except BaseException:
        engine.dispose()
        raise
    return database


def sqlite_url(folder: Path) -> str:
    """Return the address of the SQLite file in a book's folder."""
    return f"sqlite:///{folder / DATABASE}"


def _arguments(url: str) -> dict[str, Any]:
    if url.startswith("sqlite"):
        return {"timeout": WAIT_MS / 1000}
    return {"connect_timeout": 10}


def _sqlite_connected(connection: Any, record: object) -> None:
    connection.isolation_level = None  # transactions begin where we say so, not at some statement
    cursor = connection.cursor()
    for pragma in (
        f"busy_timeout={WAIT_MS}",
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _sqlite_begun(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _take_pen(connection: Connection) -> None:
    """Wait until nobody else writes; SQLite's BEGIN IMMEDIATE has done so already."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})


def _bring_up_to_date(database: Database) -> None:
    with database.engine.connect() as connection:
        if _schema(connection, database.place) == NEWEST:
            return
    with database.engine.connect() as connection:
        writing = connection.execution_options(writes=True)
        with writing.begin():
            _take_pen(writing)
            if _schema(writing, database.place) != NEWEST:
                upgrade(writing, NEWEST)


def upgrade(connection: Connection, to: str) -> None:
    """Bring the schema to a revision, within the connection's transaction."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    config.attributes["connection"] = connection
    command.upgrade(config, to)


def _schema(connection: Connection, place: str) -> str | None:
    """Return the schema's revision, None for an empty database. Raises BookError."""
    tables = set(inspect(connection).get_table_names())
    if not tables:
        return None
    if "alembic_version" not in tables or "journal" not in tables:
        raise BookError(
            f"{place}: holds tables that are no book's; name another place for the book"
        )
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if found is not None and str(found) > NEWEST:
        raise BookError(
            f"{place}: was written by a newer prepcheck (schema {found}, this one knows {NEWEST}); "
            "install that version"
        )
    return None if found is None else str(found)


def _reason(fault: DBAPIError) -> str:
    lines = str(fault.orig).strip().splitlines()
    return lines[0].rstrip(".") if lines else type(fault.orig).__name__


def _advice(fault: DBAPIError) -> str:
    if isinstance(fault, DatabaseError) and "not a database" in str(fault.orig):
        return "name another place for the book, or put it back from a backup"
    return "nothing was recorded; see that the database is there, writable and not full"
