"""`prepcheck check` on several orders: each by itself, and all of them at a glance."""

from __future__ import annotations

import gc
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from prepcheck.cli.terminal import Outputs, colour, exit_code, put, tell, terminal_width
from prepcheck.errors import ExitCode, PrepcheckError, UsageError
from prepcheck.frozen import dataclass

if TYPE_CHECKING:
    from prepcheck.findings import OrderFacts, Result
    from prepcheck.report.summary import OrderSummary
    from prepcheck.run.gather import Batch, Gathered

GRAVITY = (
    ExitCode.CLEAR, ExitCode.QUERY, ExitCode.STOP, ExitCode.CRASHED, ExitCode.USAGE,
    ExitCode.OUTPUT,
)  # fmt: skip
"""Of several orders the last of these decides."""


class CheckOne(Protocol):
    """Checks an order, told which are coming next; returns its result and what was not written."""

    def __call__(
        self, batch: Batch, outputs: Outputs, coming: Sequence[Batch] = ()
    ) -> tuple[Result, tuple[str, ...]]: ...


@dataclass(frozen=True)
class Places:
    """Where outputs are to go, as it was asked for."""

    out: Path
    proof: Path | None
    report: str | None
    letter: str | None
    mail: Path | None = None

    def of(self, stem: str, *, several: bool = False) -> Outputs:
        """Return the outputs of an order; a folder that was named holds them under its stem, and
        of several orders every name is a folder's."""
        proof = self.proof or self.out
        if self.proof is None or several or proof.is_dir():
            proof = proof / f"{stem}-proof.pdf"
        letter = None if self.letter in (None, "-") else Path(self.letter)
        if letter is not None and (several or letter.is_dir()):
            letter = letter / f"{stem}-letter.txt"
        mail = self.mail
        if mail is not None and (several or mail.is_dir()):
            mail = mail / f"{stem}-letter.eml"
        if self.report == "-":
            return Outputs(proof, None, letter, mail)
        report = Path(self.report) if self.report else self.out
        if self.report is None or several or report.is_dir():
            report = report / f"{stem}-report.json"
        return Outputs(proof, report, letter, mail)

    def refuse_files(self, orders: int) -> None:
        """Raise UsageError where a name for the outputs of several orders is one file's."""
        for option, value in (("--json", self.report), ("--letter", self.letter)):
            if value == "-":
                raise UsageError(
                    f"{option} - prints one, but there are {orders} orders here; name a folder"
                )
        named = {
            "--proof": (self.proof, ".pdf"),
            "--json": (None if self.report is None else Path(self.report), ".json"),
            "--letter": (None if self.letter is None else Path(self.letter), ".txt"),
            "--mail": (self.mail, ".eml"),
        }
        lines = [
            f"{option} {path}: this is one file, but there are {orders} orders here; name a folder"
            for option, (path, ending) in named.items()
            if path is not None
            and not path.is_dir()
            and (path.exists() or path.suffix.lower() == ending)
        ]
        if lines:
            raise UsageError(*lines)


def check_several(
    gathered: Gathered, places: Places, check_one: CheckOne, *, quiet: bool
) -> ExitCode:
    """Check each order, whatever becomes of the others, and tell of all at the end.

    Raises UsageError before anything is examined where the outputs cannot go where they should.
    """
    from prepcheck.output import refuse_inputs
    from prepcheck.report.summary import line_of, summary_text

    batches = gathered.batches
    places.refuse_files(len(batches) + len(gathered.faulty))
    tables = places.out / "summary.csv", places.out / "summary.json"
    refuse_inputs(tables, [path for batch in batches for path in batch.inputs])
    lines: list[OrderSummary] = []
    worst = ExitCode.CLEAR
    for index, batch in enumerate(batches):
        outputs = places.of(batch.stem, several=True)
        file = None if batch.order_path is None else str(batch.order_path)
        try:
            # Of a finished order no more is kept than its line, however many there are.
            result, faults = check_one(batch, outputs, batches[index + 1 :])
            code = ExitCode.OUTPUT if faults else exit_code(result)
            written = {
                name: str(path) if path is not None and path.is_file() else None
                for name, path in outputs._asdict().items()
            }
            lines.append(line_of(result, file, written, faults))
        except PrepcheckError as error:
            code = error.exit_code
            lines.append(_unchecked(batch.facts, file, error))
        worst = max(worst, code, key=GRAVITY.index)
        _tidy(first=index == 0)
    for one in gathered.faulty:
        lines.append(_unchecked(None, str(one.path), one.error))
        worst = max(worst, one.error.exit_code, key=GRAVITY.index)
    unwritten = _write_tables(tables, lines, worst)
    if unwritten:
        worst = ExitCode.OUTPUT
    if not quiet:
        paths = "".join(f"Summary: {path}\n" for path in tables if not unwritten)
        put(f"\n{summary_text(lines, styled=colour(), width=terminal_width())}{paths}")
    tell(*(f"prepcheck: {why}" for line in lines for why in line.why))
    tell(*(f"prepcheck: {why}" for why in unwritten))
    return worst


def _tidy(*, first: bool) -> None:
    """Let go of what only refers to itself once an order is finished, proofs above all: else
    memory grows by 40 MB over the first 700 of a thousand orders.

    What is there after the first order stays, and is not looked through again.
    """
    gc.collect()
    if first:
        gc.freeze()


def _unchecked(facts: OrderFacts | None, file: str | None, error: PrepcheckError) -> OrderSummary:
    from prepcheck.report.summary import OrderSummary

    if facts is None:
        return OrderSummary(None, order_file=file, why=error.lines)
    return OrderSummary(
        facts.number, facts.client, facts.title, facts.catalogue, order_file=file, why=error.lines
    )


def _write_tables(
    paths: tuple[Path, Path], lines: list[OrderSummary], worst: ExitCode
) -> tuple[str, ...]:
    """Write the summary; return what could not be written."""
    from prepcheck import __version__
    from prepcheck.output import why_not, write_whole
    from prepcheck.report.summary import summary_csv, summary_json

    table, data = paths
    return (
        *why_not(lambda: write_whole(table, summary_csv(lines).encode("utf-8", "replace"))),
        *why_not(
            lambda: write_whole(
                data, summary_json(lines, __version__, worst).encode("utf-8", "replace")
            )
        ),
    )
