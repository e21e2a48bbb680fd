"""Lines too thin to print."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import compress
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import PathItem
from prepcheck.art.subpaths import joined
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import FloatArray
from prepcheck.measure.guides import THIN_MM, drawn_on_guides
from prepcheck.measure.lines import Stroke
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.barcodes import barcodes_of
from prepcheck.sheets.covered import seen_lines
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.limits import short_of, under_fine
from prepcheck.sheets.near import found_guides
from prepcheck.sheets.surroundings import (
    LEAST_LIGHT,
    are_on_art,
    grounds_at,
    kept,
    reversed_out,
    unseen,
)
from prepcheck.sheets.thin import BARE, thin_things
from prepcheck.spec.model import TOLERANCE_FINE, Line
from prepcheck.words import count, down_to

CHECK = "line.thin"
_AROUND_MM = 0.25
_ROUND_MM = 0.2
"""How far a bar may reach out of what was read of a barcode."""

DECLARATIONS = (
    Declaration(
        CHECK,
        "Lines are thick enough",
        FoundAt.PRINTING,
        (Severity.STOP, Severity.QUERY),
        "A line thinner than the press holds breaks up or vanishes; a light one on a dark ground "
        "fills in, and so does a gap between dark bars. A hairline is as thin as each machine "
        "makes it: visible on an office printer, gone on a plate.",
        "plants ask for 0.15 mm, 0.25 mm light on dark; no device hairlines",
        codes=("thin",),
        limits=(
            "line.least_mm",
            "line.least_reversed_mm",
            "line.wanted_mm",
            "line.wanted_reversed_mm",
        ),
    ),
)


_LINE, _LIGHT, _PERHAPS = "line", "light line on dark", "line that may be light on dark"
_GAP = "gap between dark bars"
_SEVERAL = {
    _LINE: "lines", _LIGHT: "light lines on dark", _PERHAPS: "lines that may be light on dark",
    _GAP: "gaps between dark bars",
}  # fmt: skip


class _Limit(NamedTuple):
    severity: Severity
    key: str
    required: float
    kind: str


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[list[float]]:
    line = exam.spec.line
    several: set[_Limit] = set()
    most = max(
        line.least_mm,
        line.least_reversed_mm,
        line.wanted_mm or 0.0,
        line.wanted_reversed_mm or 0.0,
    )
    thin: dict[_Limit, list[Mark]] = defaultdict(list)
    every = [
        (item, stroke)
        for item, stroke in thin_things(exam, sheet, most)
        if item.layer not in exam.step_layers
    ]
    lies = are_on_art(exam, sheet, [item.box for item, _ in every]).tolist()
    things = [*compress(every, lies)]
    widths = [stroke.width for _, stroke in things]
    near = [one for one in things if short_of(one[1].width, most, TOLERANCE_FINE * most)]
    found = [
        (item, stroke, broken)
        for (item, stroke), around in zip(near, _grounds(sheet, near), strict=True)
        if (broken := _broken(line, stroke, around)) is not None
    ]
    # Of a barcode it is told how narrow its bars are.
    bars = [s.quad.box for s in barcodes_of(exam, sheet).symbols] if found else []
    found = [one for one in found if not any(box.holds(one[0].box, _ROUND_MM) for box in bars)]
    held = _of_template(exam, sheet, [item for item, _, _ in found])
    found = [one for one, guide in zip(found, held, strict=True) if not guide]
    seen = seen_lines(sheet, [item for item, _, _ in found])
    for (item, stroke, broken), shows in zip(found, seen, strict=True):
        if shows:
            label = f"{stroke.width:.2f} mm" if stroke.width else "hairline"
            if stroke.paint.ink_count > 1:
                several.add(broken)
            thin[broken].append(
                Mark(item.box, label, value=round(stroke.width, 3), rank=stroke.width)
            )
    for limit, marks in thin.items():
        yield _finding(exam, sheet, limit, marks, limit in several)
    return widths


def _of_template(exam: Exam, sheet: Sheet, items: Sequence[PathItem]) -> list[bool]:
    """Say which lines are this template's: those are to go, not to be made thicker. What may be
    another's may be art as well."""
    guides = [one.guide for one in found_guides(exam, sheet)] if items else []
    if not guides:
        return [False] * len(items)
    boxes = np.array([item.box for item in items])
    near = np.any([guide.touches(boxes, THIN_MM) for guide in guides], axis=0)
    return [
        bool(perhaps) and drawn_on_guides(item.segments, guides)
        for item, perhaps in zip(items, near, strict=True)
    ]


