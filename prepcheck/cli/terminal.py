"""What every command shares: printing, progress, and turning errors into exit codes."""

from __future__ import annotations

import functools
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, ParamSpec

import click

from prepcheck.cli.interrupts import end_if_asked, heeded
from prepcheck.errors import ExitCode, OutputError, PrepcheckError, UsageError

if TYPE_CHECKING:
    from prepcheck.findings import Result
    from prepcheck.run.events import Event
    from prepcheck.run.executor import Executor
    from prepcheck.run.settings import Settings

P = ParamSpec("P")
_MOST_JOBS = 4
_WIDEST = 100
EXIT_CODES = """\b
Exit codes
  0    clear: nothing found, or only notes
  1    stop: something must be corrected before plates
  2    an argument, a spec or an order file is wrong
  3    query: a person or the client must decide
  4    an output could not be written
  5    a check failed, the result is incomplete (outranks 0, 1 and 3)
  130  interrupted"""


def interrupted() -> ExitCode:
    """Say that the command was interrupted, where that was caught, and return its exit code.

    An interrupt that passed through code run from a string, as dataclasses make it while they are
    imported, is kept in mind by CPython, which would end by the signal; the next such code clears
    that.
    """
    tell("prepcheck: interrupted")
    heeded()
    exec("")
    return ExitCode.INTERRUPTED


def ends_with_exit_code(command: Callable[P, ExitCode | None]) -> Callable[P, None]:
    """Make a command's errors a line each on stderr, and its end an exit code."""

    @functools.wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            _refuse_lost_folder()
            try:
                code = command(*args, **kwargs)
            except Exception:
                end_if_asked()
                raise
        except PrepcheckError as error:
            tell(*(f"prepcheck: {line}" for line in error.lines))
            code = error.exit_code
        except KeyboardInterrupt:
            code = interrupted()
        click.get_current_context().exit(ExitCode.CLEAR if code is None else code)

    return run


def with_budget(command: Callable[P, None]) -> Callable[P, None]:
    """Give a command `--part-seconds` and `--part-mb`; see `settings_of`."""
    seconds = click.option(
        "--part-seconds", metavar="S", type=click.FloatRange(min=1, max=86_400), default=60.0,
        show_default=True,
        help="Time one part may take before its check is stopped; what it waits for a busy "
        "processor does not count.",
    )  # fmt: skip
    memory = click.option(
        "--part-mb", metavar="MB", type=click.IntRange(min=256, max=1_000_000), default=1536,
        show_default=True, help="Memory one part may take before its check is stopped.",
    )  # fmt: skip
    return seconds(memory(command))


def with_jobs(command: Callable[P, None]) -> Callable[P, None]:
    """Give a command `--jobs`; without it `processors` says how many."""
    return click.option(
        "--jobs", metavar="N", type=click.IntRange(min=1),
        help="How many parts to examine at a time.  [default: one a processor, at most 4]",
    )(command)  # fmt: skip


def with_cluster(command: Callable[P, None]) -> Callable[P, None]:
    """Give a command `--cluster` and `--shared`; see `machines`."""
    address = click.option(
        "--cluster", metavar="ADDRESS", envvar="PREPCHECK_CLUSTER",
        help="Have parts examined by the machines of a dask cluster: tcp://HOST:8786, "
        "tls://HOST:8786, or the path of a scheduler file.",
    )  # fmt: skip
    shared = click.option(
        "--shared", is_flag=True, envvar="PREPCHECK_SHARED",
        help="With --cluster: its machines have the files at the same paths; nothing is sent.",
    )  # fmt: skip
    return address(shared(command))


@contextmanager
def machines(address: str | None, shared: bool, jobs: int) -> Iterator[Executor | None]:
    """Give what has parts examined on other machines; None where no cluster is named.

    Raises UsageError where it cannot be reached, or the extra for it is not installed.
    """
    if address is None:
        if shared:
            raise UsageError("--shared goes with --cluster")
        yield None
        return
    try:
        from prepcheck.run.cluster import connected, dask_says_nothing
    except ModuleNotFoundError as fault:
        if (fault.name or "").partition(".")[0] not in ("dask", "distributed"):
            raise
        raise UsageError(
            "--cluster needs a part that is not installed: pip install 'prepcheck[cluster]'"
        ) from None
    dask_says_nothing()
    with connected(address, shared=shared, jobs=jobs) as cluster:
        yield cluster


