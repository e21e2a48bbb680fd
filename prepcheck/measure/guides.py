"""Guides of a template: thin lines that coincide with where the piece is cut, folded or drilled."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content, Outlines
from prepcheck.geometry import (
    Box,
    Circle,
    FloatArray,
    Segment,
    distinct,
    lengths_of,
    sample_loop,
    segment_distance,
)
from prepcheck.measure.edges import LiveEdge
from prepcheck.measure.ridges import CONTROLS_MM, Along, LookPlanes, line_seen, may_be_seen, seen_at
from prepcheck.measure.sampling import median
from prepcheck.measure.thin_lines import WALK_MM, ThinLines, touch_circle, touch_segments
from prepcheck.outline import Outline

COINCIDE_MM = 0.15
"""How far a line may lie off a guide's place and still coincide with it."""
NEARLY_ALL = 0.9
"""Share of a guide that a line must follow."""
THIN_MM = 0.4
"""Guides are drawn thin; a wider line is a frame that somebody designed."""
STEP_MM = 0.5
PROLONGED_MM = 10.0
"""How far past the piece a line along a fold is drawn, as templates have it."""
MOST_SLANT = 0.05
"""A line that nears or leaves a guide by more than this for each mm crosses it: stripes that slant
past a side would else cover as much of it as dashes do."""
DRAWN_DASHES = 0.25
"""Share of a guide that dashes cover at least."""
BESIDE_MM, BESIDE = 2.4, 1.5
"""Dashes are a texture's where within this of the guide so many times as many of about their size
lie off it: another guide beside it has about as many."""
SAGITTA_MM = 0.3
"""How far the box of a short round dash reaches off its arc."""


class Guide(NamedTuple):
    """The place of a guide: what it marks, and its line; open where `closed` is False, and the
    circle itself where it is one."""

    name: str
    points: FloatArray
    closed: bool
    circle: Circle | None = None

    def distance(self, points: FloatArray) -> FloatArray:
        """Return the distance in mm of places (..., 2) from the line."""
        if self.circle is not None:
            x, y, radius = self.circle
            return np.abs(lengths_of(points - (x, y)) - radius)
        return segment_distance(points, *self.segments())

    def touches(self, boxes: FloatArray, room: float) -> NDArray[np.bool_]:
        """Say which boxes (n, 4) may come as near the line as `room`: all that do, and few more."""
        if self.circle is not None:
            return touch_circle(boxes, self.circle, room)
        return touch_segments(boxes, *self.segments(), room)

    def near(self, lines: ThinLines, room: float) -> tuple[FloatArray, NDArray[np.intp]]:
        """Return the places (n, 2) along lines that may come as near the guide as `room`, and the
        line that each is of (n,): all that do, and few more."""
        if self.circle is not None:
            return lines.near_circle(self.circle, room)
        return lines.near_segments(*self.segments(), room)

    def segments(self) -> tuple[FloatArray, FloatArray]:
        """Return where the straight parts of the line start and end, (n, 2) each."""
        ends = np.roll(self.points, -1, axis=0)
        return (self.points, ends) if self.closed else (self.points[:-1], ends[:-1])

    def walked(self) -> FloatArray:
        """Return places (n, 2) along the line, about STEP_MM apart."""
        if self.circle is not None:
            return self.circle.points(max(36, int(2 * np.pi * self.circle.radius / STEP_MM)))
        if self.closed:
            return sample_loop(self.points, STEP_MM)
        count = max(24, int(np.hypot(*(self.points[1] - self.points[0])) / STEP_MM)) + 2
        share = np.linspace(0.0, 1.0, count)[1:-1, None]
        return np.asarray(self.points[0] * (1 - share) + self.points[1] * share)

    def normals(self) -> FloatArray:
        """Return unit normals (n, 2) at the places of `walked`."""
        points = self.walked()
        if self.circle is not None:
            return np.asarray((points - np.array(self.circle[:2])) / self.circle.radius)
        lines = np.roll(points, -1, axis=0) - points
        if not self.closed:
            lines[-1] = lines[-2]
        length = lengths_of(lines)
        return np.column_stack((-lines[:, 1], lines[:, 0])) / length[:, None]


