"""`prepcheck receive`: a delivery into the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from prepcheck.cli.opening import (
    acting,
    book_options,
    code_of,
    day,
    json_option,
    opened,
    ways,
)
from prepcheck.cli.terminal import (
    EXIT_CODES,
    ends_with_exit_code,
    processors,
    progress,
    put,
    tell,
)
from prepcheck.errors import ExitCode, UsageError

if TYPE_CHECKING:
    from prepcheck.book.book import Book
    from prepcheck.book.delivering import Taken


@click.command(epilog=EXIT_CODES)
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILES..."
)
@click.option(
    "--order", metavar="NUMBER|ORDER.toml",
    help="The order these are for. Without it, it is looked for by its number and its catalogue "
    "number in names and texts.",
)  # fmt: skip
@click.option("--from", "sender", metavar="WHOM", help="Who sent them.")
@click.option(
    "--place", "placings", metavar="FILE=PART", multiple=True,
    help="Take this file as this part, whatever it looks like.",
)  # fmt: skip
@click.option("--due", metavar="DATE", help="When the order is due, as 2026-03-31.")
@click.option("--by", metavar="NAME", help="Who takes them in.  [default: whoever is logged in]")
@click.option("--jobs", metavar="N", type=click.IntRange(min=1), help="Parts at a time.")
@json_option
@book_options
@ends_with_exit_code
def receive(
    files: tuple[Path, ...],
    order: str | None,
    sender: str | None,
    placings: tuple[str, ...],
    due: str | None,
    by: str | None,
    jobs: int | None,
    as_table: bool,
    where: str,
    kept_in: Path | None,
) -> ExitCode:
    """Take a delivery into the book, and examine it.

    FILES are art files, folders or ZIP archives. Each is kept as it came, and none is lost: what
    fits no part is listed and asked about, what fits no order is put aside. Then the order is
    examined as it now stands, and what the round has cured or brought is told.

    \b
    Examples
      prepcheck receive label-a.pdf label-b.pdf --order P-0417.toml --from "Thornreed Records"
      prepcheck receive corrected.zip --order P-0417
      prepcheck receive final.pdf --order P-0417 --place "final.pdf=Label A"
    """
    told = _placings(placings)
    due_on = day(due, "--due")
    with opened(where, kept_in, make=True) as book, progress(as_table) as step:
        from prepcheck.book.delivering import deliver

        taken = deliver(
            book, files, order, acting(by), ways(jobs or processors(), step),
            sender=sender, due=due_on, told=told,
        )  # fmt: skip
        tell(*(f"prepcheck: {line}" for line in taken.refused))
        return _said(book, taken, as_table)


def _placings(placings: tuple[str, ...]) -> dict[str, str]:
    told = {}
    for placing in placings:
        file, sign, part = placing.rpartition("=")
        if not (file and sign and part):
            raise UsageError(f"--place {placing}: write it as FILE=PART")
        told[file] = part
    return told


def _said(book: Book, taken: Taken, as_table: bool) -> ExitCode:
    from prepcheck.book.telling import as_json, delivered_table, delivered_text

    delivery = book.delivery(taken.delivery)
    story = None if taken.order is None else book.story(taken.order)
    if as_table:
        put(as_json("delivery", delivered_table(taken, delivery, story)))
    else:
        put(delivered_text(taken, delivery, story))
    if any(gone.trouble for gone in taken.gone):
        return ExitCode.USAGE
    if story is None:
        return ExitCode.QUERY
    if story.examinations and story.examinations[-1].crashed:
        return ExitCode.CRASHED
    stops = sum(finding.severity == "stop" for finding in story.open)
    asked = sum(file.asked for file in delivery.files)
    return code_of(stops, len(story.open) + len(story.missing) + asked)
