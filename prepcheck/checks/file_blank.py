"""Pages on which nothing prints."""

from collections.abc import Iterator

import numpy as np

from prepcheck.findings import Severity
from prepcheck.outline import Outline
from prepcheck.press.view import View
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.words import count

CHECK = "file.blank"
_SOURCE = "common practice, no source"
BARE = 2
"""Ink of 255 up to which a pixel counts as bare paper."""
_STEP = 16
"""Of so many rows and columns one is looked at first."""

DECLARATIONS = (
    Declaration(
        CHECK,
        "No page is blank",
        FoundAt.PLATES,
        (Severity.QUERY,),
        "A page without any ink is rarely meant: a layer was off, the art stands beside the page, "
        "or it is white on white. Every other check finds nothing wrong with it.",
        _SOURCE,
        codes=("blank",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    blank = [sheet for sheet in exam.sheets if not prints(sheet.view, sheet.outline)]
    for sheet in blank:
        yield exam.finding(
            CHECK,
            "blank",
            Severity.QUERY,
            f"Page {sheet.number} is blank: nothing prints inside the trim{_why(sheet)}.",
            "Please send the page with its art, or tell us that it is to stay blank.",
            source=_SOURCE,
            page=sheet.number,
        )
    if not exam.sheets:
        yield NotApplicable(CHECK, "no page to judge")
    elif not blank:
        yield Clear(CHECK, f"{count(len(exam.sheets), 'page')} with something to print")


def prints(view: View, outline: Outline) -> bool:
    """Say whether a pixel inside the trim that is not drilled away carries ink."""
    x, y = view.grid.centres()
    # A few pixels settle most pages; only where none of them lies inside are all looked at.
    for step in (_STEP, 1):
        rows, columns = np.nonzero(view.ink[::step, ::step] > BARE)
        places = np.stack((x[::step][columns], y[::step][rows]), axis=-1)
        inside = outline.signed_distance(places) <= 0
        hole = outline.hole_distance(places)
        if (inside if hole is None else inside & (hole >= 0)).any():
            return True
    return False


def _why(sheet: Sheet) -> str:
    content = sheet.content
    if any((content.images, content.texts, content.paths, content.shadings)):
        return "; what the page paints is white, or lies off the piece"
    if content.hidden is not None:
        return "; all of its art is on layers that do not print, or invisible"
    return ""
