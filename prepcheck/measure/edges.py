"""Live edges of drawn things: where an object ends near the trim or the hole."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ImageItem, PathItem
from prepcheck.geometry import Box, FloatArray, Point
from prepcheck.measure.rim import Rim
from prepcheck.measure.sampling import sample
from prepcheck.press.view import View

LIVE_PERCENT = 12.0
"""Lightness must change by this much across an edge for it to show when it lies unevenly."""
AROUND_MM = 0.2
"""How far on either side of an edge lightness is compared."""
WALK_MM = 0.25
"""Distance between the places on an edge that are measured, beside its corners."""
LARGE_MM = 15.0
"""An object longer than this that meets the trim is a ground; whether it runs out far enough is
a matter of bleed. A smaller one is cut through."""
TOUCH_MM = 0.3
"""A ground that ends this close to the trim is taken to be meant to reach it."""
PARALLEL = 0.15
"""An edge follows the rim where its distance changes by less than this per mm."""


class LiveEdge(NamedTuple):
    """An edge near a rim: its distance in mm from it (negative when cut), where it is nearest,
    the places along it that are too near, and for how many mm it follows the rim."""

    clearance_mm: float
    place: Point
    path: tuple[Point, ...]
    follows_mm: float

    @property
    def box(self) -> Box:
        return Box.around(self.path)


class _Line(NamedTuple):
    """A subpath walked in small steps, half its stroke width in mm, and whether it is filled."""

    points: FloatArray
    half: float
    filled: bool


def drawn_edges(
    paths: Iterable[PathItem], images: Iterable[ImageItem], rim: Rim, view: View
) -> tuple[LiveEdge, ...]:
    """Return the edges of drawn things that end within the rim's depth, nearest first.

    A subpath that runs out past the rim far enough is a ground and has no end there. Edges that
    do not show in the view, being covered or of the colour of what lies below, are left out.
    """
    lines = [*_path_lines(paths, rim), *_image_lines(images)]
    if not lines:
        return ()
    lengths = [len(line.points) for line in lines]
    starts = np.cumsum([0, *lengths[:-1]])
    points = np.concatenate([line.points for line in lines])
    half = np.repeat([line.half for line in lines], lengths)
    centre_room = rim.room(points)
    room = centre_room - half
    nearest = np.minimum.reduceat(room, starts)
    furthest = np.maximum.reduceat(centre_room, starts)
    found = []
    for index in np.flatnonzero(nearest < rim.depth_mm):
        own = slice(int(starts[index]), int(starts[index]) + lengths[index])
        if _ends_here(rim, lines[index], float(nearest[index]), float(furthest[index])):
            edge = _seen_edge(lines[index], room[own], rim, view)
            if edge is not None:
                found.append(edge)
    return tuple(sorted(found, key=lambda edge: (edge.clearance_mm, edge.place)))


def _path_lines(paths: Iterable[PathItem], rim: Rim) -> list[_Line]:
    items = [item for item in paths if item.segments and not item.clipped]
    if not items:
        return []
    boxes = np.array([item.box for item in items], np.float64)
    near = _boxes_near(boxes, rim)
    return [
        _Line(_walked(np.array(run, np.float64).reshape(-1, 2)), half, item.fill is not None)
        for item, is_near in zip(items, near, strict=True)
        if is_near
        for half in (item.stroke_mm / 2 if item.stroke is not None else 0.0,)
        for run in item.segments
        if len(run) >= 4
    ]


def _boxes_near(boxes: FloatArray, rim: Rim) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) may come within the rim's depth; none is missed."""
    corners = boxes[:, ((0, 1), (2, 1), (2, 3), (0, 3))]
    centre_room = rim.room(boxes.reshape(-1, 2, 2).mean(axis=1))
    radius = np.hypot(*(corners[:, 2] - corners[:, 0]).T) / 2
    return np.asarray(centre_room - radius < rim.depth_mm)


def _image_lines(images: Iterable[ImageItem]) -> list[_Line]:
    """Return the outlines of pictures that no clip cuts; others are judged by how they look."""
    return [
        _Line(_walked(np.array((*image.quad, image.quad.a), np.float64)), 0.0, True)
        for image in images
        if not image.is_mask and is_whole(image)
    ]


def is_whole(image: ImageItem) -> bool:
    """Say whether no clip cuts a picture."""
    return image.visible is not None and image.visible.holds(image.quad.box, 0.05)


