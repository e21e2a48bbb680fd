"""`prepcheck decide`, `answer`, `letter` and `release`: what people do with an order."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from prepcheck.cli.terminal import EXIT_CODES, ends_with_exit_code, put, shown, tell
from prepcheck.cli.with_book import (
    Workplace,
    acting,
    book_options,
    code_of,
    json_option,
    opened,
    work_options,
)
from prepcheck.errors import ExitCode, UsageError

if TYPE_CHECKING:
    from prepcheck.book.book import Book


def _now(book: Book, number: str, as_table: bool) -> ExitCode:
    from prepcheck.book.telling import as_json, board_text, story_table

    story = book.story(number)
    put(as_json("story", story_table(story)) if as_table else board_text([story.line]))
    stops = sum(finding.severity == "stop" for finding in story.open)
    return code_of(stops, len(story.open) + len(story.missing))


@click.command(epilog=EXIT_CODES)
@click.argument("number")
@click.argument("findings", nargs=-1, required=True, type=click.IntRange(min=1))
@click.option("--accept", "kind", flag_value="accept", help="Let it pass as it is.")
@click.option("--refuse", "kind", flag_value="refuse", help="It must be corrected.")
@click.option("--ask", "kind", flag_value="ask", help="Ask the client; --why is the question.")
@click.option("--why", metavar="TEXT", required=True, help="The reason, or the question.")
@click.option("--by", metavar="NAME", required=True, help="Who decides.")
@json_option
@book_options
@ends_with_exit_code
def decide(
    number: str,
    findings: tuple[int, ...],
    kind: str | None,
    why: str,
    by: str,
    as_table: bool,
    where: str,
    kept_in: Path | None,
) -> ExitCode:
    """Decide about findings of an order.

    They are named by their numbers in `prepcheck show`. A stop can be accepted only by an
    approver, with a reason, and is seen on every later proof. A decision holds for the finding as
    it stands: once that has changed, it is open again.

    \b
    Examples
      prepcheck decide P-0417 3 --accept --why "white edge is wanted" --by "Bo Marsh"
      prepcheck decide P-0417 4 5 --ask --why "Is the title meant to be cut?" --by "Ada Fenn"
    """
    if kind is None:
        raise UsageError("say what is decided: --accept, --refuse or --ask")
    with opened(where, kept_in) as book:
        from prepcheck.book.records import Decide

        book.decide(number, findings, Decide(kind), why, by)
        return _now(book, number, as_table)


@click.command(epilog=EXIT_CODES)
@click.argument("number")
@click.argument("finding", required=False, type=click.IntRange(min=1))
@click.option("--text", metavar="TEXT", required=True, help="What was answered.")
@click.option("--from", "sender", metavar="WHOM", required=True, help="Who answered.")
@json_option
@book_options
@ends_with_exit_code
def answer(
    number: str,
    finding: int | None,
    text: str,
    sender: str,
    as_table: bool,
    where: str,
    kept_in: Path | None,
) -> ExitCode:
    """Write down what the client answered.

    It is about a finding, or about the order as a whole.
    """
    with opened(where, kept_in) as book:
        book.answer(number, finding, text, sender)
        return _now(book, number, as_table)


@click.command(epilog=EXIT_CODES)
@click.argument("number")
@click.option("--by", metavar="NAME", help="Who writes.  [default: whoever is logged in]")
@click.option(
    "--out", metavar="PATH", type=click.Path(path_type=Path),
    help="Write the text here instead of stdout.",
)  # fmt: skip
@click.option(
    "--mail", metavar="PATH.eml", type=click.Path(path_type=Path),
    help="Write a message with the proof attached, to send from a mail program.",
)  # fmt: skip
@click.option("--to", metavar="ADDRESS", help="To whom the message goes.")
@json_option
@book_options
@ends_with_exit_code
def letter(
    number: str,
    by: str | None,
    out: Path | None,
    mail: Path | None,
    to: str | None,
    as_table: bool,
    where: str,
    kept_in: Path | None,
) -> ExitCode:
    """Write the letter to the client for an order's latest round.

    It thanks for what is cured and asks for what is open; what was accepted is left out. The order
    then waits for the client.

    \b
    Examples
      prepcheck letter P-0417
      prepcheck letter P-0417 --mail P-0417.eml --to client@example.com
    """
    for path in (out, mail):
        if path is not None and path.exists():
            raise UsageError(f"{path}: is there already; choose another name")
    with opened(where, kept_in) as book:
        from prepcheck.book.letters import as_mail, write_letter
        from prepcheck.book.telling import as_json
        from prepcheck.output import write_whole

        written = write_letter(book, number)
        if out is not None:
            write_whole(out, written.text.encode("utf-8", "replace"))
        if mail is not None:
            write_whole(mail, as_mail(written, to=to))
        book.letter(number, written.text.encode("utf-8", "replace"), acting(by))
        if as_table:
            put(as_json("letter", {"subject": written.subject, "text": written.text}))
        elif out is None and mail is None:
            put(written.text)
    return ExitCode.CLEAR


@click.command(epilog=EXIT_CODES)
@click.argument("number")
@click.option("--by", metavar="NAME", required=True, help="Who releases.")
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), default=Path("prepcheck-released"),
    show_default=True, help="Folder in which the release gets one of its own.",
)  # fmt: skip
@click.option(
    "--sheet", "size", metavar="SIZE",
    help="Add a press sheet of the labels (SRA3, 450x320), as `prepcheck sheet` makes it.",
)  # fmt: skip
@click.option(
    "--overs", metavar="PERCENT", default="0", show_default=True,
    help="With --sheet: so many more for making ready and waste.",
)  # fmt: skip
@json_option
@work_options
@ends_with_exit_code
def release(
    number: str,
    by: str,
    out: Path,
    size: str | None,
    overs: str,
    as_table: bool,
    at: Workplace,
) -> ExitCode:
    """Release an order to plates.

    It is refused, line by line, while anything is open. Else a folder is written with the very
    bytes received under one pattern of names, a manifest, SHA256SUMS for `sha256sum -c`, and the
    proof with the sign-off filled in. A later release is a new revision, and says what differs.
    """
    wish = None
    if size is not None:
        from prepcheck.cli.sheet import percent
        from prepcheck.labelsheet.paper import paper_of
        from prepcheck.run.sheet_task import Wish

        wish = Wish(paper_of(size), overs_percent=percent(overs))
    with at.opened(as_table, proof_for="plant") as (book, ways):
        from prepcheck.book.releasing import release as released_of
        from prepcheck.book.telling import as_json

        done = released_of(book, number, by, out, ways, wish)
        if as_table:
            put(as_json("release", done))
        if done.against:
            tell(*(f"prepcheck: order {number}: not released: {line}" for line in done.against))
            stops = sum(f.severity == "stop" for f in book.story(number).open)
            return code_of(stops, 1)
        if not as_table:
            again = ", which was released before" if done.again else ""
            put(f"Released: {shown(done.folder)}  (revision {done.revision}{again})\n")
            put("".join(f"  {line}\n" for line in done.differs))
    return ExitCode.CLEAR
