"""What checks ask of a page's content alone, looked at while its plates are still being painted."""

from __future__ import annotations

from prepcheck.sheets.exam import Exam
from prepcheck.sheets.near import glyphs_of, lines_on_guides
from prepcheck.sheets.outlined import type_lines


def look_ahead(exam: Exam) -> None:
    """Look at what every part is asked for, plates or none: of 60,000 curves and of 30,000 strokes
    it takes 0.1 s, for which one would wait (one busy core, 2026)."""
    for sheet in exam.sheets:
        _ = sheet.lines
        glyphs_of(exam, sheet)
        type_lines(exam, sheet)
        lines_on_guides(exam, sheet)