def conclude(exam: Exam, seen: Sequence[list[float]]) -> Iterator[Said]:
    widths = [width for own in seen for width in own]
    if widths:
        why = f"thinnest line {min(widths):.2f} mm"
        yield Clear(CHECK, why, round(min(widths), 3), exam.spec.line.least_mm, "mm")
    else:
        yield NotApplicable(CHECK, "no lines")


def _finding(exam: Exam, sheet: Sheet, limit: _Limit, marks: list[Mark], several: bool) -> Finding:
    least = min(mark.rank for mark in marks)
    down = down_to(len(marks), f"{least:.2f} mm" if least else "a hairline (width 0)")
    need = "the minimum" if limit.key.startswith("least") else "wanted"
    return exam.finding(
        CHECK,
        "thin",
        limit.severity,
        f"{count(len(marks), limit.kind, _SEVERAL[limit.kind])}{down}; "
        f"{limit.required:g} mm is {need}.",
        _fix(exam.spec.line, limit, several),
        limit=f"line.{limit.key}",
        page=sheet.number,
        measured=round(least, 3),
        subject=limit.kind,
        marks=kept(marks),
    )


def _fix(line: Line, limit: _Limit, several: bool) -> str:
    """Return what to do; a line in several inks made thicker must be thick enough for those."""
    fitting = line.wanted_several_mm or line.least_several_mm
    if several and fitting is not None and fitting > limit.required:
        return (
            f"Please set these lines in one ink and {limit.required:g} mm or thicker, or make "
            f"them {fitting:g} mm or thicker."
        )
    if limit.kind == _GAP:
        return f"Please make these gaps {limit.required:g} mm or wider."
    return f"Please make these lines {limit.required:g} mm or thicker."


def _grounds(sheet: Sheet, lines: Sequence[tuple[PathItem, Stroke]]) -> list[float | None]:
    """Return how light it is on both sides of each line, where that may matter."""
    light = [at for at, (_, one) in enumerate(lines) if one.paint.lightness >= LEAST_LIGHT]
    found: list[float | None] = [None] * len(lines)
    if light:
        places, owner = _beside([lines[at] for at in light])
        for at, around in zip(light, grounds_at(sheet, places, owner, len(light)), strict=True):
            found[at] = around
    return found


def _broken(line: Line, stroke: Stroke, around: float | None) -> _Limit | None:
    """Return the gravest limit a line breaks, with so light a ground."""
    if unseen(stroke.paint, around):
        return None
    most = max(line.least_mm, line.least_reversed_mm, line.wanted_reversed_mm or 0.0)
    told = reversed_out(stroke.paint, around) if under_fine(stroke.width, most) else False
    kind = _GAP if stroke.paint is BARE else _LIGHT if told else _LINE
    if told and under_fine(stroke.width, line.least_reversed_mm):
        return _Limit(Severity.STOP, "least_reversed_mm", line.least_reversed_mm, kind)
    if under_fine(stroke.width, line.least_mm):
        return _Limit(Severity.STOP, "least_mm", line.least_mm, kind)
    if told is None and under_fine(stroke.width, line.least_reversed_mm):
        return _Limit(Severity.QUERY, "least_reversed_mm", line.least_reversed_mm, _PERHAPS)
    wanted = line.wanted_reversed_mm
    if told and wanted is not None and under_fine(stroke.width, wanted):
        return _Limit(Severity.QUERY, "wanted_reversed_mm", wanted, kind)
    if line.wanted_mm is not None and under_fine(stroke.width, line.wanted_mm):
        return _Limit(Severity.QUERY, "wanted_mm", line.wanted_mm, kind)
    return None


def _beside(lines: Sequence[tuple[PathItem, Stroke]]) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return places (n, 2) on both sides of lines, and the line that each is of (n,), rising."""
    points, lengths = joined(item.segments for item, _ in lines)
    runs = np.repeat(np.arange(len(lines)), [len(item.segments) for item, _ in lines])
    run_of = np.repeat(np.arange(len(lengths)), lengths)
    along = np.diff(points, axis=0)
    length = np.hypot(along[:, 0], along[:, 1])
    live = (run_of[1:] == run_of[:-1]) & (length > 0)
    along, length = along[live], length[live, None]
    middle = (points[:-1] + points[1:])[live] / 2
    owner = runs[run_of[1:][live]]
    reach = np.array([stroke.width + _AROUND_MM for _, stroke in lines])[owner, None]
    off = np.column_stack((-along[:, 1], along[:, 0])) / length * reach
    return np.stack((middle + off, middle - off), axis=1).reshape(-1, 2), np.repeat(owner, 2)
