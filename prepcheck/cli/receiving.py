"""`prepcheck receive`: a delivery into the book."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from prepcheck.cli.several import GRAVITY
from prepcheck.cli.terminal import EXIT_CODES, ends_with_exit_code, pairs_of, put, tell
from prepcheck.cli.with_book import (
    Workplace,
    acting,
    code_of,
    day,
    extras_named,
    json_option,
    work_options,
)
from prepcheck.errors import ExitCode, UsageError

if TYPE_CHECKING:
    from prepcheck.book.book import Book
    from prepcheck.book.delivering import Taken
    from prepcheck.book.records import Delivery, Story


@click.command(epilog=EXIT_CODES)
@click.argument("named", nargs=-1, required=True, metavar="FILES...")
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
@json_option
@work_options
@ends_with_exit_code
def receive(
    named: tuple[str, ...],
    order: str | None,
    sender: str | None,
    placings: tuple[str, ...],
    due: str | None,
    by: str | None,
    as_table: bool,
    at: Workplace,
) -> ExitCode:
    """Take a delivery into the book, and examine it.

    FILES are art files, folders or ZIP archives. Each is kept as it came, and none is lost: what
    fits no part is listed and asked about, what fits no order is put aside. Then the order is
    examined as it now stands, and what the round has cured or brought is told. Without --order,
    files of several orders are a delivery for each (with --json a list of them).

    \b
    Examples
      prepcheck receive label-a.pdf label-b.pdf --order P-0417.toml --from "Thornreed Records"
      prepcheck receive corrected.zip --order P-0417
      prepcheck receive final.pdf --order P-0417 --place "final.pdf=Label A"
    """
    told = pairs_of("--place", placings, "FILE=PART")
    due_on = day(due, "--due")
    if "" in named:  # as a script's empty variable gives; to a path it is the current folder
        raise UsageError("FILES: one of the names is empty; name files, folders or archives")
    files = [Path(one) for one in named]
    with extras_named():
        from prepcheck.book.delivering import deliver, is_order_file, refuse_unfit
    refuse_unfit(files, order)
    # A number is of an order in the book: that is there, or the number is wrong.
    make = order is None or is_order_file(order)
    with at.opened(as_table, make=make) as (book, ways):
        taken = deliver(book, files, order, acting(by), ways, sender=sender, due=due_on, told=told)
        tell(*(f"prepcheck: {line}" for one in taken for line in one.refused))
        return _said(book, taken, as_table)


def _said(book: Book, several: Sequence[Taken], as_table: bool) -> ExitCode:
    from prepcheck.book.telling import as_json, delivered_table, delivered_text

    told = [
        (taken, book.delivery(taken.delivery), _story(book, taken)) for taken in several
    ]  # fmt: skip
    if as_table:
        tables = [delivered_table(*one) for one in told]
        put(as_json("delivery", tables[0]) if len(tables) == 1 else as_json("deliveries", tables))
    else:
        put("\n".join(delivered_text(*one) for one in told))
    return max((_code(*one) for one in told), key=GRAVITY.index)


def _story(book: Book, taken: Taken) -> Story | None:
    return None if taken.order is None else book.story(taken.order)


def _code(taken: Taken, delivery: Delivery, story: Story | None) -> ExitCode:
    if any(gone.trouble for gone in taken.gone):
        return ExitCode.USAGE
    if story is None:
        return ExitCode.QUERY
    if story.examinations and story.examinations[-1].crashed:
        return ExitCode.CRASHED
    stops = sum(finding.severity == "stop" for finding in story.open)
    asked = sum(file.asked for file in delivery.files)
    return code_of(stops, len(story.open) + len(story.missing) + asked)
