"""`prepcheck check`: art files and orders in, proofs and reports out."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from prepcheck.cli.terminal import (
    EXIT_CODES,
    Outputs,
    ends_with_exit_code,
    exit_code,
    processors,
    progress,
    put,
    tell,
)
from prepcheck.errors import ExitCode, OutputError, UsageError

if TYPE_CHECKING:
    from prepcheck.findings import Result
    from prepcheck.run.gather import Batch
    from prepcheck.run.worker import Ahead

_GRAVITY = (ExitCode.CLEAR, ExitCode.QUERY, ExitCode.STOP, ExitCode.CRASHED, ExitCode.OUTPUT)
"""Of several orders the last of these decides."""


@click.command(epilog=EXIT_CODES)
@click.argument("art", nargs=-1, type=click.Path(path_type=Path), metavar="ART...")
@click.option(
    "--spec", metavar="NAME|PATH",
    help="The piece the art is for, by a name from `prepcheck specs` or a TOML file. Without it "
    "the piece is recognised by its size.",
)  # fmt: skip
@click.option(
    "--order", "order_path", metavar="ORDER.toml", type=click.Path(path_type=Path),
    help="Check the art as parts of this order; with no ART, all its parts.",
)  # fmt: skip
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), default=Path("prepcheck-out"),
    show_default=True, help="Folder for the proof and the report of each order.",
)  # fmt: skip
@click.option(
    "--proof", metavar="PATH", type=click.Path(path_type=Path),
    help="Write the proof here instead.",
)  # fmt: skip
@click.option(
    "--json",
    "report",
    metavar="PATH|-",
    help="Write the report here instead; - prints it to stdout, and nothing else there.",
)
@click.option(
    "--letter", metavar="PATH", type=click.Path(path_type=Path),
    help="Write what the client must do, file by file, as a plain-text message ready to send.",
)  # fmt: skip
@click.option("--quiet", is_flag=True, help="Print no table and no progress, only errors.")
@click.option(
    "--jobs",
    metavar="N",
    type=click.IntRange(min=1),
    help="How many parts to examine at a time.  [default: one a processor, at most 4]",
)
@ends_with_exit_code
def check(
    art: tuple[Path, ...],
    spec: str | None,
    order_path: Path | None,
    out: Path,
    proof: Path | None,
    report: str | None,
    letter: Path | None,
    quiet: bool,
    jobs: int | None,
) -> ExitCode:
    """Check artwork and write a proof and a report.

    ART is an order file (.toml), art files (PDF, TIFF, JPEG, PNG, PSD), or a folder: every order
    in it, or, where there is none, all its art. Art files named together share one proof. The
    files themselves are never changed.

    \b
    Examples
      prepcheck check side-a.pdf side-b.pdf --spec label-7in-large-hole
      prepcheck check orders/P-0417.toml --out proofs
      prepcheck check new-front.tif --order orders/P-0417.toml
      prepcheck check orders/ --jobs 2 --quiet
      prepcheck check side-a.pdf --json - | less
    """
    from prepcheck.run.worker import started_ahead

    with started_ahead("prepcheck.run.part") as ahead:
        from prepcheck.run.gather import gather

        gathered = gather(art, order_path=order_path, spec=spec)
        if not quiet:
            tell(*(f"prepcheck: {line}" for line in gathered.left_out))
        if len(gathered.batches) > 1 and (proof or report or letter):
            raise UsageError(
                "--proof, --json and --letter name one file, but there are "
                f"{len(gathered.batches)} orders here; use --out, which gives each its own"
            )
        worst = ExitCode.CLEAR
        for batch in gathered.batches:
            outputs = Outputs(
                proof or out / f"{batch.stem}-proof.pdf",
                None if report == "-" else Path(report or out / f"{batch.stem}-report.json"),
                letter,
            )
            try:
                # Of a finished order no more is kept, however many there are.
                code = exit_code(_check_one(batch, outputs, quiet, jobs, ahead))
            except OutputError as fault:
                code = fault.exit_code
                tell(*(f"prepcheck: {line}" for line in fault.lines))
            worst = max(worst, code, key=_GRAVITY.index)
            ahead = None
        return worst


def _check_one(
    batch: Batch, outputs: Outputs, quiet: bool, jobs: int | None, ahead: Ahead | None
) -> Result:
    from datetime import date

    from prepcheck.output import refuse_inputs, why_not
    from prepcheck.report.console import console_text
    from prepcheck.report.json import report_text
    from prepcheck.run.examine import examine, write_outputs

    refuse_inputs(outputs.paths, batch.inputs)
    to_stdout = outputs.report is None
    with progress(quiet) as told:
        examined = examine(batch, jobs=jobs or processors(), progress=told, ahead=ahead)
    result = examined.result
    untold: tuple[str, ...] = ()
    if to_stdout:
        untold = why_not(lambda: put(report_text(result)))
    elif not quiet:
        styled = sys.stdout is not None and sys.stdout.isatty()
        untold = why_not(lambda: put(console_text(result, styled=styled)))
    write_outputs(
        examined,
        batch,
        proof=outputs.proof,
        report=outputs.report,
        letter=outputs.letter,
        made_on=date.today(),
    )
    if untold:
        raise OutputError(*untold)
    if not (quiet or to_stdout):
        put(str(outputs))
    return result
