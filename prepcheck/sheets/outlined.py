"""Outlined type as checks of type see it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from prepcheck.art.model import Content, TextRun
from prepcheck.geometry import Box, Quad
from prepcheck.measure.outlined_type import (
    CAP_EM,
    Shapes,
    TypeLine,
    letters_of,
    outlined_lines,
    short_rows,
)
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import printing
from prepcheck.sheets.surroundings import are_on_art
from prepcheck.units import MM_PER_PT

ABOUT = 1.06
"""How much larger type may be than it is told from the height of its letters, in most faces."""


class Sized(NamedTuple):
    """Type with its size in points and the most it may be; the two are one where it is stated.

    `outlined` says that it is no live type, `about` that the size is told from its letters.
    """

    run: TextRun
    most_pt: float
    outlined: bool
    about: bool


def type_lines(exam: Exam, sheet: Sheet) -> tuple[TypeLine, ...]:
    """Return the lines of outlined type of a sheet that print on it."""
    return exam.once("outlined type", sheet, lambda: _type_lines(exam, sheet))


def _type_lines(exam: Exam, sheet: Sheet) -> tuple[TypeLine, ...]:
    steps = exam.step_layers
    paths = sheet.content.paths
    return tuple(
        line
        for line in outlined_lines(sheet.content, _letters(exam, sheet, sheet.content))
        if not steps or paths[line.paths[0]].layer not in steps
    )


def _letters(exam: Exam, sheet: Sheet, content: Content) -> Shapes:
    if content is not sheet.content:
        return letters_of(content)
    return exam.once("shapes of letters", sheet, lambda: letters_of(content))


def too_few_letters(exam: Exam, sheet: Sheet) -> tuple[Box, ...]:
    """Return rows of two or three shapes on the art that may be letters, and smaller than type
    has to be."""
    tall = exam.spec.text.least_pt * MM_PER_PT * CAP_EM
    content = printing(exam, sheet)
    letters = _letters(exam, sheet, content)
    rows = [
        box
        for box in short_rows(content, type_lines(exam, sheet), letters)
        if min(box.width, box.height) < tall
    ]
    return tuple(box for box, lies in zip(rows, are_on_art(exam, sheet, rows), strict=True) if lies)


def sized_type(exam: Exam, sheet: Sheet) -> Iterator[Sized]:
    """Yield all type that is painted, live and outlined, with its size."""
    for run in sheet.content.texts:
        if run.paints and run.box is not None:
            most = run.size_pt * ABOUT if run.about else run.size_pt
            yield Sized(run, most, False, run.about)
    for line in type_lines(exam, sheet):
        path = sheet.content.paths[line.paths[0]]
        run = TextRun(
            text="",
            font="",
            size_pt=line.size_pt,
            glyphs=(_quad(line.box),),
            fill=path.fill,
            stroke=None,
            stroke_mm=0.0,
            mode=0,
            layer=path.layer,
            about=True,
        )
        yield Sized(run, max(line.most_pt, line.size_pt * ABOUT), True, True)


def _quad(box: Box) -> Quad:
    return Quad(*box.corners)
