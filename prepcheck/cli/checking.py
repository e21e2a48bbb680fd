"""`prepcheck check`: art files and orders in, proofs and reports out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from prepcheck.cli.several import Places, check_several
from prepcheck.cli.terminal import (
    EXIT_CODES,
    Outputs,
    colour,
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
from prepcheck.frozen import dataclass

if TYPE_CHECKING:
    from prepcheck.findings import Result
    from prepcheck.intake.aside import Aside
    from prepcheck.run.examine import ProofFor
    from prepcheck.run.executor import Executor
    from prepcheck.run.gather import Batch, Gathered
    from prepcheck.run.settings import Settings
    from prepcheck.run.worker import EarlyWorker


@click.command(epilog=EXIT_CODES)
@click.argument("art", nargs=-1, type=click.Path(path_type=Path), metavar="ART...")
@click.option(
    "--spec", "specs", metavar="[PART=]NAME|PATH", multiple=True,
    help="The piece the art is for, by a name from `prepcheck specs` or a TOML file; with PART= "
    "that of one part or file. Without it the piece is recognised by its size.",
)  # fmt: skip
@click.option(
    "--as", "said", metavar="FILE=PART", multiple=True,
    help="With --order: this file is that part; FILE#2=PART is page 2 of it.",
)  # fmt: skip
@click.option(
    "--after", metavar="REPORT|DIR", type=click.Path(path_type=Path),
    help="With --order: ART is a further round; parts that did not come again stand as in this "
    "report of the round before.",
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
    "--proof", metavar="PATH|DIR", type=click.Path(path_type=Path),
    help="Write the proof here instead; of several orders each into this folder.",
)  # fmt: skip
@click.option(
    "--proof-for", type=click.Choice(("client", "plant")), default="client", show_default=True,
    help="Whose proof it is: the client's has a page a face with its findings beside it, the "
    "plant's plates and ink besides.",
)  # fmt: skip
@click.option(
    "--json",
    "report",
    metavar="PATH|DIR|-",
    help="Write the report here instead; of several orders each into this folder. - prints it to "
    "stdout, and nothing else there.",
)
@click.option(
    "--letter", metavar="PATH|DIR|-",
    help="Write what the client must do, file by file, as a plain-text message ready to send; of "
    "several orders each into this folder. - prints it to stdout, and nothing else there.",
)  # fmt: skip
@click.option(
    "--mail", metavar="PATH|DIR", type=click.Path(path_type=Path),
    help="Write that message as a mail (.eml) with the proof attached; of several orders each "
    "into this folder.",
)  # fmt: skip
@click.option("--all", "every", is_flag=True, help="Print the measures of clear parts too.")
@click.option("--quiet", is_flag=True, help="Print no table and no progress, only errors.")
@with_jobs
@with_budget
@with_cluster
@ends_with_exit_code
@click.pass_obj
def check(
    ahead: EarlyWorker | None,
    art: tuple[Path, ...],
    specs: tuple[str, ...],
    said: tuple[str, ...],
    after: Path | None,
    order_path: Path | None,
    out: Path,
    proof: Path | None,
    proof_for: ProofFor,
    report: str | None,
    letter: str | None,
    mail: Path | None,
    every: bool,
    quiet: bool,
    jobs: int | None,
    part_seconds: float,
    part_mb: int,
    cluster: str | None,
    shared: bool,
) -> ExitCode:
    """Check artwork and write a proof and a report.

    ART is an order file (.toml), art files (PDF, TIFF, JPEG, PNG, PSD), ZIP archives of either, or
    a folder: every order in it, or, where there is none, all its art. Art files named together
    share one proof. With --order, files are matched to the order's parts by what they are. The
    files themselves are never changed.

    A file whose pages are each one complete piece is a part a page; FILE#2 names its second page
    in --spec and --as. Other archives than ZIP, and mails, are refused. Of several orders, each has
    outputs of its own, one that cannot be checked costs itself alone, a table ends the output,
    summary.csv and summary.json in --out hold a line for each, and the worst gives the exit code.

    \b
    Examples
      prepcheck check side-a.pdf side-b.pdf --spec label-7in-large-hole
      prepcheck check orders/P-0417.toml --out proofs
      prepcheck check from-client.zip --order orders/P-0417.toml
      prepcheck check second-round/ --order P-0417.toml --after P-0417-report.json
      prepcheck check orders/ --jobs 2 --quiet
      prepcheck check orders/ --cluster tcp://10.0.0.7:8786
      prepcheck check side-a.pdf --json - | less
    """
    from prepcheck.intake.aside import aside

    if report == "-" and letter == "-":
        raise UsageError("--json - and --letter - both ask for stdout; give one of them a path")
    alone = "report" if report == "-" else "letter" if letter == "-" else ""
    spec, named = _specs_named(specs)
    settings = settings_of(part_seconds, part_mb)
    others = machines(cluster, shared, jobs or processors())
    with others as executor, aside() as unpacked:
        gathered = _gathered(
            art, order_path, spec, named, said, after, unpacked, jobs or processors(), settings
        )
        if not quiet:
            tell(*(f"prepcheck: {line}" for line in gathered.left_out))
        waiting = iter((ahead,))
        how = _How(proof_for, alone, quiet, every, jobs, executor)

        def examined(
            batch: Batch, outputs: Outputs, coming: Sequence[Batch] = ()
        ) -> tuple[Result, tuple[str, ...]]:
            return _check_one(batch, outputs, how, next(waiting, None), coming)

        places = Places(out, proof, report, letter, mail)
        if len(gathered.batches) + len(gathered.faulty) > 1:
            return check_several(gathered, places, examined, quiet=quiet)
        (batch,) = gathered.batches
        result, faults = examined(batch, places.of(batch.stem))
        tell(*(f"prepcheck: {line}" for line in faults))
        return ExitCode.OUTPUT if faults else exit_code(result)


def _gathered(
    art: tuple[Path, ...],
    order_path: Path | None,
    spec: str | None,
    named: dict[str, str],
    said: tuple[str, ...],
    after: Path | None,
    aside: Aside,
    jobs: int,
    settings: Settings,
) -> Gathered:
    """Return what is to be examined and what is to be told; archives are opened in `aside`."""
    from prepcheck.run.gather import Gathered, gather

    if order_path is None or not (art or after):
        if said or after:
            raise UsageError("--as and --after go with --order and the files that came")
        from prepcheck.intake.archives import of_order, opener

        return gather(
            art, order_path=order_path, spec=spec, named=named, unzip=opener(aside),
            inside=of_order(aside, jobs), settings=settings,
        )  # fmt: skip
    from prepcheck.intake.deliver import delivered
    from prepcheck.intake.earlier import read_round
    from prepcheck.order import load_order

    before = None if after is None else read_round(after, load_order(order_path))
    prepared = delivered(
        art, order_path, into=aside, said=pairs_of("--as", said, "FILE=PART"), after=before,
        spec=spec, named=named, jobs=jobs, settings=settings,
    )  # fmt: skip
    return Gathered((prepared.batch,), prepared.told)


def _specs_named(specs: tuple[str, ...]) -> tuple[str | None, dict[str, str]]:
    """Return the spec for all parts, and those for one part each."""
    for_all = [spec for spec in specs if "=" not in spec]
    if len(for_all) > 1:
        raise UsageError(
            "--spec names one piece for all parts; for one part write --spec PART=NAME"
        )
    own = pairs_of("--spec", tuple(spec for spec in specs if "=" in spec), "PART=NAME")
    return (for_all[0] if for_all else None), own


@dataclass(frozen=True)
class _How:
    """How each order is checked. `alone` is what stdout is kept for: the 'report', the 'letter'
    or, empty, all that is told."""

    proof_for: ProofFor
    alone: str
    quiet: bool
    every: bool
    jobs: int | None
    executor: Executor | None


def _check_one(
    batch: Batch, outputs: Outputs, how: _How, ahead: EarlyWorker | None, coming: Sequence[Batch]
) -> tuple[Result, tuple[str, ...]]:
    """Examine one order, print and write it; return its result and what could not be written."""
    from datetime import date

    from prepcheck.output import refuse_inputs, why_not
    from prepcheck.run.examine import examine, write_outputs

    refuse_inputs(outputs.paths, batch.inputs)
    with progress(how.quiet) as told:
        examined = examine(
            batch,
            jobs=how.jobs or processors(),
            proof_for=how.proof_for,
            progress=told,
            ahead=ahead,
            by_page=True,
            executor=how.executor,
            coming=coming,
        )
    result = examined.result
    if result.spare and result.awaited and batch.order_path is not None and not how.quiet:
        folder, order = batch.order_path.parent, batch.order_path
        tell(
            "prepcheck: parts have not come, and files beside the order are named for none; "
            f"prepcheck check {folder} --order {order} matches files by what they are"
        )
    untold: tuple[str, ...] = ()
    tell(*(f"prepcheck: {line}" for line in examined.told))
    if how.alone or not how.quiet:
        text = _told(result, how)
        untold = why_not(lambda: put(text))
    unwritten = why_not(
        lambda: write_outputs(
            examined,
            batch,
            proof=outputs.proof,
            report=outputs.report,
            letter=outputs.letter,
            mail=outputs.mail,
            made_on=date.today(),
        )
    )
    if not (how.quiet or how.alone or unwritten or untold):
        put(str(outputs))
    return result, (*unwritten, *untold)


def _told(result: Result, how: _How) -> str:
    """Return what is printed of a result."""
    if how.alone == "report":
        from prepcheck.report.json import report_text

        return report_text(result)
    if how.alone == "letter":
        from prepcheck.report.letter import letter_text

        return letter_text(result)
    from prepcheck.report.console import console_text

    return console_text(result, styled=colour(), width=terminal_width(), every=how.every)
