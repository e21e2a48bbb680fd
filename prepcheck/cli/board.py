"""`prepcheck orders` and `prepcheck show`: what the book knows."""

from __future__ import annotations

from pathlib import Path

import click

from prepcheck.cli.terminal import EXIT_CODES, ends_with_exit_code, put
from prepcheck.cli.with_book import book_options, code_of, day, glanced_at, json_option
from prepcheck.errors import ExitCode


@click.command()
@click.option(
    "--waiting-for", type=click.Choice(["client", "us", "plant"]),
    help="Only orders whose next step is theirs.",
)  # fmt: skip
@click.option("--due", metavar="DATE", help="Only orders due by this day, as 2026-03-31.")
@click.option(
    "--like", metavar="TEXT",
    help="Only orders with this in number, client, title or catalogue number, or this barcode.",
)  # fmt: skip
@click.option("--aside", is_flag=True, help="List the deliveries that no order was found for.")
@json_option
@book_options
@ends_with_exit_code
def orders(
    waiting_for: str | None,
    due: str | None,
    like: str | None,
    aside: bool,
    as_table: bool,
    where: str,
    kept_in: Path | None,
) -> ExitCode:
    """List the orders in the book.

    Each with what has come, what is open and who has the next step. Those that are due first come
    first.

    \b
    Examples
      prepcheck orders
      prepcheck orders --waiting-for us --due 2026-03-31
      prepcheck orders --like "LFR 014" --json
    """
    due_by = day(due, "--due")
    with glanced_at(where, kept_in) as book:
        from prepcheck.book.records import Waiting
        from prepcheck.book.telling import as_json, board_text, delivery_lines

        if aside:
            found = book.aside()
            if as_table:
                put(as_json("aside", found))
            else:
                lines = [line for delivery in found for line in delivery_lines(delivery)]
                put("\n".join(lines or ["Nothing is put aside."]) + "\n")
            return ExitCode.CLEAR
        waiting = None if waiting_for is None else Waiting(waiting_for)
        lines_ = book.orders(waiting_for=waiting, due_by=due_by, like=like)
        put(as_json("orders", lines_) if as_table else board_text(lines_))
    return ExitCode.CLEAR


@click.command(epilog=EXIT_CODES)
@click.argument("number")
@json_option
@book_options
@ends_with_exit_code
def show(number: str, as_table: bool, where: str, kept_in: Path | None) -> ExitCode:
    """Tell an order's whole story.

    Parts, rounds, findings, decisions, letters and releases. The exit code is that of what is still
    open; a part that has not come counts as a query.
    """
    with glanced_at(where, kept_in) as book:
        from prepcheck.book.telling import as_json, story_table, story_text

        story = book.story(number)
        put(as_json("story", story_table(story)) if as_table else story_text(story))
    stops = sum(finding.severity == "stop" for finding in story.open)
    return code_of(stops, len(story.open) + len(story.missing))
