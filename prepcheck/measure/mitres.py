"""Mitres: where a stroke turns sharply, its outer sides run on until they meet."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ROUND_CAP, Content
from prepcheck.geometry import FloatArray, lengths_of
from prepcheck.measure.drawn import Lines

LEAST_MM = 0.05
"""A mitre that reaches no further than this beyond a round corner is left out."""


def mitres_of(lines: Lines) -> tuple[Lines, NDArray[np.intp]]:
    """Return the outlines of the mitres of lines as fills, each from a place on the outer side of
    the stroke to the tip and back to one on the other, and the line (n,) that each is of.

    ISO 32000-2, 8.4.3.5: a corner of the angle a has its tip 1 / sin(a / 2) halves of the width
    from the middle, and none where that is more than the limit.
    """
    some = np.flatnonzero((lines.half > 0) & (lines.mitres > 1) & (lines.lengths > 2))
    corner, before, after = _corners(lines.take(some))
    back, back_mm = _unit(before - corner)
    ahead, ahead_mm = _unit(after - corner)
    line = some[np.repeat(np.arange(len(some)), _counts(lines, some))]
    half = lines.half[line]
    # Between both ways lies the angle a; |back + ahead| is 2 cos(a / 2).
    inward, long = _unit(back + ahead)
    sine = np.sqrt(np.maximum(1 - (long / 2) ** 2, 0.0))
    with np.errstate(divide="ignore"):
        reach = 1 / sine
    at = np.flatnonzero(
        (reach <= lines.mitres[line]) & (half * (reach - 1) >= LEAST_MM)
        & (back_mm > 0) & (ahead_mm > 0) & (long > 0)
    )  # fmt: skip
    inward, half, reach, line = inward[at], half[at], reach[at], line[at]
    tips = corner[at] - inward * (half * reach)[:, None]
    # A side runs along its way, from beside the middle to the tip.
    sides = [tips + way[at] * (half * np.sqrt(reach**2 - 1))[:, None] for way in (back, ahead)]
    points = np.stack((sides[0], tips, sides[1], sides[0]), axis=1).reshape(-1, 2)
    count = len(at)
    return Lines(
        points, 4 * np.arange(count), np.zeros(count), np.ones(count, np.bool_),
        lines.looks[line], np.full(count, ROUND_CAP, np.uint8), np.zeros(count),
    ), line  # fmt: skip


def boxes_with_mitres(content: Content) -> FloatArray:
    """Return the boxes of paths (n, 4) as far as mitres may reach out of them."""
    traits, boxes = content.path_traits, content.path_boxes
    reach = (traits.mitre - 1) * traits.stroke_mm / 2
    reach[traits.stroke < 0] = 0.0
    if not reach.any():
        return boxes
    return boxes + np.outer(reach, (-1, -1, 1, 1))


def _counts(lines: Lines, some: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return the number of corners of some lines (n,), the first place of closed ones being one."""
    return lines.lengths[some] - 2 + _closed(lines)[some]


def _closed(lines: Lines) -> NDArray[np.bool_]:
    last = lines.starts + lines.lengths - 1
    return np.asarray((lines.points[lines.starts] == lines.points[last]).all(axis=1))


def _corners(lines: Lines) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the corners of lines, line by line, and the places before and after each, (n, 2)
    each."""
    points, starts = lines.points, lines.starts
    index = np.arange(len(points))
    last = starts + lines.lengths - 1
    before, after = index - 1, index + 1
    is_corner = np.ones(len(points), np.bool_)
    is_corner[last] = False
    closed = _closed(lines)
    is_corner[starts[~closed]] = False
    before[starts] = last - 1
    corner = np.flatnonzero(is_corner)
    return points[corner], points[before[corner]], points[after[corner]]


def _unit(ways: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return ways (n, 2) of the length 1, and how long they were (n,)."""
    long = lengths_of(ways)
    return np.divide(ways, long[:, None], out=np.zeros_like(ways), where=long[:, None] > 0), long
