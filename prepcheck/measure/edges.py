"""Live edges of drawn things: where an object ends near the trim or the hole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content, ImageItem
from prepcheck.geometry import Box, FloatArray, Point, lengths_of
from prepcheck.measure.drawn import Lines, lines_in
from prepcheck.measure.mitres import boxes_with_mitres, mitres_of
from prepcheck.measure.rim import Rim
from prepcheck.measure.sampling import sample
from prepcheck.measure.seen import LIVE_DELTA_E, Strokes, across_of, looks_at, seen_places
from prepcheck.measure.tips import with_tips
from prepcheck.press.show.ciede2000 import ciede2000
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
CHANCE, CHANCE_PLACES = 0.1, 8
"""An object of which no more than this share, and no more than so many places, is seen does not
show: a lively picture over it changes just there."""
SEAM_MM = 0.1
"""Pictures less than this apart are taken to meet."""
MEET_MM = 0.01
"""What programs round off where pictures meet."""
_AT_ONCE = 100_000
"""Boxes held against a rim together: a page may have a million."""
_CORNERS_AT_ONCE = 300_000
"""Corners of drawn lines that are walked together, near enough: each may take half a kilobyte."""
BAND_MM = 2.0
"""A stroke at least this wide is a band with two edges of its own; of a thinner one both lie at
much the same place."""
ALONG_RIM = 0.8
"""A band that lies on the rim for this share of its way runs along it; else it crosses."""
PARALLEL = 0.15
"""An edge follows the rim where its distance changes by less than this per mm."""
IN_PICTURES = {"picture", "edge in a picture", "seam in a picture"}
"""What edges of one place are of that together are a picture's."""


class LiveEdge(NamedTuple):
    """An edge near a rim: its distance in mm from it (negative when cut), where it is nearest,
    the places along it that are too near, for how many mm it follows the rim, and what it is an
    edge of, as a person would say: 'line', 'shape', 'picture', 'word', 'seam in a picture', or
    'edge in a picture'."""

    clearance_mm: float
    place: Point
    path: tuple[Point, ...]
    follows_mm: float
    what: str = "shape"
    half_mm: float = 0.0
    """How far to both sides of those places the drawn stroke reaches."""

    @property
    def box(self) -> Box:
        return Box.around(self.path)


def drawn_edges(content: Content, rim: Rim, view: View) -> tuple[LiveEdge, ...]:
    """Return the edges of drawn things that end within the rim's depth, nearest first.

    A subpath that runs out past the rim far enough is a ground and has no end there. Edges that
    do not show in the view, being covered or of the colour of what lies below, are left out.
    """
    near = boxes_near(boxes_with_mitres(content), rim) & ~content.path_traits.clipped
    # Pictures that a clip cuts are judged by how they look.
    images = [image for image in content.images if not image.is_mask and is_whole(image)]
    found: list[LiveEdge] = []
    for some, framed in _portions(content, near, images):
        for lines, own in _parts(lines_in(content, some, framed), framed):
            found += _edges_of(lines, own, rim, view)
    return tuple(sorted(found, key=lambda edge: (edge.clearance_mm, edge.place)))


def _portions(
    content: Content, chosen: NDArray[np.bool_], images: Sequence[ImageItem]
) -> Iterator[tuple[NDArray[np.bool_], Sequence[ImageItem]]]:
    """Yield the chosen paths (n,) in portions whose lines are walked together, the last of them
    with the pictures: a page may have a million."""
    outlines = content.path_outlines
    if len(outlines.points) <= _CORNERS_AT_ONCE:
        yield chosen, images
        return
    corners = np.bincount(outlines.path, np.diff(outlines.starts), len(chosen))
    sides = content.path_boxes[:, 2:] - content.path_boxes[:, :2]
    places = corners + np.minimum(sides.sum(axis=1), 2 * LARGE_MM) / WALK_MM
    portion = np.cumsum(np.where(chosen, places, 0.0)) // _CORNERS_AT_ONCE
    last = int(portion[-1])
    for number in range(last + 1):
        some = chosen & (portion == number)
        if number == last or some.any():
            yield some, images if number == last else ()


def _parts(
    lines: Lines, images: Sequence[ImageItem]
) -> Iterator[tuple[Lines, Sequence[ImageItem]]]:
    """Yield lines in portions, the last of them with the pictures that the last lines frame: a
    path may have a million subpaths."""
    if len(lines.points) <= 2 * _CORNERS_AT_ONCE:
        yield lines, images
        return
    portion = np.cumsum(lines.lengths) // _CORNERS_AT_ONCE
    portion[len(portion) - len(images) :] = portion[-1]
    for number in range(int(portion[-1]) + 1):
        some = np.flatnonzero(portion == number)
        last = number == portion[-1]
        if last or len(some):
            yield lines.take(some), images if last else ()


