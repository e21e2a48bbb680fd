"""The band at the head of a sheet: a patch of each plate, the grain, and what the sheet is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from prepcheck.geometry import Box
from prepcheck.labelsheet.paper import Paper
from prepcheck.labelsheet.plan import EDGE_MM
from prepcheck.proof.theme import FontFile, TextStyle
from prepcheck.proof.typeset import clean, runs, wrap
from prepcheck.units import MM_PER_PT

TEXT = TextStyle(FontFile.TEXT, 6.4, 8.0)
NAME = TextStyle(FontFile.STRONG, 6.0, 7.0)
PATCH_MM = 5.0
_ROW_MM = 8.0
"""Height of the patches with their names."""
_GRAIN_MM, _GAP_MM = 12.0, 3.0
_NARROW_MM = 150.0
"""Text narrower than this stands under the patches, not beside them."""


@dataclass(frozen=True)
class PlatePatch:
    """A patch in one plate, its name below it."""

    ink: str
    box: Box


@dataclass(frozen=True)
class Band:
    """What stands at the head, mm on the sheet; `lines` begin at `text` and run down."""

    height: float
    patches: tuple[PlatePatch, ...]
    grain: Box
    text: tuple[float, float]
    lines: tuple[str, ...]


def band_of(paper: Paper, inks: Sequence[str], sentences: Sequence[str]) -> Band:
    """Return the band of a sheet whose art uses these plates; each sentence begins a line."""
    left, right = paper.margin_mm, paper.width - paper.margin_mm
    top = paper.height - EDGE_MM
    patches: list[PlatePatch] = []
    x, row = left, 0
    for ink in inks:
        advance = max(PATCH_MM, width_of(ink, NAME)) + 2.0
        if x > left and x + advance > right - _GRAIN_MM - _GAP_MM:
            x, row = left, row + 1
        y = top - row * _ROW_MM
        patches.append(PlatePatch(ink, Box(x, y - PATCH_MM, x + PATCH_MM, y)))
        x += advance
    grain = Box(x, top - row * _ROW_MM - _ROW_MM, x + _GRAIN_MM, top - row * _ROW_MM)
    rows_mm = (row + 1) * _ROW_MM
    x += _GRAIN_MM + _GAP_MM
    beside = row == 0 and right - x >= _NARROW_MM
    if not beside:
        x = left
    lines = tuple(
        line
        for sentence in sentences
        for line in wrap(clean(sentence), TEXT, (right - x) / MM_PER_PT)
    )
    text_mm = len(lines) * TEXT.leading * MM_PER_PT
    height = max(rows_mm, text_mm) if beside else rows_mm + text_mm
    return Band(height, tuple(patches), grain, (x, top if beside else top - rows_mm), lines)


def width_of(text: str, style: TextStyle) -> float:
    """Return how wide a line is set, in mm."""
    return sum(run.width for run in runs(clean(text), style)) * MM_PER_PT
