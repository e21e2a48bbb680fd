"""What the checks of folds share: changes of colour along each fold of a sheet."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from prepcheck.geometry import FloatArray
from prepcheck.measure.clearance import Glyphs
from prepcheck.measure.foldcolour import ColourChange, colour_change
from prepcheck.measure.folds import Fold, folds_of
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import glyphs_of

MEANT_MM = 3.0
"""A change of colour no further than this from a fold is meant to be on it."""
PANEL_SHARE = 0.45
"""On a narrow panel no further than this share of it, so that each change has one fold."""
TYPE_ROOM_MM = 0.5
"""Stretches of a fold this close to type are left out."""


class FoldChange(NamedTuple):
    """A fold, and the change of colour that follows it, if any."""

    fold: Fold
    change: ColourChange | None


def fold_changes(exam: Exam, sheet: Sheet) -> tuple[FoldChange, ...]:
    """Return the folds between panels that are printed, each with its change of colour."""
    glyphs = glyphs_of(exam, sheet)
    found = []
    for fold in folds_of(sheet.outline):
        if "flap" in (fold.before.kind, fold.after.kind):
            continue
        before, after = (
            min(MEANT_MM, PANEL_SHARE * fold.width(panel)) for panel in (fold.before, fold.after)
        )
        covered = _covered(glyphs, fold, before, after)
        change = colour_change(sheet.view, fold, before, after, covered)
        found.append(FoldChange(fold, change))
    return tuple(found)


def _covered(glyphs: Glyphs, fold: Fold, before: float, after: float) -> FloatArray:
    """Return the stretches along a fold (n, 2) where type lies within reach of it."""
    if not len(glyphs.corners):
        return np.empty((0, 2))
    off, along = fold.across(glyphs.corners), glyphs.corners[..., 1 - fold.axis]
    near = (off.max(axis=1) > -before - 1.0) & (off.min(axis=1) < after + 1.0)
    low, high = along[near].min(axis=1), along[near].max(axis=1)
    return np.column_stack((low - TYPE_ROOM_MM, high + TYPE_ROOM_MM))
