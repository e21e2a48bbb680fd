"""What checks ask of a page's content alone, looked at while its plates are still being painted."""

from __future__ import annotations

from itertools import chain

from prepcheck.measure.folds import folds_of
from prepcheck.sheets.closer import MOST_CLOSER, foresee_closer
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import (
    fold_room_of_type,
    glyphs_of,
    hole_room_of_type,
    lines_on_guides,
    trim_room_of_type,
)
from prepcheck.sheets.near_type import looked_at
from prepcheck.sheets.outlined import type_lines

_MOST_GLYPHS = 1000
"""Glyphs near a rim for which close looks are made before they are asked for."""


def look_ahead(exam: Exam) -> None:
    """Look at what every part is asked for, plates or none: of 60,000 curves and of 30,000 strokes
    it takes 0.1 s, for which one would wait (one busy core, 2026)."""
    for sheet in exam.sheets:
        _foresee_type(exam, sheet)
        _ = sheet.lines
        type_lines(exam, sheet)
        lines_on_guides(exam, sheet)


def _foresee_type(exam: Exam, sheet: Sheet) -> None:
    """Have the places painted where type near the trim, the hole and folds is looked at closely."""
    glyphs, limits = glyphs_of(exam, sheet), exam.spec.clearance
    if sheet.foreseen is None or not len(glyphs.corners):
        return
    room = trim_room_of_type(exam, sheet)
    foresee_closer(sheet, looked_at(glyphs, room, limits.trim.wanted_mm, _MOST_GLYPHS))
    if limits.hole is not None and sheet.outline.hole is not None:
        room = hole_room_of_type(exam, sheet, sheet.outline.hole)
        foresee_closer(sheet, looked_at(glyphs, room, limits.hole.wanted_mm, _MOST_GLYPHS))
    folds = folds_of(sheet.outline)
    if limits.fold is not None and folds:
        spine, face = fold_room_of_type(exam, sheet, folds)
        near = chain(
            looked_at(glyphs, spine, limits.fold.least_mm, _MOST_GLYPHS),
            looked_at(glyphs, face, limits.fold.wanted_mm, _MOST_GLYPHS),
        )
        foresee_closer(sheet, near, 2 * MOST_CLOSER)