def _edges_of(
    every: Lines, images: Sequence[ImageItem], rim: Rim, view: View
) -> Iterator[LiveEdge]:
    """Yield the edges of lines as `drawn_edges` does; the last of them frame the pictures."""
    if not len(every.starts):
        return
    centre = rim.room(every.points)
    # However a stroke ends, it reaches no further back than its middle.
    nearest = np.minimum.reduceat(centre, every.starts)
    furthest = np.maximum.reduceat(centre, every.starts)
    # Corners alone tell of many that they have no end here: all of a line comes no less near.
    beyond = furthest if rim.is_hole else np.full(len(furthest), np.inf)
    perhaps = np.flatnonzero(_end_here(rim, every, nearest, beyond) | _may_be_band(every))
    corners = every.take(perhaps)
    lines = corners.walked_near(WALK_MM, rim.room, rim.depth_mm)
    if not len(lines.starts):
        return
    nearest, furthest = _rooms(rim, lines)
    mitres, of = mitres_of(corners)
    if len(of):
        mitres = mitres.walked(WALK_MM)
        np.minimum.at(nearest, of, _rooms(rim, mitres)[0])
    ends = _end_here(rim, lines, nearest, furthest) & (nearest < rim.depth_mm)
    own = lines.take(np.flatnonzero(ends))
    framed = perhaps[ends] >= len(every.starts) - len(images)
    if ends[of].any():
        mitres = mitres.take(np.flatnonzero(ends[of]))
        own = own.joined(mitres)
        framed = np.append(framed, np.zeros(len(mitres.starts), np.bool_))
    room = _room_of(own, rim.room(own.points))
    near_rim = room < rim.depth_mm
    if images:
        places = np.flatnonzero(near_rim & framed[own.line])
        near_rim[places] = ~_on_seams(own.points[places], images)
    seen = with_tips(own, near_rim, places_seen(own, near_rim, view))
    kinds = kinds_of(own).tolist()
    shown = np.bincount(own.line[seen], minlength=len(own.starts))
    beside = np.bincount(own.line[near_rim], minlength=len(own.starts))
    chance = (shown == 0) | ((shown < CHANCE_PLACES) & (shown < CHANCE * beside))
    starts, lengths = own.starts.tolist(), own.lengths.tolist()
    for index in np.flatnonzero(~chance).tolist():
        part = slice(starts[index], starts[index] + lengths[index])
        edge = _seen_edge(own.points[part], room[part], seen[part])
        if edge is not None:
            yield edge._replace(what=kinds[index], half_mm=float(own.half[index]))


def _rooms(rim: Rim, lines: Lines) -> tuple[FloatArray, FloatArray]:
    """Return the room of the nearest place of each line (m,), its stroke's side counting, and of
    the middle of its furthest."""
    centre = rim.room(lines.points)
    return (
        np.minimum.reduceat(_room_of(lines, centre), lines.starts),
        np.maximum.reduceat(centre, lines.starts),
    )


def _room_of(lines: Lines, centre: FloatArray) -> FloatArray:
    """Return the room of the places of lines (n,), by that of their middle (n,): of their stroke's
    nearer side, or its end; of a band that runs along on the rim of the further one, since the
    nearer is a matter of bleed."""
    nearer = centre - lines.reach(centre)
    if not _may_be_band(lines).any():
        return nearer
    half = lines.half[lines.line]
    on_rim = np.add.reduceat((np.abs(centre) < half).astype(np.float64), lines.starts)
    band = _may_be_band(lines) & (on_rim >= ALONG_RIM * lines.lengths)
    return np.where(band[lines.line], centre + half, nearer)


def _may_be_band(lines: Lines) -> NDArray[np.bool_]:
    return np.asarray(~lines.filled & (2 * lines.half >= BAND_MM))


def kinds_of(lines: Lines) -> NDArray[np.str_]:
    """Return what each of lines (m,) bounds, as in `LiveEdge`."""
    framed = lines.filled & (lines.looks[:, 3] == 0) & (lines.half == 0)
    stroked = ~lines.filled & (lines.half > 0) | (lines.mitres == 0)
    return np.asarray(np.select([stroked, framed], ["line", "picture"], "shape"))


