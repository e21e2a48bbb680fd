"""The command line: the only place that prints and that turns errors into exit codes."""

from __future__ import annotations

import functools
import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, NoReturn, ParamSpec

import click

from prepcheck import __version__
from prepcheck.errors import ExitCode, OutputError, PrepcheckError, UsageError

if TYPE_CHECKING:
    from prepcheck.findings import Result
    from prepcheck.run.events import Event
    from prepcheck.run.gather import Batch
    from prepcheck.run.worker import Ahead

P = ParamSpec("P")
_MOST_JOBS = 4
_GRAVITY = (ExitCode.CLEAR, ExitCode.QUERY, ExitCode.STOP, ExitCode.CRASHED, ExitCode.OUTPUT)
"""Of several orders the last of these decides."""

EXIT_CODES = """\b
Exit codes
  0    clear: nothing found, or only notes
  1    stop: something must be corrected before plates
  2    an argument, a spec or an order file is wrong
  3    query: a person or the client must decide
  4    an output could not be written
  5    a check failed, the result is incomplete (outranks 0, 1 and 3)
  130  interrupted"""


def _ends_with_exit_code(command: Callable[P, ExitCode | None]) -> Callable[P, None]:
    """Make a command's errors a line each on stderr, and its end an exit code."""

    @functools.wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            code = command(*args, **kwargs)
        except PrepcheckError as error:
            _tell(*(f"prepcheck: {line}" for line in error.lines))
            code = error.exit_code
        except KeyboardInterrupt:
            _tell("prepcheck: interrupted")
            code = ExitCode.INTERRUPTED
        click.get_current_context().exit(ExitCode.CLEAR if code is None else code)

    return run


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog=EXIT_CODES,
)
@click.version_option(__version__, message="prepcheck %(version)s")
def cli() -> None:
    """Check artwork for record labels and sleeves before plates are made.

    prepcheck measures an order's art in millimetres against a spec of the printed piece, says
    what would print, cut, fold or drill wrong and what to do about it, and writes a proof (PDF)
    to send to the client and a report (JSON).

    \b
    Start here
      prepcheck specs                     what pieces there are
      prepcheck check label-a.pdf         check one file
      prepcheck check order.toml          check a whole order
      prepcheck compare old.pdf new.pdf   what changed, and what is cured
      prepcheck explain bleed.short       what a finding means
      prepcheck plates label-a.pdf        see what each ink plate carries
    """


@cli.command(epilog=EXIT_CODES)
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
@_ends_with_exit_code
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
            _tell(*(f"prepcheck: {line}" for line in gathered.left_out))
        if len(gathered.batches) > 1 and (proof or report or letter):
            raise UsageError(
                "--proof, --json and --letter name one file, but there are "
                f"{len(gathered.batches)} orders here; use --out, which gives each its own"
            )
        worst = ExitCode.CLEAR
        for batch in gathered.batches:
            outputs = _Outputs(
                proof or out / f"{batch.stem}-proof.pdf",
                None if report == "-" else Path(report or out / f"{batch.stem}-report.json"),
                letter,
            )
            try:
                # Of a finished order no more is kept, however many there are.
                code = exit_code(_check_one(batch, outputs, quiet, jobs, ahead))
            except OutputError as fault:
                code = fault.exit_code
                _tell(*(f"prepcheck: {line}" for line in fault.lines))
            worst = max(worst, code, key=_GRAVITY.index)
            ahead = None
        return worst


class _Outputs(NamedTuple):
    """Where outputs go; without a path the report goes to stdout, and nothing else does."""

    proof: Path
    report: Path | None
    letter: Path | None = None

    @property
    def paths(self) -> list[Path]:
        return [path for path in self if path is not None]

    def __str__(self) -> str:
        named = zip(("Proof: ", "Report:", "Letter:"), self, strict=True)
        return "".join(f"{name} {_shown(path)}\n" for name, path in named if path is not None)


def _check_one(
    batch: Batch, outputs: _Outputs, quiet: bool, jobs: int | None, ahead: Ahead | None
) -> Result:
    from datetime import date

    from prepcheck.output import refuse_inputs
    from prepcheck.report.console import console_text
    from prepcheck.report.json import report_text
    from prepcheck.run.examine import examine, write_outputs

    refuse_inputs(outputs.paths, batch.inputs)
    to_stdout = outputs.report is None
    with _progress(quiet) as tell:
        examined = examine(batch, jobs=jobs or _processors(), progress=tell, ahead=ahead)
    result = examined.result
    if to_stdout:
        _print(report_text(result))
    elif not quiet:
        _print(console_text(result, styled=sys.stdout.isatty()))
    write_outputs(
        examined,
        batch,
        proof=outputs.proof,
        report=outputs.report,
        letter=outputs.letter,
        made_on=date.today(),
    )
    if not (quiet or to_stdout):
        _print(str(outputs))
    return result


