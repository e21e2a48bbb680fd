"""Lines too thin to print."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box, FloatArray, distinct, lengths_of
from prepcheck.measure.guides import THIN_MM, are_on_any, drawn_on_guides
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.barcodes import barcodes_of
from prepcheck.sheets.covered import seen_lines
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import found_guides
from prepcheck.sheets.outlined import in_outlined
from prepcheck.sheets.surroundings import (
    LEAST_LIGHT,
    are_on_art,
    are_reversed_out,
    are_unseen,
    kept_rows,
    lights_at,
)
from prepcheck.sheets.thin import BARE, ThinThings, thin_things
from prepcheck.sheets.thresholds import under_fine
from prepcheck.spec.model import Line
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


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[float | None]:
    line = exam.spec.line
    most = max(
        line.least_mm,
        line.least_reversed_mm,
        line.wanted_mm or 0.0,
        line.wanted_reversed_mm or 0.0,
    )
    things = thin_things(exam, sheet, most)
    print_here = are_on_art(exam, sheet, things.boxes) & ~things.on(exam.step_layers)
    near = np.flatnonzero(print_here & under_fine(things.widths, most))
    limits, broken = _broken(line, things, near, _grounds(sheet, things, near))
    found, broken = near[broken >= 0], broken[broken >= 0]
    # Of a barcode it is told how narrow its bars are.
    bars = [s.quad.box for s in barcodes_of(exam, sheet).symbols] if len(found) else []
    shows = ~_held(things.boxes[found], bars) & ~_of_template(exam, sheet, things, found)
    shows &= ~in_outlined(exam, sheet, things.paths(found), things.boxes[found])
    found, broken = found[shows], broken[shows]
    shows = seen_lines(sheet, things, found)
    found, broken = found[shows], broken[shows]
    for number in dict.fromkeys(broken.tolist()):
        yield _finding(exam, sheet, limits[number], things, found[broken == number])
    widths = things.widths[print_here]
    return float(widths.min()) if len(widths) else None


def _held(boxes: FloatArray, bars: Sequence[Box]) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) lie in any of some others, or hardly reach out of them."""
    held = np.zeros(len(boxes), np.bool_)
    for bar in bars:
        low, high = np.array(bar[:2]) - _ROUND_MM, np.array(bar[2:]) + _ROUND_MM
        held |= ((boxes[:, :2] >= low) & (boxes[:, 2:] <= high)).all(axis=1)
    return held