class FoundGuide(NamedTuple):
    """A guide found in the art, and the layers it lies on (empty for one seen in a picture)."""

    guide: Guide
    layers: tuple[str | None, ...]


class Offset(NamedTuple):
    """A line at a distance from the trim (positive outwards) or from the hole's edge."""

    name: str
    mm: float


def guides_of(
    outline: Outline, at_trim: Sequence[Offset], at_hole: Sequence[Offset]
) -> tuple[Guide, ...]:
    """Return the places where a template may have its guides."""
    guides = [
        Guide(offset.name, contour.points, True, contour.circle)
        for offset in at_trim
        for contour in outline.contour(offset.mm)
    ]
    if len(outline.panels) > 1:
        guides += [
            Guide(f"{offset.name} of the {panel.name}", _corners(panel.box.grown(offset.mm)), True)
            for offset in at_trim
            if offset.mm <= 0
            for panel in outline.panels
            if min(panel.box.width, panel.box.height) > -2 * offset.mm
        ]
    guides += [_fold(fold) for fold in outline.folds]
    if outline.hole is not None:
        x, y, radius = outline.hole
        circles = ((offset.name, Circle(x, y, radius + offset.mm)) for offset in at_hole)
        guides += [Guide(name, circle.points(), True, circle) for name, circle in circles]
    return tuple(guides)


def _fold(fold: Segment) -> Guide:
    return Guide(fold.name, np.array((fold.start, fold.end), np.float64), False)


def _corners(box: Box) -> FloatArray:
    return np.array(box.corners, np.float64)


class FollowedGuide(NamedTuple):
    """A guide that thin drawn things follow: which of its places they do (n,), and their paths."""

    guide: Guide
    covered: NDArray[np.bool_]
    paths: list[int]


def followed_guides(content: Content, guides: Sequence[Guide]) -> tuple[FollowedGuide, ...]:
    """Return the guides that thin drawn lines follow, whether seen or not: strokes, straight or
    round, their dashes, and strokes or dashes that were turned into filled shapes."""
    lines = ThinLines.of(content, THIN_MM)
    fills = _thin_fills(content, guides)
    if not (len(lines.path) or len(fills.path)):
        return ()
    every = (_followed(guide, lines, fills) for guide in guides)
    return tuple(one for one in every if one is not None)


def drawn_guides(
    content: Content, followed: Sequence[FollowedGuide], looks: LookPlanes
) -> tuple[FoundGuide, ...]:
    """Return the guides that are followed by what is seen."""
    traits = content.path_traits
    names = (*traits.layers, None)
    return tuple(
        FoundGuide(one.guide, tuple(names[number] for number in traits.layer[one.paths].tolist()))
        for one in followed
        if _is_seen(one, content, looks)
    )


class _Pieces(NamedTuple):
    """Thin filled shapes: their corners (n, 2), those of one shape as one line, the shape that each
    belongs to (n,), rising, and the path that each of m shapes is (m,). All of one must lie on a
    guide to count, since its sides are no line by themselves."""

    points: FloatArray
    owner: NDArray[np.intp]
    path: NDArray[np.intp]

    @classmethod
    def of(cls, outlines: Outlines, paths: NDArray[np.intp]) -> _Pieces:
        """Return the subpaths of more than two corners of paths (m,), rising."""
        owner, points = _corners_of(outlines, paths)
        return cls(points, owner, paths)

    def on(self, guide: Guide) -> Iterator[tuple[FloatArray, int]]:
        """Yield places along each shape that lies along a guide, and its path."""
        far = np.zeros(len(self.path))
        np.maximum.at(far, self.owner, guide.distance(self.points))
        # Of few all corners lie there, and only these are walked.
        for at in np.flatnonzero(far <= _ON_GUIDE_MM).tolist():
            first, end = self.owner.searchsorted((at, at + 1))
            places = _walked(self.points[first:end])
            if guide.distance(places).max() <= _ON_GUIDE_MM:
                yield places, int(self.path[at])


_ON_GUIDE_MM = COINCIDE_MM + THIN_MM / 2
"""How far off a guide the sides of a thin shape that lies on it may be."""