def _walked(corners: FloatArray) -> FloatArray:
    """Return an open line (m, 2) with places added so that no step is longer than WALK_MM."""
    steps = np.hypot(*np.diff(corners, axis=0).T)
    if not len(steps) or steps.max() <= WALK_MM:
        return corners
    parts = np.maximum(1, np.ceil(steps / WALK_MM).astype(np.int64))
    index = np.repeat(np.arange(len(steps)), parts)
    within = np.arange(len(index)) - np.repeat(np.cumsum(parts) - parts, parts)
    share = (within / parts[index])[:, None]
    walked = corners[index] * (1 - share) + corners[index + 1] * share
    return np.concatenate((walked, corners[-1:]))


def _ends_here(rim: Rim, line: _Line, nearest: float, furthest: float) -> bool:
    """Say whether an object ends beside the rim, by the room of its nearest and furthest place."""
    if rim.is_hole:
        return nearest >= 0 or furthest <= rim.depth_mm
    if furthest <= 0 or nearest <= -rim.past_mm:
        return False
    extent = float(np.ptp(line.points, axis=0).max())
    if extent <= LARGE_MM:
        return True
    # A long rule that does not cross the trim is a frame beside it, however near.
    beside = not line.filled and nearest >= -2 * line.half
    return nearest >= TOUCH_MM or beside


def _seen_edge(line: _Line, room: FloatArray, rim: Rim, view: View) -> LiveEdge | None:
    points = line.points
    near = np.flatnonzero(room < rim.depth_mm)
    seen = near[shows(view, points[near], line.half)]
    if not len(seen):
        return None
    best = int(seen[np.argmin(room[seen])])
    steps = np.hypot(*np.diff(points, axis=0).T)
    follows = np.abs(np.diff(room)) <= PARALLEL * steps
    both = np.zeros(len(points), bool)
    both[seen] = True
    follows &= both[:-1] & both[1:]
    return LiveEdge(
        float(room[best]),
        Point(float(points[best, 0]), float(points[best, 1])),
        tuple(Point(x, y) for x, y in points[seen].tolist()),
        float(steps[follows].sum()),
    )


def thinned(points: FloatArray, most: int = 200) -> tuple[Point, ...]:
    """Return places as a path of at most `most` points."""
    every = max(1, -(-len(points) // most))
    return tuple(Point(float(x), float(y)) for x, y in points[::every])


def shows(view: View, points: FloatArray, half_mm: float = 0.0) -> NDArray[np.bool_]:
    """Say for each place (n, 2) whether lightness changes there, as it does at an edge, or at
    the sides of a stroke of half that width.

    Places outside the view count as showing nothing.
    """
    reach = half_mm + max(AROUND_MM, 1.5 * view.grid.pitch)
    angle = np.arange(8) * (np.pi / 4)
    ring = reach * np.column_stack((np.cos(angle), np.sin(angle)))
    around = points[:, None, :] + np.concatenate((np.zeros((1, 2)), ring))
    light = sample(view.lightness, view.grid, around)
    inside = view.grid.box.grown(-reach)
    x, y = points[:, 0], points[:, 1]
    held = (x >= inside.x0) & (x <= inside.x1) & (y >= inside.y0) & (y <= inside.y1)
    return np.asarray(held & (np.ptp(light, axis=1) >= LIVE_PERCENT / 100 * 255))


def merged(edges: Sequence[LiveEdge], gap_mm: float) -> tuple[LiveEdge, ...]:
    """Join edges whose places lie within `gap_mm` of each other (the letters of one word)."""
    groups: list[list[LiveEdge]] = []
    boxes: list[Box] = []
    for edge in sorted(edges, key=lambda e: (e.box.x0, e.box.y0)):
        grown = edge.box.grown(gap_mm)
        touching = [i for i, box in enumerate(boxes) if box.overlap(grown)]
        if not touching:
            groups.append([edge])
            boxes.append(edge.box)
            continue
        first, *others = touching
        groups[first].append(edge)
        boxes[first] = boxes[first].union(edge.box)
        for other in reversed(others):
            groups[first] += groups.pop(other)
            boxes[first] = boxes[first].union(boxes.pop(other))
    return tuple(
        sorted((_joined(group) for group in groups), key=lambda e: (e.clearance_mm, e.place))
    )


def _joined(group: list[LiveEdge]) -> LiveEdge:
    nearest = min(group, key=lambda edge: (edge.clearance_mm, edge.place))
    if len(group) == 1:
        return nearest
    corners = tuple(point for edge in group for point in edge.path)
    follows = max(edge.follows_mm for edge in group)
    return LiveEdge(nearest.clearance_mm, nearest.place, corners, follows)
