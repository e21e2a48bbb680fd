"""What all commands of the book share: where it is, who acts, and what to install for it."""

from __future__ import annotations

import getpass
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from prepcheck.cli.terminal import machines, processors, progress, with_cluster
from prepcheck.errors import ExitCode, UsageError
from prepcheck.frozen import dataclass

if TYPE_CHECKING:
    from prepcheck.book.book import Book
    from prepcheck.book.glance import Glance
    from prepcheck.book.rounds import Ways
    from prepcheck.run.examine import ProofFor
    from prepcheck.run.executor import Executor

F = TypeVar("F", bound=Callable[..., Any])
_EXTRAS = {
    "sqlalchemy": "book", "alembic": "book", "watchfiles": "book", "psycopg": "postgres",
    "argon2": "desk", "jinja2": "desk", "python_multipart": "desk", "starlette": "desk",
    "uvicorn": "desk",
}  # fmt: skip


def book_options(command: F) -> F:
    """Add where the book is to a command."""
    command = click.option(
        "--kept-in", "kept_in", metavar="DIR", type=click.Path(path_type=Path),
        envvar="PREPCHECK_FILES", help="Folder of the files, where the book is a database address.",
    )(command)  # fmt: skip
    return click.option(
        "--book", "where", metavar="DIR|ADDRESS", envvar="PREPCHECK_BOOK",
        default="prepcheck-book", show_default=True,
        help="The book: a folder, or the address of a PostgreSQL database.",
    )(command)  # fmt: skip


json_option = click.option(
    "--json", "as_table", is_flag=True, help="Print JSON for other programs, and nothing else."
)


@dataclass(frozen=True, slots=True)
class Workplace:
    """Where the book is, and where parts are examined."""

    where: str
    kept_in: Path | None
    jobs: int | None
    cluster: str | None
    shared: bool

    @contextmanager
    def opened(
        self, quiet: bool, *, make: bool = False, proof_for: ProofFor = "client"
    ) -> Iterator[tuple[Book, Ways]]:
        """Open the book, with how its deliveries are matched and examined."""
        at_once = self.jobs or processors()
        with (
            machines(self.cluster, self.shared, at_once) as others,
            opened(self.where, self.kept_in, make=make) as book,
            progress(quiet) as step,
        ):
            yield book, ways(at_once, step, proof_for, others)


def work_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add `--jobs`, `--cluster`, `--shared` and where the book is to a command, which is given them
    as its `at`."""

    @wraps(command)
    def run(
        *args: Any,
        where: str,
        kept_in: Path | None,
        jobs: int | None,
        cluster: str | None,
        shared: bool,
        **others: Any,
    ) -> Any:
        at = Workplace(where, kept_in, jobs, cluster, shared)
        return command(*args, at=at, **others)

    return click.option("--jobs", metavar="N", type=click.IntRange(min=1), help="Parts at a time.")(
        with_cluster(book_options(run))
    )


@contextmanager
def opened(where: str, files: Path | None, *, make: bool = False) -> Iterator[Book]:
    """Open the book; say in one line which extra is not installed."""
    with extras_named():
        from prepcheck.book.book import open_book

        book = open_book(where, files=files, make=make)
        try:
            yield book
        finally:
            book.close()


@contextmanager
def glanced_at(where: str, files: Path | None) -> Iterator[Book | Glance]:
    """Open the book for reading only: without what writing takes, where it is a folder."""
    from prepcheck.book.glance import glanced

    if "://" not in where:
        with glanced(Path(where)) as glance:
            if glance is not None:
                yield glance
                return
    with opened(where, files) as book:
        yield book


@contextmanager
def extras_named() -> Iterator[None]:
    """Turn a library that is not there into what to install."""
    try:
        yield
    except ModuleNotFoundError as fault:
        extra = _EXTRAS.get((fault.name or "").split(".")[0])
        if extra is None:
            raise
        raise UsageError(
            f"this needs a part that is not installed: pip install 'prepcheck[{extra}]'"
        ) from None


def acting(by: str | None) -> str:
    """Return who acts: as named, else whoever is logged in."""
    if by:
        return by
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # no such user, as in some containers
        return "somebody"


def ways(jobs: int, tell: Any, proof_for: ProofFor, executor: Executor | None) -> Ways:
    """Return how deliveries are matched and examined, where, and whose proof is made of them."""
    import functools

    from prepcheck.book.rounds import Ways
    from prepcheck.run.examine import examine

    examiner = functools.partial(
        examine, jobs=jobs, progress=tell, proof_for=proof_for, executor=executor
    )
    return Ways(examiner=examiner)


def day(text: str | None, option: str) -> date | None:
    """Return a date given as YYYY-MM-DD. Raises UsageError."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{option} {text}: is no date; write it as 2026-03-31") from None


def code_of(stops: int, queries: int) -> ExitCode:
    """Return the exit code of what is still open."""
    if stops:
        return ExitCode.STOP
    return ExitCode.QUERY if queries else ExitCode.CLEAR