def _walked(line: FloatArray) -> FloatArray:
    """Return places (n, 2) along a line, no more than `WALK_MM` apart."""
    ways = np.diff(line, axis=0)
    counts = np.maximum(1, np.ceil(lengths_of(ways) / WALK_MM)).astype(int)
    index = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(index)) - (np.cumsum(counts) - counts)[index]) / counts[index]
    return np.concatenate((line[index] + share[:, None] * ways[index], line[-1:]))


def _corners_of(outlines: Outlines, paths: NDArray[np.intp]) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the corners (k, 2) of the subpaths of more than two corners of paths (m,), rising,
    and the place in `paths` that each belongs to (k,)."""
    runs, owner = _runs_of(outlines, paths)
    some = outlines.taken(runs)
    return np.repeat(owner, np.diff(some.starts)), some.points


def _runs_of(
    outlines: Outlines, paths: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the subpaths of more than two corners of paths (m,), rising, and the place in `paths`
    that each belongs to."""
    runs, owner = outlines.runs_of(paths)
    long = np.diff(outlines.starts)[runs] > 2
    return runs[long], owner[long]


def _thin_fills(content: Content, guides: Sequence[Guide]) -> _Pieces:
    """Return the filled shapes that lie along some guide with all their corners."""
    traits, outlines = content.path_traits, content.path_outlines
    filled = np.flatnonzero((traits.fill >= 0) & (traits.stroke < 0))
    if not len(filled) or not guides:
        return _Pieces.of(outlines, filled[:0])
    boxes = content.path_boxes[filled]
    left = np.ascontiguousarray(boxes[:, 0])
    near = np.zeros(len(filled), bool)
    room = COINCIDE_MM + THIN_MM + SAGITTA_MM
    for guide in guides:
        own = np.concatenate([guide.points.min(axis=0), guide.points.max(axis=0)])
        alike = np.flatnonzero(np.abs(left - own[0]) <= COINCIDE_MM + THIN_MM)
        near[alike] |= np.abs(boxes[alike] - own).max(axis=1) <= COINCIDE_MM + THIN_MM
        close = np.flatnonzero(guide.touches(boxes, room))
        corners = boxes[close][:, ((0, 1), (2, 1), (2, 3), (0, 3))]
        near[close] |= (guide.distance(corners) <= room).all(axis=1)
    some = filled[near]
    return _Pieces.of(outlines, some[_are_thin(outlines, some)])