def boxes_near(boxes: FloatArray, rim: Rim) -> NDArray[np.bool_]:
    """Say which boxes (n, 4) may come within the rim's depth; none is missed."""
    near = np.empty(len(boxes), np.bool_)
    for first in range(0, len(boxes), _AT_ONCE):
        some = boxes[first : first + _AT_ONCE]
        radius = lengths_of(some[:, 2:] - some[:, :2]) / 2
        room = rim.room((some[:, :2] + some[:, 2:]) / 2)
        near[first : first + _AT_ONCE] = room - radius < rim.depth_mm
    return near


def is_whole(image: ImageItem) -> bool:
    """Say whether no clip cuts a picture."""
    return image.visible is not None and image.visible.holds(image.quad.box, 0.05)


def _end_here(
    rim: Rim, lines: Lines, nearest: FloatArray, furthest: FloatArray
) -> NDArray[np.bool_]:
    """Say which lines end beside the rim, by the room of their nearest and furthest places."""
    if rim.is_hole:
        return np.asarray((nearest >= 0) | (furthest <= rim.depth_mm))
    extent = (lines.boxes[:, 2:] - lines.boxes[:, :2]).max(axis=1)
    # A long rule that does not cross the trim is a frame beside it, however near.
    beside = ~lines.filled & (nearest >= -2 * lines.half)
    ends = (extent <= LARGE_MM) | (nearest >= TOUCH_MM) | beside
    return np.asarray(ends & (furthest > 0) & (nearest > -rim.past_mm))


def _on_seams(points: FloatArray, images: Sequence[ImageItem]) -> NDArray[np.bool_]:
    """Say which places (n, 2) on the frames of pictures have pictures on both their sides.

    Exports cut pictures into bands and tiles; what shows across such a seam is found as it looks.
    """
    angle = np.arange(8) * (np.pi / 4)
    around = points[:, None] + SEAM_MM * np.column_stack((np.cos(angle), np.sin(angle)))
    held = np.zeros(around.shape[:2], bool)
    for image in images:
        corners = image.quad.array()
        origin, right, up = corners[0], corners[1] - corners[0], corners[3] - corners[0]
        area = right[0] * up[1] - right[1] * up[0]
        box = image.quad.box.grown(SEAM_MM)
        x, y = points.T
        close = np.flatnonzero((x >= box.x0) & (x <= box.x1) & (y >= box.y0) & (y <= box.y1))
        if not area or not len(close):
            continue
        off = around[close] - origin
        along = (off[..., 0] * up[1] - off[..., 1] * up[0]) / area
        above = (right[0] * off[..., 1] - right[1] * off[..., 0]) / area
        wide, high = (MEET_MM / max(np.hypot(*way), MEET_MM) for way in (right, up))
        held[close] |= (
            (along >= -wide) & (along <= 1 + wide) & (above >= -high) & (above <= 1 + high)
        )
    return np.asarray(held.all(axis=1))


def places_seen(lines: Lines, near: NDArray[np.bool_], view: View) -> NDArray[np.bool_]:
    """Say which places of lines (n,) are near, as a mask (n,) has it, and seen."""
    line = lines.line
    across = across_of(lines.points, line)
    chosen = np.flatnonzero(near)
    seen = np.zeros(len(near), bool)
    seen[chosen] = seen_places(
        view,
        Strokes(
            lines.points[chosen], across[chosen], lines.half[line[chosen]], line[chosen],
            lines.looks[:, :3], lines.looks[:, 3] > 0,
        ),
    )  # fmt: skip
    return seen


def _seen_edge(points: FloatArray, room: FloatArray, shown: NDArray[np.bool_]) -> LiveEdge | None:
    seen = np.flatnonzero(shown)
    if not len(seen):
        return None
    best = int(seen[np.argmin(room[seen])])
    steps = lengths_of(np.diff(points, axis=0))
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
    """Say for each place (n, 2) whether the look changes there, as it does at an edge, or at
    the sides of a stroke of half that width: its lightness, or else its colour.

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
    shown = held & (np.ptp(light, axis=1) >= LIVE_PERCENT / 100 * 255)
    rest = np.flatnonzero(held & ~shown)
    if len(rest):
        looks = looks_at(view, around[rest])
        middle, sides = looks[:, :1], looks[:, 1:]
        change = np.maximum(
            ciede2000(middle, sides).max(axis=1),
            ciede2000(sides[:, :4], sides[:, 4:]).max(axis=1),
        )
        shown[rest] = change >= LIVE_DELTA_E
    return np.asarray(shown)


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
    kinds = {edge.what for edge in group}
    mixed = "picture" if kinds <= IN_PICTURES else "shape"
    what = nearest.what if len(kinds) == 1 else mixed
    return LiveEdge(nearest.clearance_mm, nearest.place, corners, follows, what)