def settings_of(seconds: float, megabytes: int) -> Settings:
    """Return the settings of a run in which each part has this budget."""
    from prepcheck.run.budget import WorkerLimits
    from prepcheck.run.settings import Settings

    return Settings(worker=WorkerLimits(seconds=seconds, memory_mb=megabytes))


def colour() -> bool:
    """Return whether to print in colour: at a terminal, unless NO_COLOR asks for none.

    Source: no-color.org, "when present and not an empty string".
    """
    at_terminal = sys.stdout is not None and sys.stdout.isatty()
    return at_terminal and not os.environ.get("NO_COLOR")


def terminal_width() -> int:
    """Return the terminal's width in columns as far as lines are good to read; 80 without one."""
    return min(shutil.get_terminal_size((80, 24)).columns, _WIDEST)


class Outputs(NamedTuple):
    """Where outputs go; what has no path is not written, or goes to stdout."""

    proof: Path
    report: Path | None
    letter: Path | None = None
    mail: Path | None = None

    @property
    def paths(self) -> list[Path]:
        return [path for path in self if path is not None]

    def __str__(self) -> str:
        named = zip(("Proof: ", "Report:", "Letter:", "Mail:  "), self, strict=True)
        return "".join(f"{name} {shown(path)}\n" for name, path in named if path is not None)


def exit_code(result: Result) -> ExitCode:
    """Return the exit code of a result."""
    if result.crashed:
        return ExitCode.CRASHED
    codes = {"clear": ExitCode.CLEAR, "query": ExitCode.QUERY, "stop": ExitCode.STOP}
    return codes[result.verdict.value]


@contextmanager
def progress(quiet: bool) -> Iterator[Callable[[Event], None] | None]:
    """Show a bar on stderr while parts are examined, where that is a terminal."""
    if quiet or sys.stderr is None or not sys.stderr.isatty():
        yield None
        return
    from prepcheck.run.events import Finished

    with click.progressbar(length=1, label="Examining", file=sys.stderr) as bar:

        def tell(event: Event) -> None:
            bar.length = event.total
            if isinstance(event, Finished):
                bar.update(1)
            else:
                bar.label = f"Examining {event.part[:40]}"
                bar.render_progress()

        yield tell


def processors() -> int:
    free = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return min(free or 1, _MOST_JOBS)


def shown(path: Path) -> str:
    return str(path).encode("utf-8", "replace").decode("utf-8")


def _refuse_lost_folder() -> None:
    try:
        Path.cwd()
    except OSError:
        raise UsageError(
            "the current folder is no longer there; change to another folder first"
        ) from None


def put(text: str) -> None:
    """Print on stdout; raises OutputError where that is no longer possible.

    A reader that has seen enough, such as `head`, is no fault: the verdict and the files stand.
    """
    if sys.stdout is None:
        raise OutputError("stdout is closed; send the output elsewhere, or use --quiet")
    try:
        click.echo(text, nl=False)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except OSError as error:
        raise OutputError(f"stdout: {error.strerror}; send the output elsewhere") from None


def tell(*lines: str) -> None:
    with suppress(OSError):  # nobody is left to read it
        for line in lines:
            click.echo(line, err=True)


def pairs_of(option: str, values: tuple[str, ...], form: str) -> dict[str, str]:
    """Return what an option that may be given several times says, as NAME=WHAT. Raises
    UsageError."""
    pairs: dict[str, str] = {}
    for value in values:
        name, _, what = (piece.strip() for piece in value.rpartition("="))
        if not (name and what):
            raise UsageError(f"{option} {value}: write it as {form}")
        if name in pairs:
            raise UsageError(f"{option} {value}: {name} is named twice")
        pairs[name] = what
    return pairs