@cli.command(epilog=EXIT_CODES)
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
@click.option("--quiet", is_flag=True, help="Print nothing and show no progress, only errors.")
@click.option(
    "--jobs",
    metavar="N",
    type=click.IntRange(min=1),
    help="How many parts to examine at a time.  [default: one a processor, at most 4]",
)
@_ends_with_exit_code
def compare(
    old: Path, new: Path, spec: str | None, out: Path, quiet: bool, jobs: int | None
) -> ExitCode:
    """Check a corrected file against the earlier one and tell what changed.

    OLD and NEW are two files of one piece, or two order files. Both are checked; then every
    place that looks different is listed, with its size in mm and the inks that changed, and
    which findings are cured, still there, or new. A shift of the whole print by up to 0.3 mm, a
    turn by up to 0.2 degrees and a scale within 0.5 % are measured, said, and taken out first.
    The exit code is that of NEW.

    \b
    Examples
      prepcheck compare label-a.pdf label-a-corrected.pdf
      prepcheck compare first/order.toml second/order.toml --out compared
    """
    from datetime import date

    from prepcheck.report.compare import comparison_console
    from prepcheck.run.compare import compare as compared_of
    from prepcheck.run.compare import write_compared

    with _progress(quiet) as tell:
        compared = compared_of(old, new, spec=spec, jobs=jobs or _processors(), progress=tell)
    if not quiet:
        _print(comparison_console(compared.comparison))
    outputs = _Outputs(out / f"{compared.stem}-compare.pdf", out / f"{compared.stem}-compare.json")
    write_compared(compared, proof=outputs.proof, report=outputs.report, made_on=date.today())
    if not quiet:
        _print(str(outputs))
    return exit_code(compared.comparison.new)


@cli.command(epilog=EXIT_CODES)
@click.argument("art", type=click.Path(path_type=Path), metavar="ART")
@click.option(
    "--spec", metavar="NAME|PATH",
    help="The piece the art is for, by a name from `prepcheck specs` or a TOML file. Without it "
    "the piece is recognised by its size, or else taken as the page states it.",
)  # fmt: skip
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), default=Path("prepcheck-out"),
    show_default=True, help="Folder for the plates, the ink map and the table.",
)  # fmt: skip
@click.option(
    "--ppi", metavar="N", type=click.FloatRange(min=10),
    help="Pixels per inch of the plates.  [default: 300, on the largest sleeves less]",
)  # fmt: skip
@_ends_with_exit_code
def plates(art: Path, spec: str | None, out: Path, ppi: float | None) -> None:
    """Write the ink plates of an art file, its ink map, and what each plate carries.

    Each plate is a grey TIFF named after its ink, over trim and bleed, in which a sample is the
    amount of ink: 255 solid, 0 bare paper (WhiteIsZero, so a viewer shows ink as dark). The ink
    map is a PNG, the table goes to stdout and, as JSON, into the folder.

    \b
    Examples
      prepcheck plates label-a.pdf
      prepcheck plates jacket.pdf --spec jacket-12in --out plates --ppi 150
    """
    from prepcheck.report.plates import plates_text
    from prepcheck.run.plates import write_plates

    report, files = write_plates(art, out=out, spec=spec, ppi=ppi)
    listed = "".join(f"  {_shown(file)}\n" for file in files)
    _print(f"{plates_text(report)}\nWritten:\n{listed}")


@cli.command()
@click.argument("name", required=False, metavar="[NAME|PATH]")
@_ends_with_exit_code
def specs(name: str | None) -> None:
    """List the specs, or print one with everything it asks and the source of each limit.

    A spec is printed as TOML. Save it, change it and name the file wherever a spec is wanted;
    or write a short file of your own that `extends` a spec and changes what differs. Whoever
    changes a limit must cite a source for it ('common practice, no source' will do).

    \b
    Examples
      prepcheck specs
      prepcheck specs label-12in
      prepcheck specs our-label.toml
    """
    if name is None:
        from prepcheck.run.explain import specs_text

        _print(specs_text())
        return
    from prepcheck.spec.load import load_spec, resolved_toml

    _print(resolved_toml(load_spec(name)))


@cli.command()
@click.argument("identifier", required=False, metavar="[IDENTIFIER]")
@_ends_with_exit_code
def explain(identifier: str | None) -> None:
    """List the checks, or explain one: what it looks for, why, its source and limits.

    \b
    Examples
      prepcheck explain
      prepcheck explain hole.clearance
    """
    from prepcheck.run.explain import check_text, checks_text

    _print(checks_text() if identifier is None else check_text(identifier))


def exit_code(result: Result) -> ExitCode:
    """Return the exit code of a result."""
    if result.crashed:
        return ExitCode.CRASHED
    codes = {"clear": ExitCode.CLEAR, "query": ExitCode.QUERY, "stop": ExitCode.STOP}
    return codes[result.verdict.value]


@contextmanager
def _progress(quiet: bool) -> Iterator[Callable[[Event], None] | None]:
    """Show a bar on stderr while parts are examined, where that is a terminal."""
    if quiet or not sys.stderr.isatty():
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


def _processors() -> int:
    free = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return min(free or 1, _MOST_JOBS)


def _shown(path: Path) -> str:
    return str(path).encode("utf-8", "replace").decode("utf-8")


def _print(text: str) -> None:
    """Print on stdout; raises OutputError where that is no longer possible.

    A reader that has seen enough, such as `head`, is no fault: the verdict and the files stand.
    """
    try:
        click.echo(text, nl=False)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except OSError as error:
        raise OutputError(f"stdout: {error.strerror}; send the output elsewhere") from None


def _tell(*lines: str) -> None:
    with suppress(OSError):  # nobody is left to read it
        for line in lines:
            click.echo(line, err=True)


def _terminated(number: int, frame: object) -> NoReturn:
    raise SystemExit(128 + number)


def main() -> None:
    """Run the command."""
    # One thread of arithmetic is enough, and workers are forked only where no other runs.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    signal.signal(signal.SIGTERM, _terminated)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        cli(prog_name="prepcheck")
    except KeyboardInterrupt:
        sys.exit(ExitCode.INTERRUPTED)
    except Exception as error:  # a defect of ours; one line is more use to people than a trace
        trace = error.__traceback__
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        place = "" if trace is None else f" at {trace.tb_frame.f_code.co_name}:{trace.tb_lineno}"
        _tell(f"prepcheck: prepcheck itself failed ({type(error).__name__}: {error}{place}); "
              "please report this")  # fmt: skip
        sys.exit(ExitCode.CRASHED)