def _of_template(
    exam: Exam, sheet: Sheet, things: ThinThings, rows: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Say which lines are this template's: those are to go, not to be made thicker. What may be
    another's may be art as well."""
    held = np.zeros(len(rows), np.bool_)
    guides = [one.guide for one in found_guides(exam, sheet)] if len(rows) else []
    if not guides:
        return held
    near = np.any([guide.touches(things.boxes[rows], THIN_MM) for guide in guides], axis=0)
    perhaps = np.flatnonzero(near)
    # Of a million lines few have all corners there, and only these are walked.
    points, lengths, owner = things.corners(rows[perhaps])
    off = np.repeat(owner, lengths)[~are_on_any(points, guides)]
    perhaps = perhaps[np.bincount(off, minlength=len(perhaps)) == 0]
    for at, item in zip(perhaps.tolist(), things.items(rows[perhaps]), strict=True):
        held[at] = drawn_on_guides(item.segments, guides)
    return held


def conclude(exam: Exam, seen: Sequence[float | None]) -> Iterator[Said]:
    widths = [least for least in seen if least is not None]
    if widths:
        why = f"thinnest line {min(widths):.2f} mm"
        yield Clear(CHECK, why, round(min(widths), 3), exam.spec.line.least_mm, "mm")
    else:
        yield NotApplicable(CHECK, "no lines")


def _finding(
    exam: Exam, sheet: Sheet, limit: _Limit, things: ThinThings, rows: NDArray[np.intp]
) -> Finding:
    widths, boxes = things.widths[rows], things.boxes[rows]
    shown = kept_rows(widths, boxes)
    marks = tuple(
        Mark(
            Box(*box), f"{width:.2f} mm" if width else "hairline",
            value=round(width, 3), rank=width,
        )
        for box, width in zip(boxes[shown].tolist(), widths[shown].tolist(), strict=True)
    )  # fmt: skip
    paints = [things.paints[at] for at in distinct(things.paint[rows]).tolist()]
    several = any(paint.ink_count > 1 for paint in paints)
    least = float(widths.min())
    down = down_to(len(rows), f"{least:.2f} mm" if least else "a hairline (width 0)")
    need = "the minimum" if limit.key.startswith("least") else "wanted"
    return exam.finding(
        CHECK,
        "thin",
        limit.severity,
        f"{count(len(rows), limit.kind, _SEVERAL[limit.kind])}{down}; "
        f"{limit.required:g} mm is {need}.",
        _fix(exam.spec.line, limit, several),
        limit=f"line.{limit.key}",
        page=sheet.number,
        measured=round(least, 3),
        subject=limit.kind,
        marks=marks,
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


def _grounds(sheet: Sheet, things: ThinThings, rows: NDArray[np.intp]) -> FloatArray:
    """Return how light it is on both sides of each of some lines, where that may matter; else, and
    where it is not known, not a number."""
    light = np.flatnonzero(_lightness(things, rows) >= LEAST_LIGHT)
    found = np.full(len(rows), np.nan)
    if len(light):
        places, owner = _beside(things, rows[light])
        found[light] = lights_at(sheet, places, owner, len(light))
    return found


def _lightness(things: ThinThings, rows: NDArray[np.intp]) -> FloatArray:
    return np.array([paint.lightness for paint in things.paints], np.float64)[things.paint[rows]]


def _broken(
    line: Line, things: ThinThings, rows: NDArray[np.intp], around: FloatArray
) -> tuple[list[_Limit], NDArray[np.intp]]:
    """Return limits, and the gravest that each of some lines breaks, with so light a ground; -1
    for none."""
    widths, lightness = things.widths[rows], _lightness(things, rows)
    bare = np.array([paint is BARE for paint in things.paints], np.bool_)[things.paint[rows]]
    most = max(line.least_mm, line.least_reversed_mm, line.wanted_reversed_mm or 0.0)
    sure, perhaps = are_reversed_out(lightness, around)
    sure &= under_fine(widths, most)
    perhaps &= under_fine(widths, most)
    every = np.ones(len(rows), np.bool_)
    kinds = (_GAP, bare), (_LIGHT, sure & ~bare), (_LINE, ~sure & ~bare)
    cannot_tell = ((_PERHAPS, every),)
    limits: list[_Limit] = []
    found = np.full(len(rows), -1, np.intp)
    left = ~are_unseen(lightness, around)
    for severity, key, required, some, called in (
        (Severity.STOP, "least_reversed_mm", line.least_reversed_mm, sure, kinds),
        (Severity.STOP, "least_mm", line.least_mm, every, kinds),
        (Severity.QUERY, "least_reversed_mm", line.least_reversed_mm, perhaps, cannot_tell),
        (Severity.QUERY, "wanted_reversed_mm", line.wanted_reversed_mm, sure, kinds),
        (Severity.QUERY, "wanted_mm", line.wanted_mm, every, kinds),
    ):
        if required is None:
            continue
        own = left & some & under_fine(widths, required)
        left &= ~own
        for kind, alike in called:
            found[own & alike] = len(limits)
            limits.append(_Limit(severity, key, required, kind))
    return limits, found


def _beside(things: ThinThings, rows: NDArray[np.intp]) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return places (n, 2) on both sides of lines, and the line that each is of (n,), rising."""
    points, lengths, owner = things.corners(rows)
    run_of = np.repeat(np.arange(len(lengths)), lengths)
    along = np.diff(points, axis=0)
    length = lengths_of(along)
    live = (run_of[1:] == run_of[:-1]) & (length > 0)
    along, length = along[live], length[live, None]
    middle = (points[:-1] + points[1:])[live] / 2
    owner = owner[run_of[1:][live]]
    reach = (things.widths[rows] + _AROUND_MM)[owner, None]
    off = np.column_stack((-along[:, 1], along[:, 0])) / length * reach
    return np.stack((middle + off, middle - off), axis=1).reshape(-1, 2), np.repeat(owner, 2)
