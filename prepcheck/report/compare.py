"""A comparison for other programs (JSON, schema `prepcheck-compare/1`) and for a terminal.

Places are as in the report: lower left corner and size in mm in the piece's frame, x right and y
up. A shift says by how many mm the newer print lies off the earlier one, a turn by how many degrees
anticlockwise, a scale how large it is in percent.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from prepcheck.comparison import (
    Comparison,
    Fate,
    PageChanges,
    PartChanges,
    letter_of,
    page_words,
    totals,
)
from prepcheck.findings import Finding, PartResult, Result, Severity
from prepcheck.report.console import NARROWEST, WIDTH, wrapped
from prepcheck.report.json import finding_table, rounded
from prepcheck.words import capital, listed, size

SCHEMA = "prepcheck-compare/1"
_SHOWN = 8
"""Places of a page named on the console."""


def comparison_text(comparison: Comparison) -> str:
    """Return the comparison as JSON text, ending in a line feed; the same one, the same bytes."""
    report = {
        "schema": SCHEMA,
        "version": comparison.new.version,
        "verdict": comparison.verdict.value,
        "old": _side(comparison.old),
        "new": _side(comparison.new),
        "parts": [_part(part) for part in comparison.parts],
        "findings": _fate(comparison.order),
    }
    return json.dumps(rounded(report), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def _side(result: Result) -> dict[str, Any]:
    return {
        "verdict": result.verdict.value,
        "order": None if result.order is None else asdict(result.order),
    }


def _part(part: PartChanges) -> dict[str, Any]:
    return {
        "name": part.name,
        "old": _file(part.before),
        "new": _file(part.after),
        "same_file": part.same_file,
        "pages": [_page(page) for page in part.pages],
        "findings": _fate(part.fate),
    }


def _file(part: PartResult | None) -> dict[str, Any] | None:
    if part is None:
        return None
    return {
        "file": part.file,
        "sha256": part.sha256,
        "spec": part.spec,
        "verdict": part.verdict.value,
    }


def _page(page: PageChanges) -> dict[str, Any]:
    shift, turned = page.shift, page.turned
    return {
        "page": page.number,
        "not_compared": page.unlike,
        "shift_mm": None if shift is None else [shift.x_mm, shift.y_mm],
        "shift_aligned": None if shift is None else shift.aligned,
        "turned_degrees": None if turned is None else turned.degrees,
        "scaled_percent": None if turned is None else 100 * turned.scale,
        "turned_and_scaled_aligned": None if turned is None else turned.aligned,
        "places": page.places,
        "area_mm2": page.area_mm2,
        "inks": page.inks,
        "changes": [
            {
                "where": {
                    "x": c.box.x0, "y": c.box.y0, "w": c.box.width, "h": c.box.height,
                },
                "area_mm2": c.area_mm2,
                "inks": c.inks,
                "asked": c.asked,
            }
            for c in page.changes
        ],
        "words": [{"before": word.before, "after": word.after} for word in page.words],
        "another_record": page.another,
    }  # fmt: skip


def _fate(fate: Fate) -> dict[str, Any]:
    return {
        "cured": [finding_table(finding) for finding in fate.cured],
        "still": [
            {**finding_table(now), "before": {
                "severity": before.severity.value, "measured": before.measured,
                "message": before.message,
            }}
            for before, now in fate.still
        ],
        "new": [finding_table(finding) for finding in fate.new],
        "open": [finding_table(finding) for finding in fate.open],
    }  # fmt: skip


def comparison_console(comparison: Comparison, width: int = WIDTH) -> str:
    """Return the comparison as lines of at most `width` columns, what is true of it all first."""
    width = max(width, NARROWEST)
    was, now = comparison.old.verdict, comparison.verdict
    lines = [f"Verdict: {now.value.upper()}  (before: {was.value})"]
    lines += wrapped(totals(comparison), width)
    if comparison.old.crashed or comparison.new.crashed:
        lines += wrapped("A check failed through no fault of the art: this is incomplete.", width)
    if awaited := comparison.new.awaited:
        names = listed([part.name for part in awaited])
        lines += wrapped(f"Not received yet: {names}.", width)
    fate = comparison.order
    if fate.cured or fate.still or fate.new or fate.open:
        lines += ["", capital(comparison.new.whole), "=" * width, *_fate_lines(fate, width)]
    for part in comparison.parts:
        lines += ["", *_part_lines(part, width)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _part_lines(part: PartChanges, width: int) -> Iterator[str]:
    yield from wrapped(part.name, width)
    yield "=" * width
    before, after = part.before, part.after
    if before is None or after is None:
        one = after or before
        words = "Not sent again"
        if before is None:
            words = "Had not come before" if part.awaited else "Not among what was compared with"
        yield from wrapped(f"{words}: {'' if one is None else one.file}.", width)
    elif part.same_file:
        yield from wrapped(f"{after.file}: the same file as before, byte for byte.", width)
    else:
        yield from wrapped(f"{before.file} → {after.file}", width)
    for page in part.pages:
        yield from _page_lines(page, len(part.pages) > 1, width)
    yield from _fate_lines(part.fate, width)


def _page_lines(page: PageChanges, name_it: bool, width: int) -> Iterator[str]:
    lead = f"Page {page.number}: " if name_it else ""
    yield from wrapped(lead + page_words(page), width)
    for index, change in enumerate(page.changes[:_SHOWN]):
        box, inks = change.box, ", ".join(change.inks)
        where = f"{size(box.width, box.height)} mm at x {box.x0:.1f}, y {box.y0:.1f}"
        asked = "; nobody asked for it" if change.unasked else ""
        words = f"{letter_of(index)}. {where}; {change.area_mm2:.1f} mm²; {inks}{asked}"
        yield from (f"  {line}" for line in wrapped(words, width - 2))
    more = page.places - len(page.changes[:_SHOWN])
    if more > 0 and page.changes:
        yield f"       and {more} more"


def _fate_lines(fate: Fate, width: int) -> Iterator[str]:
    for finding in fate.cured:
        yield from _line("Cured", finding, width)
    for before, now in fate.still:
        eased = "" if before.severity is now.severity else f" (was a {before.severity.value})"
        yield from _line("Still", now, width, eased)
    for finding in fate.new:
        yield from _line("New", finding, width)
    for finding in fate.open:
        yield from _line("Open", finding, width)


def _line(word: str, finding: Finding, width: int, aside: str = "") -> Iterator[str]:
    level = finding.severity.value.upper() if finding.severity is not Severity.NOTE else "note"
    number = f"{finding.number}. " if finding.number else ""
    page = f"Page {finding.page}: " if finding.page is not None else ""
    first, *rest = wrapped(f"{number}{page}{finding.message}{aside}", width - 14)
    yield f"{word:<7}{level:<7}{first}"
    yield from (" " * 14 + line for line in rest)
