"""bleed.missing and bleed.short: how far ink runs on past the trim."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, FloatArray, distinct
from prepcheck.measure.clearance import printed_glyphs
from prepcheck.measure.guides import THIN_MM
from prepcheck.measure.outer_end import ends_of_art
from prepcheck.measure.reach import (
    INK_PERCENT,
    INSIDE_MM,
    InkReach,
    ShortStretch,
    ink_reach,
    stretches,
)
from prepcheck.measure.sampling import sample
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import template_lines
from prepcheck.sheets.thresholds import worst_first
from prepcheck.spec.model import TOLERANCE_MM, Spec
from prepcheck.words import count, mm

MISSING, SHORT = "bleed.missing", "bleed.short"
REACH = "bleed_reach_mm"

NONE_MM = 0.3
"""Ink that reaches less far than this stops at the trim: no bleed was drawn."""
BEYOND_MM = 2.0
"""How far past the wanted bleed is looked."""
BEHIND_LINE_MM = 1.0
"""How far inside the trim art begins that is more than a line of a template on it."""
TYPE_ROOM_MM = 0.5
"""Room round type that the trim cuts, or at which ink stops outside: it is judged elsewhere."""
_AT_ONCE = 1_000_000
"""Pairs of a place on the trim and a glyph that are looked at together."""
ONE_CAUSE = 0.25
"""Where ink is below the least bleed over this share of a stretch below the wanted bleed, the
whole stretch is one fault; else two."""

DECLARATIONS = (
    Declaration(
        MISSING,
        "Bleed is drawn",
        FoundAt.CUTTING,
        (Severity.STOP,),
        "Print lies up to 1.5 mm off the cut. Where ink stops at the trim, each piece shows a "
        "sliver of bare paper on one side.",
        "common practice of record plants",
        codes=("missing",),
        limits=("bleed.least_mm", "bleed.wanted_mm"),
        measures=(REACH,),
    ),
    Declaration(
        SHORT,
        "Bleed is wide enough",
        FoundAt.CUTTING,
        (Severity.STOP, Severity.QUERY),
        "Ink must run on past the trim by more than the print may lie off the cut, on every part "
        "of the edge that is inked; one short arc is enough for a white crescent on the label.",
        "common practice of record plants",
        codes=("short",),
        limits=("bleed.least_mm", "bleed.wanted_mm"),
    ),
)


@dataclass(frozen=True)
class _Judged:
    """What the ink of one sheet does at its edge; stretches by what they are called."""

    reach: InkReach
    least_mm: float
    missing: tuple[ShortStretch, ...]
    stop: tuple[ShortStretch, ...]
    query: tuple[ShortStretch, ...]


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    reach = ink_reach(sheet.view, sheet.outline, exam.spec.bleed.wanted_mm + BEYOND_MM)
    reach = replace(reach, inked=reach.inked & ~_lines_alone(exam, sheet, reach))
    judged = _judge(sheet, exam.spec, reach)
    if judged is None:
        why = "ink fades out at the edge" if reach.inked.any() else "the edge is bare paper"
        yield NotApplicable(MISSING, f"{why}, so no bleed is owed")
        yield NotApplicable(SHORT, f"{why}, so no bleed is owed")
    else:
        yield from _say(exam, sheet, judged)
    yield Measured(REACH, None if judged is None else round(judged.least_mm, 2), "least")


def _judge(sheet: Sheet, spec: Spec, reach: InkReach) -> _Judged | None:
    wanted = spec.bleed.wanted_mm
    reach, counts = ends_of_art(sheet.view, reach, wanted)
    counts &= ~_under_type(sheet, reach)
    low = counts & (reach.reach < wanted - TOLERANCE_MM)
    deep = counts & (reach.reach < spec.bleed.least_mm - TOLERANCE_MM)
    stop: list[ShortStretch] = []
    query: list[ShortStretch] = []
    for stretch in stretches(reach, low):
        own = np.zeros_like(low)
        own[stretch.points] = True
        share = float((deep & own).sum() / (low & own).sum())
        if share >= ONE_CAUSE:
            stop.append(stretch)
        else:
            stop += stretches(reach, deep & own)
            query += stretches(reach, low & own & ~deep)
    full = reach.reach[counts & ~low]
    ends = [stretch.least_mm for stretch in (*stop, *query)]
    if len(full):
        ends.append(float(full.min()))
    if not ends:
        return None
    missing = tuple(stretch for stretch in stop if stretch.least_mm < NONE_MM)
    rest = tuple(stretch for stretch in stop if stretch.least_mm >= NONE_MM)
    return _Judged(reach, min(ends), missing, rest, tuple(query))


def _lines_alone(exam: Exam, sheet: Sheet, reach: InkReach) -> NDArray[np.bool_]:
    """Say which places of the trim are inked by a line of a template alone, which is told of by
    itself: where there is no ink behind it, none is owed outside."""
    if not (reach.inked & (reach.reach < exam.spec.bleed.wanted_mm)).any():
        return np.zeros_like(reach.inked)
    points, inwards = reach.boundary.points, -reach.boundary.normals
    seen, behind = (points + depth * inwards for depth in (INSIDE_MM, BEHIND_LINE_MM))
    bare = sample(sheet.view.ink, sheet.view.grid, behind) < INK_PERCENT / 100 * 255
    on_any = np.zeros_like(bare)
    for line in template_lines(exam, sheet):
        on_any |= line.distance(seen) <= THIN_MM
    return np.asarray(bare & on_any)


def _under_type(sheet: Sheet, reach: InkReach) -> NDArray[np.bool_]:
    """Say which places of the trim lie under type that is cut, or have their ink stop at type that
    lies outside, as light type on dark does; that type is judged elsewhere."""
    points = reach.boundary.points
    ends = points + reach.reach[:, None] * reach.boundary.normals
    corners = printed_glyphs(sheet.content.type_table).corners
    distance = sheet.outline.signed_distance(corners)
    furthest, nearest = distance.max(axis=1), distance.min(axis=1)
    cut = (furthest > 0) & (nearest < 0)
    beside = (nearest >= 0) & (nearest < reach.searched_mm)
    return _within(points, corners[cut]) | _within(ends, corners[beside])


def _within(points: FloatArray, corners: FloatArray) -> NDArray[np.bool_]:
    """Say which places (n, 2) lie in or close to the boxes of glyphs (m, 4, 2)."""
    within = np.zeros(len(points), bool)
    low, high = corners.min(axis=1) - TYPE_ROOM_MM, corners.max(axis=1) + TYPE_ROOM_MM
    # Only places between a box's left and right are held against it.
    order = np.argsort(points[:, 0])
    x, y = points[order].T
    first = np.searchsorted(x, low[:, 0])
    count = np.searchsorted(x, high[:, 0], "right") - first
    for some in np.array_split(np.arange(len(low)), int(count.sum()) // _AT_ONCE + 1):
        own = count[some]
        place = np.repeat(first[some] - (np.cumsum(own) - own), own) + np.arange(own.sum())
        above = y[place] >= np.repeat(low[some, 1], own)
        below = y[place] <= np.repeat(high[some, 1], own)
        within[order[place[above & below]]] = True
    return within


def _say(exam: Exam, sheet: Sheet, judged: _Judged) -> Iterator[Said]:
    least = round(judged.least_mm, 2)
    bleed = exam.spec.bleed
    inked = f"{100 * judged.reach.inked_share:.0f} % of the edge is inked"
    if judged.missing:
        yield _finding(exam, MISSING, Severity.STOP, sheet, judged, judged.missing)
    else:
        yield Clear(MISSING, f"ink runs on past the trim; {inked}", least, bleed.least_mm, "mm")
    if judged.stop:
        yield _finding(exam, SHORT, Severity.STOP, sheet, judged, judged.stop)
    if judged.query:
        yield _finding(exam, SHORT, Severity.QUERY, sheet, judged, judged.query)
    if not judged.stop and not judged.query:
        rest = " where it is not missing" if judged.missing else ""
        yield Clear(SHORT, f"ink reaches far enough{rest}; {inked}", least, bleed.wanted_mm, "mm")


def _finding(
    exam: Exam,
    check: str,
    severity: Severity,
    sheet: Sheet,
    judged: _Judged,
    found: Sequence[ShortStretch],
) -> Finding:
    bleed = exam.spec.bleed
    limit = "bleed.least_mm" if severity is Severity.STOP else "bleed.wanted_mm"
    required = bleed.least_mm if severity is Severity.STOP else bleed.wanted_mm
    least = min(stretch.least_mm for stretch in found)
    covered = distinct(np.concatenate([stretch.points for stretch in found]))
    share = len(covered) / len(judged.reach.reach)
    need = "the minimum" if severity is Severity.STOP else "wanted"
    where = " all round" if share > 0.999 else " where it ends before that"
    how = "stops at the trim" if check == MISSING else f"reaches only {mm(least)} past the trim"
    return exam.finding(
        check,
        "missing" if check == MISSING else "short",
        severity,
        f"Ink {how} {_places(found, share)}; {mm(required)} of bleed is {need}.",
        f"Please extend the background to {mm(bleed.wanted_mm)} past the trim{where}.",
        limit=limit,
        page=sheet.number,
        measured=round(least, 2),
        marks=worst_first([_mark(stretch) for stretch in found]),
    )


def _places(found: Sequence[ShortStretch], share: float) -> str:
    arcs = [stretch for stretch in found if stretch.degrees]
    edge = f"on {100 * share:.0f} % of the edge"
    if len(arcs) == len(found):
        if len(arcs) == 1 and arcs[0].degrees > 359:
            return "all round"
        total = sum(stretch.degrees for stretch in arcs)
        of = "" if len(arcs) == 1 else f"{len(arcs)} arcs, together "
        return f"{edge} ({of or 'an arc of '}{total:.0f} degrees)"
    total = sum(stretch.length_mm for stretch in found)
    return f"{edge} ({count(len(found), 'stretch', 'stretches')}, {total:.0f} mm)"


def _mark(stretch: ShortStretch) -> Mark:
    value = round(stretch.least_mm, 2)
    long = f"{stretch.degrees:.0f}°" if stretch.degrees else f"{stretch.length_mm:.0f} mm"
    return Mark(
        Box.around(stretch.path),
        f"reaches {mm(value)} over {long}",
        stretch.path,
        value,
        value,
    )
