"""Several orders at a glance: a table for the terminal, CSV for a spreadsheet, JSON for programs.

JSON has the schema `prepcheck-summary/1` (`summary-schema.json`). The same orders give the same
bytes.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from prepcheck.findings import Result, Severity
from prepcheck.output import TABLE_MARK
from prepcheck.report.console import NARROWEST, WIDTH, columns_of, styled_word, wrapped

SCHEMA = "prepcheck-summary/1"
NOT_CHECKED = "not checked"


@dataclass(frozen=True, slots=True)
class OrderSummary:
    """What came of one order, or of loose files checked together.

    `verdict` is None where it could not be checked, and `why` says why, a line a fault; `why`
    also says what could not be written. `order_file` and the outputs are paths as text.
    """

    order: str | None
    client: str | None = None
    title: str | None = None
    catalogue: str | None = None
    verdict: str | None = None
    crashed: bool = False
    parts: int = 0
    not_received: int = 0
    stops: int = 0
    queries: int = 0
    notes: int = 0
    order_file: str | None = None
    proof: str | None = None
    report: str | None = None
    letter: str | None = None
    mail: str | None = None
    why: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        return self.order or self.order_file or "loose files"


def line_of(
    result: Result, order_file: str | None, outputs: dict[str, str | None], why: tuple[str, ...]
) -> OrderSummary:
    """Return the line of an order that was checked; `outputs` are those that were written."""
    facts = result.order
    counts = [finding.severity for finding in result.every]
    return OrderSummary(
        order=None if facts is None else facts.number,
        client=None if facts is None else facts.client,
        title=None if facts is None else facts.title,
        catalogue=None if facts is None else facts.catalogue,
        verdict=result.verdict.value,
        crashed=result.crashed,
        parts=len(result.parts),
        not_received=len(result.awaited),
        stops=counts.count(Severity.STOP),
        queries=counts.count(Severity.QUERY),
        notes=counts.count(Severity.NOTE),
        order_file=order_file,
        why=why,
        **outputs,
    )


def summary_text(lines: Sequence[OrderSummary], *, styled: bool = False, width: int = WIDTH) -> str:
    """Return all orders as a table of at most `width` columns, one line each where it is wide
    enough, in the order given."""
    width = max(width, NARROWEST)
    wide = width >= 60
    head = f"{'verdict':<11} {'stops':>5} {'queries':>7}  " if wide else f"{'verdict':<11}  "
    shown = [f"{head}order", "=" * width]
    for line in lines:
        word = line.verdict or NOT_CHECKED
        counts = f" {line.stops:>5} {line.queries:>7}" if line.verdict else " " * 14
        also = " (a check failed)" if line.crashed else ""
        what = ", ".join(text for text in (line.name, line.client, line.title) if text)
        first, *rest = wrapped(what + also, width - len(head))
        if rest:
            first = f"{first[: width - len(head) - 1].rstrip()}…"
        painted = styled_word(word.upper(), line.verdict or "crashed", styled)
        shown.append(f"{painted}{' ' * (11 - columns_of(word))}{counts if wide else ''}  {first}")
    return "\n".join(text.rstrip() for text in shown) + "\n"


def summary_csv(lines: Sequence[OrderSummary]) -> str:
    """Return all orders as CSV (RFC 4180) with a line of names; ready for a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out)
    rest = ("catalogue", "crashed", "parts", "not_received", "stops", "queries", "notes",
            "order_file", "proof", "report", "letter", "mail", "why")  # fmt: skip
    writer.writerow((*TABLE_MARK.split(","), *rest))
    for line in lines:
        table = {**asdict(line), "verdict": line.verdict or NOT_CHECKED, "why": " ".join(line.why)}
        table["crashed"] = "yes" if line.crashed else "no"
        cells = (table[name] for name in (*TABLE_MARK.split(","), *rest))
        writer.writerow(tuple(_cells(cells)))
    return out.getvalue()


def _cells(values: Iterator[Any]) -> Iterator[Any]:
    for value in values:
        text = "" if value is None else value
        # A spreadsheet takes text that begins like this for a formula and would work it out.
        formula = isinstance(text, str) and text[:1] in ("=", "+", "-", "@", "\t", "\r")
        yield f"'{text}" if formula else text


def summary_json(lines: Sequence[OrderSummary], version: str, exit_code: int) -> str:
    """Return all orders as JSON text, ending in a line feed."""
    summary = {
        "schema": SCHEMA,
        "version": version,
        "exit_code": exit_code,
        "orders": [asdict(line) for line in lines],
    }
    return json.dumps(summary, ensure_ascii=False, indent=2) + "\n"


def summary_schema_text() -> str:
    """Return the JSON Schema (draft 2020-12) of the summary, ending in a line feed."""
    return Path(__file__).with_name("summary-schema.json").read_text("utf-8")
