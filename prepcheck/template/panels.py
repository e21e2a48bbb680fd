"""Panels and flaps of a piece, from its silhouette and the folds in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from prepcheck.geometry import Box, FloatArray
from prepcheck.template.drawn_lines import DrawnLine

_SNAP_MM = 0.05
_WIDEST_SPINE_MM = 20.0
_DEEPEST_FLAP_MM = 45.0


@dataclass(frozen=True)
class Part:
    """A part of the flat between folds: its box, and whether it is a 'face', 'spine' or 'flap'."""

    box: Box
    kind: str
    hangs_on: int | None = None
    """Of a flap, the index of the panel it hangs on."""


def parts_of(corners: FloatArray, folds: Sequence[DrawnLine]) -> tuple[Part, ...] | None:
    """Return the parts of a silhouette (n, 2) cut along folds, rows from the top, each from the
    left; flaps come last. None where the parts are no rectangles."""
    xs = _levels([*corners[:, 0], *(f.box.centre.x for f in folds if _upright(f))])
    ys = _levels([*corners[:, 1], *(f.box.centre.y for f in folds if not _upright(f))])
    cells = {
        (i, j)
        for i in range(len(xs) - 1)
        for j in range(len(ys) - 1)
        if _holds(corners, (xs[i] + xs[i + 1]) / 2, (ys[j] + ys[j + 1]) / 2)
    }
    boxes = []
    while cells:
        todo, group = [min(cells)], set()
        while todo:
            cell = todo.pop()
            if cell not in cells:
                continue
            cells.discard(cell)
            group.add(cell)
            i, j = cell
            middle = ((xs[i] + xs[i + 1]) / 2, (ys[j] + ys[j + 1]) / 2)
            for beyond, at, upright in (
                ((i - 1, j), (xs[i], middle[1]), True),
                ((i + 1, j), (xs[i + 1], middle[1]), True),
                ((i, j - 1), (middle[0], ys[j]), False),
                ((i, j + 1), (middle[0], ys[j + 1]), False),
            ):
                if beyond in cells and not any(_on(fold, at, upright) for fold in folds):
                    todo.append(beyond)
        low_i, high_i = min(i for i, _ in group), max(i for i, _ in group) + 1
        low_j, high_j = min(j for _, j in group), max(j for _, j in group) + 1
        if len(group) != (high_i - low_i) * (high_j - low_j):
            return None
        boxes.append(Box(xs[low_i], ys[low_j], xs[high_i], ys[high_j]))
    return _kinds(sorted(boxes, key=lambda box: (-round(box.centre.y, 0), box.x0)))


def _upright(fold: DrawnLine) -> bool:
    return fold.box.width < fold.box.height


def _levels(values: Sequence[float]) -> list[float]:
    """Return different values, sorted; those that lie together count as one."""
    kept: list[float] = []
    for value in sorted(float(v) for v in values):
        if not kept or value - kept[-1] > _SNAP_MM:
            kept.append(value)
    return kept


def _holds(corners: FloatArray, x: float, y: float) -> bool:
    """Say whether a place lies inside a polygon, by the even-odd rule."""
    ends = np.roll(corners, -1, axis=0)
    crosses = (corners[:, 1] > y) != (ends[:, 1] > y)
    return bool((crosses & (corners[:, 0] > x)).sum() % 2)


def _on(fold: DrawnLine, at: tuple[float, float], upright: bool) -> bool:
    if _upright(fold) is not upright:
        return False
    x, y = at
    return fold.box.grown(2 * _SNAP_MM).holds(Box(x, y, x, y))


def _kinds(boxes: Sequence[Box]) -> tuple[Part, ...]:
    flaps = {i: other for i, box in enumerate(boxes) if (other := _flap_on(box, boxes)) is not None}
    panels = [i for i in range(len(boxes)) if i not in flaps]
    parts = [Part(boxes[i], _kind(boxes[i], boxes)) for i in panels]
    parts += [
        Part(boxes[i], "flap", panels.index(other)) for i, other in flaps.items() if other in panels
    ]
    return tuple(parts)


def _kind(box: Box, boxes: Sequence[Box]) -> str:
    beside = [other for other in boxes if other is not box and _touch(box, other) is not None]
    narrow = min(box.width, box.height) <= _WIDEST_SPINE_MM
    return "spine" if narrow and len(beside) >= 2 else "face"


def _flap_on(box: Box, boxes: Sequence[Box]) -> int | None:
    """Return the panel that a box is a flap of: the only one it touches, and much deeper."""
    touching = [
        (i, depth) for i, other in enumerate(boxes)
        if other is not box and (depth := _touch(box, other)) is not None
    ]  # fmt: skip
    if len(touching) != 1:
        return None
    index, (own, others) = touching[0]
    return index if own <= _DEEPEST_FLAP_MM and others > 3 * own else None


def _touch(box: Box, other: Box) -> tuple[float, float] | None:
    """Return the depth of two boxes across the edge they share; None where they share none."""
    across = min(box.x1, other.x1) - max(box.x0, other.x0)
    up = min(box.y1, other.y1) - max(box.y0, other.y0)
    if abs(up) <= 2 * _SNAP_MM and across > 1:
        return box.height, other.height
    if abs(across) <= 2 * _SNAP_MM and up > 1:
        return box.width, other.width
    return None


def edge_of(flap: Box, panel: Box) -> str:
    """Return at which edge of a panel a flap hangs."""
    (x, y), (px, py) = flap.centre, panel.centre
    if abs(y - py) > (panel.height / 2):
        return "top" if y > py else "bottom"
    return "right" if x > px else "left"