def _are_thin(outlines: Outlines, paths: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Say which filled shapes (m,) are no wider than a guide's line: their area over half their
    outline.

    A loop that holds nearly all of the rest, as a ring's outer one does, has them cut out of it.
    """
    runs, owner = _runs_of(outlines, paths)
    thin = np.zeros(len(paths), bool)
    if not len(runs):
        return thin
    points, starts, _ = outlines.taken(runs)
    begin = starts[:-1]
    points = points - np.repeat(points[begin], np.diff(starts), axis=0)
    ahead = np.roll(points, -1, axis=0)
    ahead[starts[1:] - 1] = points[begin]
    cross = points[:, 0] * ahead[:, 1] - points[:, 1] * ahead[:, 0]
    areas = np.abs(np.add.reduceat(cross, begin)) / 2
    sides = np.add.reduceat(lengths_of(ahead - points), begin)
    total = np.bincount(owner, areas, len(paths))
    around = np.bincount(owner, sides, len(paths))
    largest = np.zeros(len(paths))
    np.maximum.at(largest, owner, areas)
    rest = total - largest
    held = (0.8 * largest <= rest) & (rest <= largest)
    area = np.where(held, largest - rest, total)
    return np.asarray(
        (area <= THIN_MM * around / 2) & (np.bincount(owner, minlength=len(paths)) > 0)
    )


def _followed(guide: Guide, lines: ThinLines, fills: _Pieces) -> FollowedGuide | None:
    places = guide.walked()
    points, numbers = _along(guide, lines)
    covered = _near_any(places, points, WALK_MM + COINCIDE_MM)
    paths = lines.path[numbers].tolist()
    for piece, path in fills.on(guide):
        own = _near_any(places, piece, WALK_MM + COINCIDE_MM)
        if own.any():
            covered |= own
            paths.append(path)
    if not paths or covered.mean() < DRAWN_DASHES:
        return None
    return FollowedGuide(guide, covered, paths)


def _is_seen(one: FollowedGuide, content: Content, looks: LookPlanes) -> bool:
    """Say whether what follows a guide is seen along it, and is no texture's."""
    guide, covered, paths = one
    seen = covered & seen_at(looks, guide.walked(), guide.normals(), THIN_MM / 2)
    if seen.sum() < covered.sum() / 2:
        return False
    if covered.mean() < NEARLY_ALL and not _spread(covered):
        return False
    return not _among_like(guide, distinct(np.array(paths)), content)


def _among_like(guide: Guide, own: NDArray[np.intp], content: Content) -> bool:
    """Say whether paths along a guide are small ones of many that lie about it, as the dots and
    strokes of a texture do."""
    boxes = content.path_boxes
    size = lengths_of(boxes[:, 2:] - boxes[:, :2])
    typical = median(size[own])
    if typical > BESIDE_MM:
        return False
    like = boxes[(size >= typical / 2) & (size <= 2 * typical)]
    close = like[guide.touches(like, BESIDE_MM)]
    near = guide.distance((close[:, :2] + close[:, 2:]) / 2) <= BESIDE_MM
    return bool(near.sum() > (1 + BESIDE) * len(own))


def _along(guide: Guide, lines: ThinLines) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the places (n, 2) at which lines follow a guide, and the lines that do."""
    points, line = guide.near(lines, COINCIDE_MM)
    distance = guide.distance(points)
    on = distance <= COINCIDE_MM
    points, line = points[on], line[on]
    # A line that crosses the guide is near it for no longer than its own width, or at a slant.
    count = len(lines.places)
    followed_mm = np.bincount(line, minlength=count) * WALK_MM
    slants = _slope(points, distance[on], line, count) > MOST_SLANT
    crosses = (followed_mm < 3 * COINCIDE_MM) | slants
    crosses &= lines.places * WALK_MM > 6 * COINCIDE_MM
    follows_it = ~crosses[line]
    points, line = points[follows_it], line[follows_it]
    if guide.closed:
        return points, distinct(line)
    # Beyond the ends of an open guide nothing is looked at.
    ends = guide.walked()[[0, -1]]
    held = segment_distance(points, ends[:1], ends[1:]) <= WALK_MM + COINCIDE_MM
    return points, distinct(line[held])


def _slope(
    points: FloatArray, distance: FloatArray, line: NDArray[np.intp], count: int
) -> FloatArray:
    """Return by how much each of `count` lines nears or leaves a guide, for each mm it runs there.

    `points` (n, 2) lie along the lines in turn, `distance` (n,) from the guide.
    """
    ways = lengths_of(np.diff(points, axis=0))
    together = (line[1:] == line[:-1]) & (ways < 1.5 * WALK_MM)
    own, ways = line[1:][together], ways[together]
    changes = np.abs(np.diff(distance))[together]
    ran = np.bincount(own, ways, count)
    return np.asarray(np.bincount(own, changes, count) / np.maximum(ran, WALK_MM))


def _near_any(places: FloatArray, others: FloatArray, within: float) -> NDArray[np.bool_]:
    """Say which places have one of the others within a distance, by cells of that size."""
    if not len(others):
        return np.zeros(len(places), bool)
    keys = np.floor(others / within).astype(np.int64)
    wide = 1 << 20
    held = distinct(keys[:, 0] * wide + keys[:, 1])
    own = np.floor(places / within).astype(np.int64)
    found = np.zeros(len(places), bool)
    around = np.array([(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)], np.int64)
    codes = (own[:, None, 0] + around[:, 0]) * wide + own[:, None, 1] + around[:, 1]
    candidates = np.isin(codes, held).any(axis=1)
    at = np.flatnonzero(candidates)
    for start in range(0, len(at), 64):
        some = at[start : start + 64]
        box_low, box_high = places[some].min(axis=0) - within, places[some].max(axis=0) + within
        close = others[((others >= box_low) & (others <= box_high)).all(axis=1)]
        if len(close):
            gaps = places[some][:, None] - close
            found[some] = (lengths_of(gaps) <= within).any(axis=1)
    return found


def _spread(covered: NDArray[np.bool_]) -> bool:
    """Say whether dashes are spread along the whole of a guide."""
    share = float(covered.mean())
    parts = np.array_split(covered, max(2, min(12, len(covered) // 8)))
    return all(float(part.mean()) >= 0.4 * share for part in parts)


def pictured_guides(
    looks: LookPlanes, guides: Sequence[Guide], known: Sequence[Guide]
) -> tuple[FoundGuide, ...]:
    """Return the guides along which a thin line is seen, solid or dashed.

    `known` are all places of guides: a line that is seen there as well is no texture.
    """
    found = []
    for guide in guides:
        places, normals = guide.walked(), guide.normals()
        # Beside a place one looks only where something is seen there at all.
        if not may_be_seen(Along(looks, places, normals, 0.0), 0.0):
            continue
        along = Along(looks, places, normals, max(CONTROLS_MM))
        if line_seen(along, 0.0, partial(_taken, guide, known)) is not None:
            found.append(FoundGuide(guide, ()))
    return tuple(found)


def without_doubles(found: Sequence[FoundGuide]) -> tuple[FoundGuide, ...]:
    """Leave out guides that lie all along others found before them."""
    kept: list[FoundGuide] = []
    for one in found:
        places = one.guide.walked()
        held = np.zeros(len(places), bool)
        for other in kept:
            held |= other.guide.distance(places) <= 2 * COINCIDE_MM
        if held.mean() < NEARLY_ALL:
            kept.append(one)
    return tuple(kept)


def _taken(guide: Guide, known: Sequence[Guide], offsets: FloatArray) -> NDArray[np.bool_]:
    """Say at which offsets beside a guide another one runs, or its own other side."""
    places, normals = guide.walked(), guide.normals()
    every = max(1, len(places) // 60)
    beside = places[::every] + offsets[:, None, None] * normals[::every]
    taken = np.zeros(len(offsets), bool)
    for other in known:
        taken |= (other.distance(beside) <= 2 * COINCIDE_MM).mean(axis=1) >= 0.2
    return taken


def off_guides(edges: Sequence[LiveEdge], guides: Sequence[Guide]) -> list[LiveEdge]:
    """Return the live edges that `on_guides` does not hold of. Of 10,000 few begin on a guide."""
    if not edges or not guides:
        return list(edges)
    begin = are_on_any(np.array([edge.path[0] for edge in edges]), guides).tolist()
    return [
        edge for edge, near in zip(edges, begin, strict=True)
        if not (near and on_guides(edge, guides))
    ]  # fmt: skip


def on_guides(edge: LiveEdge, guides: Iterable[Guide]) -> bool:
    """Say whether a live edge lies all along a guide, or a fold's drawn on past the piece."""
    return lies_on(np.array(edge.path), guides)


def drawn_on_guides(runs: Sequence[Sequence[float]], guides: Sequence[Guide]) -> bool:
    """Say whether each of the runs (x, y, x, y, ...) of a drawn line lies all along a guide."""
    lines = [_walked(np.array(run, np.float64).reshape(-1, 2)) for run in runs]
    return bool(lines) and all(lies_on(line, guides) for line in lines)


def lies_on(places: FloatArray, guides: Iterable[Guide]) -> bool:
    """Say whether places (n, 2) all lie on one guide, or on a fold drawn on past the piece."""
    return any(bool(_are_on(guide, places).all()) for guide in guides)


def are_on_any(places: FloatArray, guides: Iterable[Guide]) -> NDArray[np.bool_]:
    """Say which places (n, 2) lie on any guide, or on a fold drawn on past the piece."""
    on = np.zeros(len(places), np.bool_)
    for guide in guides:
        on |= _are_on(guide, places)
    return on


def _are_on(guide: Guide, places: FloatArray) -> NDArray[np.bool_]:
    line = guide if guide.closed else _prolonged(guide)
    return np.asarray(line.distance(places) <= COINCIDE_MM + THIN_MM)


def _prolonged(guide: Guide) -> Guide:
    way = guide.points[-1] - guide.points[0]
    by = PROLONGED_MM / np.hypot(*way) * way
    return guide._replace(points=np.stack((guide.points[0] - by, guide.points[-1] + by)))
