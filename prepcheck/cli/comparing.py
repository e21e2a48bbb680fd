"""`prepcheck compare`: what changed between two files or orders."""

from __future__ import annotations

from pathlib import Path

import click

from prepcheck.cli.terminal import (
    EXIT_CODES,
    Outputs,
    ends_with_exit_code,
    exit_code,
    machines,
    pairs_of,
    processors,
    progress,
    put,
    settings_of,
    tell,
    terminal_width,
    with_budget,
    with_cluster,
    with_jobs,
)
from prepcheck.errors import ExitCode, UsageError


@click.command(epilog=EXIT_CODES)
@click.argument("old", type=click.Path(path_type=Path), metavar="OLD")
@click.argument("new", type=click.Path(path_type=Path), metavar="NEW")
@click.option(
    "--spec", metavar="NAME|PATH",
    help="The piece both are for, where it cannot be recognised by its size.",
)  # fmt: skip
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), default=Path("prepcheck-out"),
    show_default=True, help="Folder for the proof and the report of the comparison.",
)  # fmt: skip
@click.option(
    "--order",
    metavar="ORDER.toml",
    type=click.Path(path_type=Path),
    help="The order that two single files, or the files of a report, belong to; they are judged as "
    "its parts.",
)
@click.option(
    "--as", "said", metavar="FILE=PART", multiple=True,
    help="This file of NEW is that part of OLD, where it cannot be told.",
)  # fmt: skip
@click.option(
    "--json",
    "report",
    metavar="PATH|-",
    help="Where to write the report of the comparison; - prints it to stdout, and nothing else "
    "there.  [default: in the folder]",
)
@click.option(
    "--letter", metavar="PATH|-",
    help="Where to write a message to the client: what is mended, still open and new; - prints it "
    "to stdout, and nothing else there.",
)  # fmt: skip
@click.option("--quiet", is_flag=True, help="Print nothing and show no progress, only errors.")
@with_jobs
@with_budget
@with_cluster
@ends_with_exit_code
def compare(
    old: Path,
    new: Path,
    spec: str | None,
    out: Path,
    order: Path | None,
    said: tuple[str, ...],
    report: str | None,
    letter: str | None,
    quiet: bool,
    jobs: int | None,
    part_seconds: float,
    part_mb: int,
    cluster: str | None,
    shared: bool,
) -> ExitCode:
    """Check a corrected file and tell what changed.

    OLD is a file, an order, a folder of either, or the report of an earlier check. NEW is another
    file or order, or files, a folder or a ZIP for some parts of OLD's order, matched to them by
    what they are. Both are checked; then every place that looks different is listed, with its size
    in mm and the inks that changed, and which findings are cured, still there, or new. A shift of
    the whole print by up to 0.3 mm, a turn by up to 0.2 degrees and a scale within 0.5 % are
    measured, said, and taken out first. What was not sent again is still open. The exit code is
    that of NEW and of what is open.

    \b
    Examples
      prepcheck compare label-a.pdf label-a-corrected.pdf
      prepcheck compare first/order.toml second/order.toml --out compared
      prepcheck compare first/order.toml corrected.pdf
      prepcheck compare P-0417-report.json second-round.zip --as "new.pdf=Label A"
      prepcheck compare label-a.pdf label-a-2.pdf --order order.toml --letter to-client.txt
    """
    from datetime import date

    from prepcheck.intake.comparing import compare as compared_of
    from prepcheck.report.compare import comparison_console, comparison_text
    from prepcheck.report.compare_letter import comparison_letter
    from prepcheck.run.compare import write_compared

    if report == "-" and letter == "-":
        raise UsageError("--json - and --letter - both ask for stdout; give one of them a path")
    alone = "report" if report == "-" else "letter" if letter == "-" else ""
    at_once = jobs or processors()
    with machines(cluster, shared, at_once) as others, progress(quiet) as seen:
        compared = compared_of(
            old, new, spec=spec, order=order, said=pairs_of("--as", said, "FILE=PART"),
            jobs=at_once, progress=seen, settings=settings_of(part_seconds, part_mb),
            executor=others,
        )  # fmt: skip
    if not quiet:
        tell(*(f"prepcheck: {line}" for line in compared.told))
    if alone == "report":
        put(comparison_text(compared.comparison))
    elif alone == "letter":
        put(comparison_letter(compared.comparison))
    elif not quiet:
        put(comparison_console(compared.comparison, terminal_width()))
    outputs = Outputs(
        out / f"{compared.stem}-compare.pdf",
        None if alone == "report" else Path(report or out / f"{compared.stem}-compare.json"),
        None if letter is None or alone == "letter" else Path(letter),
    )
    write_compared(
        compared,
        proof=outputs.proof,
        report=outputs.report,
        letter=outputs.letter,
        made_on=date.today(),
    )
    if not (quiet or alone):
        put(str(outputs))
    if compared.comparison.new.crashed:
        return exit_code(compared.comparison.new)
    return ExitCode[compared.comparison.verdict.name]
