"""`prepcheck watch`: an inbox taken into the book."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import click

from prepcheck.cli.interrupts import heeded
from prepcheck.cli.terminal import (
    EXIT_CODES,
    ends_with_exit_code,
    put,
)
from prepcheck.cli.with_book import Workplace, work_options
from prepcheck.errors import OutputError, UsageError


@click.command(epilog=EXIT_CODES)
@click.argument("inbox", type=click.Path(path_type=Path))
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path),
    help="Folder for proof, report and letter of each round.",
)  # fmt: skip
@click.option(
    "--done-to", metavar="DIR", type=click.Path(path_type=Path),
    help="Move files here once they are in the book; without it they stay where they are.",
)  # fmt: skip
@click.option(
    "--still", metavar="S", type=click.FloatRange(min=0), default=5.0, show_default=True,
    help="Take a file when it has not changed for so many seconds.",
)  # fmt: skip
@click.option(
    "--scan", metavar="S", type=click.FloatRange(min=0.5), default=60.0, show_default=True,
    help="Look through the folder this often besides, for drives that tell of no change.",
)  # fmt: skip
@click.option("--once", "only_once", is_flag=True, help="Take what is whole, and end; for cron.")
@click.option(
    "--log", metavar="PATH", type=click.Path(path_type=Path),
    help="Append events here instead of printing them.",
)  # fmt: skip
@work_options
@ends_with_exit_code
def watch(
    inbox: Path,
    out: Path | None,
    done_to: Path | None,
    still: float,
    scan: float,
    only_once: bool,
    log: Path | None,
    at: Workplace,
) -> None:
    """Take what arrives in a folder into the book.

    It is examined there.

    Sub-folders named after orders are those orders' deliveries; other files are for the order
    they name, else put aside. A file is taken when nobody writes to it any more; one with a
    temporary name is left alone. Each event is a line of JSON. SIGTERM ends it; started again, it
    goes on.
    """
    if not inbox.is_dir():
        raise UsageError(f"{inbox}: there is no such folder to watch")
    for folder in (out, done_to):
        if folder is not None and folder.resolve().is_relative_to(inbox.resolve()):
            raise UsageError(f"{folder}: lies in the inbox, and would be taken for a delivery")

    def say(event: dict[str, object]) -> None:
        stamped = {"at": datetime.now(UTC).isoformat(timespec="seconds"), **event}
        line = json.dumps(stamped, ensure_ascii=False) + "\n"
        if log is None:
            put(line)
            return
        try:
            with log.open("a", encoding="utf-8", errors="replace") as file:
                file.write(line)
        except OSError as error:
            raise OutputError(
                f"{log}: cannot be written ({error.strerror or error}); choose another --log"
            ) from None

    with at.opened(quiet=True, make=True) as (book, ways):
        from prepcheck.book.watching import Watch, Watcher, once, watch_on

        settings = Watch(inbox, out, done_to, still, scan)
        watcher = Watcher(book, settings, ways, say)
        say({"event": "watching", "inbox": str(inbox)})
        try:
            if only_once:
                once(watcher)
            else:
                watch_on(watcher)
        except (SystemExit, KeyboardInterrupt):
            heeded()
        say({"event": "ended"})
