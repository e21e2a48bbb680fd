"""`prepcheck book`: the book itself, its people, and what is left over."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from prepcheck.cli.terminal import EXIT_CODES, ends_with_exit_code, put, tell
from prepcheck.cli.with_book import (
    Workplace,
    acting,
    book_options,
    code_of,
    day,
    extras_named,
    json_option,
    opened,
    work_options,
)
from prepcheck.errors import ExitCode

if TYPE_CHECKING:
    from prepcheck.book.book import Book
    from prepcheck.book.rounds import Gone


@click.group()
def book() -> None:
    """The book: what came, was found, decided and released.

    Needs `pip install 'prepcheck[book]'`.
    """


@book.command()
@book_options
@ends_with_exit_code
def make(where: str, kept_in: Path | None) -> None:
    """Make a book, or bring one to this version."""
    with opened(where, kept_in, make=True) as opened_book:
        put(f"Book: {opened_book.folder}\n")


@book.command(epilog=EXIT_CODES)
@click.option(
    "--expect", metavar="DIGEST",
    help="The head that an earlier run printed; shows whether entries after it are still there.",
)  # fmt: skip
@json_option
@book_options
@ends_with_exit_code
def verify(expect: str | None, as_table: bool, where: str, kept_in: Path | None) -> ExitCode:
    """Prove that neither journal nor files were altered.

    Every file that is missing or changed is found. Ends with 1 when anything was. Keep the head
    that is printed somewhere else, and give it to the next run: entries cut off at the end cannot
    be told otherwise.
    """
    with opened(where, kept_in) as opened_book:
        from prepcheck.book.telling import as_json

        found = opened_book.verify(expect=expect)
        if as_table:
            put(as_json("verified", found))
        else:
            tell(*(f"prepcheck: {line}" for line in found.faults))
            put(
                f"{found.entries} entries, {found.files} files ({found.bytes / 1e6:.1f} MB), "
                f"{len(found.faults) or 'no'} faults\nhead {found.head}\n"
            )
    return ExitCode.STOP if found.faults else ExitCode.CLEAR


@book.command(name="person")
@click.argument("name")
@click.option(
    "--role", required=True, type=click.Choice(["intake", "approver", "admin"]),
    help="What they may do: intake receives and asks; an approver lets stops pass and releases "
    "too.",
)  # fmt: skip
@click.option("--by", metavar="NAME", help="Who enters them.  [default: whoever is logged in]")
@book_options
@ends_with_exit_code
def person(name: str, role: str, by: str | None, where: str, kept_in: Path | None) -> None:
    """Enter a person who decides, or give them another role."""
    with opened(where, kept_in, make=True) as opened_book:
        from prepcheck.book.records import Role

        opened_book.add_person(name, Role(role), acting(by))


@book.command()
@json_option
@book_options
@ends_with_exit_code
def people(as_table: bool, where: str, kept_in: Path | None) -> None:
    """List who decides."""
    with opened(where, kept_in) as opened_book:
        from prepcheck.book.telling import as_json

        found = opened_book.people()
        lines = "".join(f"{one.name}  {one.role.value}\n" for one in found)
        put(as_json("people", found) if as_table else lines or "Nobody yet.\n")


@book.command()
@click.argument("orders", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--due", metavar="DATE", help="When it is due, as 2026-03-31.")
@click.option("--by", metavar="NAME", help="Who enters it.  [default: whoever is logged in]")
@book_options
@ends_with_exit_code
def enter(
    orders: tuple[Path, ...], due: str | None, by: str | None, where: str, kept_in: Path | None
) -> None:
    """Enter orders from order files, or bring them up to date.

    Their art may come later.
    """
    due_on = day(due, "--due")
    with extras_named():
        from prepcheck.book.entering import enter_order, read_order
    read = [read_order(path) for path in orders]
    with opened(where, kept_in, make=True) as opened_book:
        numbers = [enter_order(opened_book, one, acting(by), due_on) for one in read]
        put("".join(f"Entered: {number}\n" for number in numbers))


@book.command(name="new", epilog=EXIT_CODES)
@click.argument("number")
@click.option("--client", required=True)
@click.option("--title", required=True)
@click.option("--catalogue", required=True)
@click.option(
    "--format", "format_", required=True, type=click.Choice(["7-inch", "10-inch", "12-inch"])
)
@click.option("--discs", type=click.IntRange(1, 13), default=1, show_default=True)
@click.option("--barcode", metavar="DIGITS")
@click.option(
    "--part", "parts", metavar="NAME[:SIDE]", multiple=True, required=True,
    help="A part, with its side where it is a label; once for each.",
)  # fmt: skip
@click.option("--due", metavar="DATE", help="When it is due, as 2026-03-31.")
@click.option("--by", metavar="NAME", help="Who enters it.  [default: whoever is logged in]")
@book_options
@ends_with_exit_code
def new(
    number: str,
    client: str,
    title: str,
    catalogue: str,
    format_: str,
    discs: int,
    barcode: str | None,
    parts: tuple[str, ...],
    due: str | None,
    by: str | None,
    where: str,
    kept_in: Path | None,
) -> None:
    """Enter an order without an order file.

    \b
    Example
      prepcheck book new P-0418 --client "Thornreed Records" --title "Marl: Low Fields" \\
        --catalogue "TRL 001" --format 12-inch --part "Label A:A" --part "Label B:B" --part Jacket
    """
    due_on = day(due, "--due")
    with extras_named():
        from prepcheck.book.entering import enter_order, order_of
    head = {
        "number": number, "client": client, "title": title, "catalogue": catalogue,
        "format": format_, "discs": discs, "barcode": barcode,
    }  # fmt: skip
    tables = []
    for part in parts:
        name, sign, side = part.rpartition(":")
        tables.append({"name": name, "side": side} if sign else {"name": part})
    table: dict[str, object] = {
        "order": {k: v for k, v in head.items() if v is not None}, "part": tables,
    }  # fmt: skip
    read = order_of(table)
    with opened(where, kept_in, make=True) as opened_book:
        enter_order(opened_book, read, acting(by), due_on)


@book.command(epilog=EXIT_CODES)
@click.argument("delivery", type=click.IntRange(min=1))
@click.argument("number")
@click.option("--by", metavar="NAME", help="Who says so.  [default: whoever is logged in]")
@json_option
@work_options
@ends_with_exit_code
def give(
    delivery: int,
    number: str,
    by: str | None,
    as_table: bool,
    at: Workplace,
) -> ExitCode:
    """Give a delivery that was put aside to an order, and examine it."""
    with at.opened(as_table) as (opened_book, ways):
        from prepcheck.book.rounds import carry_on

        opened_book.give(delivery, number, acting(by))
        gone = carry_on(opened_book, acting(by), ways, order=number)
        return _stands(opened_book, number, gone, as_table)


@book.command(epilog=EXIT_CODES)
@click.argument("number")
@click.argument("placings", nargs=-1, required=True, metavar="FILE=PART...")
@click.option("--by", metavar="NAME", help="Who says so.  [default: whoever is logged in]")
@json_option
@work_options
@ends_with_exit_code
def place(
    number: str,
    placings: tuple[str, ...],
    by: str | None,
    as_table: bool,
    at: Workplace,
) -> ExitCode:
    """Say which part a file of an order is for.

    Of several files of one name that of the latest round is meant. FILE#2 is a page of a file;
    FILE= alone says that a file is for none.

    \b
    Examples
      prepcheck book place P-0417 "final.pdf=Label A"
      prepcheck book place P-0417 holiday.pdf=
    """
    with at.opened(as_table) as (opened_book, ways):
        from prepcheck.book.matching import placings_of
        from prepcheck.book.rounds import carry_on

        said = placings_of(opened_book.story(number), placings)
        for delivery, by_hand in said.placed.items():  # at once: pages of a file are several parts
            opened_book.place(delivery, by_hand, [], acting(by), by_hand=True)
        for file in said.left:
            opened_book.leave(file, "for no part, said by hand", acting(by))
        gone = carry_on(opened_book, acting(by), ways, order=number)
        return _stands(opened_book, number, gone, as_table)


def _stands(opened_book: Book, number: str, gone: Sequence[Gone], as_table: bool) -> ExitCode:
    """Print where an order stands now."""
    from prepcheck.book.telling import as_json, board_text, story_table

    trouble = [line for one in gone for line in one.trouble]
    tell(*(f"prepcheck: order {number}: not examined: {line}" for line in trouble))
    story = opened_book.story(number)
    put(as_json("story", story_table(story)) if as_table else board_text([story.line]))
    if trouble:
        return ExitCode.USAGE
    stops = sum(finding.severity == "stop" for finding in story.open)
    return code_of(stops, len(story.open) + len(story.missing))


@book.command(epilog=EXIT_CODES)
@json_option
@work_options
@ends_with_exit_code
def resume(
    as_table: bool,
    at: Workplace,
) -> ExitCode:
    """Go on with whatever was broken off.

    What is not examined yet is matched and examined.
    """
    with at.opened(as_table) as (opened_book, ways):
        from prepcheck.book.rounds import carry_on
        from prepcheck.book.telling import as_json

        gone = carry_on(opened_book, acting(None), ways)
        for one in gone:
            tell(*(f"prepcheck: order {one.order}: not examined: {line}" for line in one.trouble))
        if as_table:
            put(as_json("resumed", [{"order": g.order, "not_examined": g.trouble} for g in gone]))
        else:
            put("".join(f"Examined: {one.order}\n" for one in gone if not one.trouble))
    return ExitCode.USAGE if any(one.trouble for one in gone) else ExitCode.CLEAR
