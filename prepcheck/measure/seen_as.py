"""What edges that were found in pixels are of, as a person would say who looks there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ImageItem
from prepcheck.geometry import Box, FloatArray, segment_distance
from prepcheck.measure.edges import LiveEdge, merged
from prepcheck.measure.seen import looks_at
from prepcheck.measure.texture import PICTURED
from prepcheck.press.view import View

SEAM_MM = 0.3
"""How far from the frames of two pictures an edge lies that is their seam."""
NEARLY_ALL = 0.8
LETTERS, LARGEST_MM, APART = 3, 12.0, 0.4
"""So many pieces in a row, none larger, with room of less than this share of the larger one's size
between them, read as a word."""
VARIED = 0.12
"""Letters differ in how much of them is seen by this share of the mean; dots in a row do not."""
LINE_MM, MOST_BENT = 3.0, 1.5
"""A line is at least this long, and its way no longer than so many times that."""
BESIDE_MM, ALIKE_DELTA_E = 0.9, 4.0
"""On both sides of a line, this far from it, it looks alike."""


def seen_as(
    edges: Sequence[LiveEdge], view: View, images: Sequence[ImageItem]
) -> tuple[LiveEdge, ...]:
    """Return edges that were found in pixels named where it can be told: 'seam in a picture',
    'line', 'word', whose letters are one edge, and 'shape' where no picture lies."""
    named = [_named(e, view, images) if e.what == PICTURED else e for e in edges]
    pieces = [edge for edge in named if edge.what == PICTURED]
    words: list[LiveEdge] = []
    held: set[int] = set()
    for row in _rows(pieces):
        if _reads_as_a_word(row):
            boxes = max(max(edge.box.width, edge.box.height) for edge in row)
            words += (edge._replace(what="word") for edge in merged(row, boxes * APART + 1.0))
            held |= {id(edge) for edge in row}
    rest = [edge for edge in named if id(edge) not in held]
    return (*(_as_shape(edge, images) for edge in rest), *words)


def _as_shape(edge: LiveEdge, images: Sequence[ImageItem]) -> LiveEdge:
    """Return an edge as a shape's where no picture lies beside it: a clip may cut shapes, too."""
    if edge.what != PICTURED:
        return edge
    around = edge.box.grown(SEAM_MM)
    pictured = any(i.visible is not None and i.visible.overlap(around) for i in images)
    return edge if pictured else edge._replace(what="shape")


def _named(edge: LiveEdge, view: View, images: Sequence[ImageItem]) -> LiveEdge:
    points = np.array(edge.path)
    if len(images) > 1 and _on_seam(points, images).mean() >= NEARLY_ALL:
        return edge._replace(what="seam in a picture")
    return edge._replace(what="line") if _is_line(points, view) else edge


def _on_seam(points: FloatArray, images: Sequence[ImageItem]) -> NDArray[np.bool_]:
    """Say which places (n, 2) lie on the frame of a picture with another picture beyond it."""
    framed, covers = np.zeros(len(points), bool), np.zeros(len(points), np.intp)
    x, y = points.T
    for image in images:
        corners = image.quad.array()
        box = image.quad.box.grown(SEAM_MM)
        covers += (x >= box.x0) & (x <= box.x1) & (y >= box.y0) & (y <= box.y1)
        framed |= segment_distance(points, corners, np.roll(corners, -1, axis=0)) <= SEAM_MM
    return np.asarray(framed & (covers > 1))


def _is_line(points: FloatArray, view: View) -> bool:
    """Say whether places (n, 2) along an edge are those of a line: straight or bent a little, and
    beyond it looks as before it."""
    along = points[-1] - points[0]
    reach = float(np.hypot(*along))
    walked = float(np.hypot(*np.diff(points, axis=0).T).sum())
    if reach < LINE_MM or walked > MOST_BENT * reach:
        return False
    across = BESIDE_MM * np.array((-along[1], along[0])) / reach
    sides = np.stack((points + across, points - across))
    box = view.grid.box.grown(-view.grid.pitch)
    low, high = np.array(box[:2]), np.array(box[2:])
    inside = ((sides >= low) & (sides <= high)).all(axis=(0, 2))
    if inside.mean() < NEARLY_ALL:
        return False
    one, other = (np.median(looks_at(view, side[inside]), axis=0) for side in sides)
    return bool(np.linalg.norm(one - other) <= ALIKE_DELTA_E)


def _rows(pieces: Sequence[LiveEdge]) -> list[list[LiveEdge]]:
    """Return pieces that lie close to one another, in groups."""
    groups: list[list[LiveEdge]] = []
    for edge in sorted(pieces, key=lambda one: (one.box.x0, one.box.y0)):
        joined, apart = [edge], []
        for group in groups:
            if any(_close(edge.box, one.box) for one in group):
                joined += group
            else:
                apart.append(group)
        groups = [*apart, joined]
    return groups


def _close(one: Box, other: Box) -> bool:
    size = max(one.width, one.height, other.width, other.height)
    return one.grown(1.0 + APART * size).overlap(other) is not None


def _reads_as_a_word(row: Sequence[LiveEdge]) -> bool:
    sizes = np.array([max(edge.box.width, edge.box.height) for edge in row])
    if len(row) < LETTERS or sizes.max() > LARGEST_MM:
        return False
    seen = np.array([len(edge.path) for edge in row], np.float64)
    middles = np.array([edge.box.centre for edge in row])
    spread = np.linalg.svd(middles - middles.mean(axis=0), compute_uv=False)
    return bool(seen.std() >= VARIED * seen.mean() and spread[1] <= 0.35 * spread[0])
