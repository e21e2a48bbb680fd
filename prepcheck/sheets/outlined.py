"""Outlined type as checks of type see it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content, TextRun, TypeTable
from prepcheck.geometry import Box, FloatArray, Quad
from prepcheck.measure.letter_shapes import Lettering, gaps_between, lettering_of
from prepcheck.measure.outlined_type import CAP_EM, TypeLine, outlined_lines, short_rows
from prepcheck.measure.writing import with_writing
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import printing
from prepcheck.sheets.surroundings import are_on_art
from prepcheck.units import MM_PER_PT

ABOUT = 1.06
"""How much larger type may be than it is told from the height of its letters, in most faces."""

LONGEST_SIGN = 1.1
"""Length in ems of the longest sign, an em dash, with what a size told from letters may be off."""


class Sized(NamedTuple):
    """Runs of type with the most that the size of each may be in points (n,), which is its size
    where that is stated, and which are no live type (n,): the last, line by line."""

    runs: TypeTable
    most_pt: FloatArray
    outlined: NDArray[np.bool_]
    lines: tuple[TypeLine, ...]

    def line(self, row: int) -> TypeLine:
        """Return the line that a run of outlined type is."""
        return self.lines[row - len(self.outlined)]


def type_lines(exam: Exam, sheet: Sheet) -> tuple[TypeLine, ...]:
    """Return the lines of outlined type of a sheet that print on it."""
    return exam.once("outlined type", sheet, lambda: _type_lines(exam, sheet))


def _type_lines(exam: Exam, sheet: Sheet) -> tuple[TypeLine, ...]:
    steps = exam.step_layers
    paths = sheet.content.paths
    shapes = _lettering(exam, sheet, sheet.content)
    lines = outlined_lines(sheet.content, shapes.letters)
    return tuple(
        line
        for line in with_writing(sheet.content, shapes, lines)
        if not steps or paths[line.paths[0]].layer not in steps
    )


def _lettering(exam: Exam, sheet: Sheet, content: Content) -> Lettering:
    if content is not sheet.content:
        return lettering_of(content)
    return exam.once("shapes of letters", sheet, lambda: lettering_of(content))


def too_few_letters(exam: Exam, sheet: Sheet) -> tuple[Box, ...]:
    """Return rows of two or three shapes on the art that may be letters, and smaller than type
    has to be."""
    tall = exam.spec.text.least_pt * MM_PER_PT * CAP_EM
    content = printing(exam, sheet)
    letters = _lettering(exam, sheet, content).letters
    rows = [
        box
        for box in short_rows(content, type_lines(exam, sheet), letters)
        if min(box.width, box.height) < tall
    ]
    return tuple(box for box, lies in zip(rows, are_on_art(exam, sheet, rows), strict=True) if lies)


def sized_type(exam: Exam, sheet: Sheet) -> Sized:
    """Return all type that is painted, live and outlined, with its size."""
    live = sheet.content.type_table.kept(lambda style: style.paints)
    about = live.where(lambda style: style.about)
    lines = type_lines(exam, sheet)
    outlined = TypeTable.of([_run_of(line, sheet.content) for line in lines])
    most = [max(line.most_pt, line.size_pt * ABOUT) for line in lines]
    return Sized(
        TypeTable.joined((live, outlined)),
        np.concatenate((np.where(about, live.size_pt * ABOUT, live.size_pt), most)),
        np.arange(len(live) + len(lines)) >= len(live),
        lines,
    )


def in_outlined(
    exam: Exam, sheet: Sheet, paths: NDArray[np.intp], boxes: FloatArray
) -> NDArray[np.bool_]:
    """Say which of some paths (n,), with their boxes (n, 4), are signs of a line of outlined type:
    letters, or dashes and bars that are drawn among them and stand beside one."""
    found = np.zeros(len(paths), np.bool_)
    lines = sorted(type_lines(exam, sheet), key=lambda line: line.paths[0]) if len(paths) else ()
    if not lines:
        return found
    firsts = np.array([line.paths[0] for line in lines]) - 1
    lasts = np.array([line.paths[-1] for line in lines]) + 1
    reach = LONGEST_SIGN * MM_PER_PT * np.array([line.most_pt for line in lines])
    longest = (boxes[:, 2:] - boxes[:, :2]).max(axis=1)
    own = firsts.searchsorted(paths, "right") - 1
    # What stands between two lines may be of either.
    for number in (own, own - 1):
        among = (number >= 0) & (paths <= lasts[number]) & (longest <= reach[number])
        for at in np.flatnonzero(among & ~found).tolist():
            line = lines[number[at]]
            gaps = gaps_between(np.array(line.shapes), boxes[at : at + 1])
            found[at] = gaps.min() <= line.cap_mm
    return found


def _run_of(line: TypeLine, content: Content) -> TextRun:
    path = content.paths[line.paths[0]]
    return TextRun(
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


def _quad(box: Box) -> Quad:
    return Quad(*box.corners)
