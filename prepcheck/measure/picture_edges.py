"""Live edges of pictures: strong edges of the look that end near the trim, the hole or a fold.

The piece is unrolled along its rim: one row a place on the rim, one column a distance from it.
Groups of touching strong edges that reach the rim belong to art that runs out across it; groups
with edges beside them in what is cut away are texture. What is left ends there.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray, Point, distinct
from prepcheck.measure.components import label
from prepcheck.measure.edges import LiveEdge
from prepcheck.measure.rim import STEP_MM, Rim
from prepcheck.measure.sampling import along_rays, median, sample
from prepcheck.measure.seen import LIVE_DELTA_E, lab_of_srgb
from prepcheck.press.show.ciede2000 import ciede2000
from prepcheck.press.view import View, over_colours

STRONG = 1.2 * LIVE_DELTA_E
"""The look must change by this much (CIEDE2000) within BASE_MM for an edge to be strong; JPEG
noise and soft gradients stay below."""
BASE_MM = 0.25
WEAK = 0.6 * LIVE_DELTA_E
"""Strong edges hang together along edges down to this: one that crosses the rim may fade there."""
LEAST_LEVELS = 9.0
"""A change of any of red, green and blue, 0..255, below which no look changes by as much."""
CROSS_MM = 0.15
"""Edges this close to the rim reach it."""
LEAST_CELLS = 6
"""Smaller groups are specks."""
MOST_REFINED = 24
"""Places of an edge, equally near by the strip's steps, of which the nearest is told exactly."""
MEETS = 0.6
"""A row whose look changes by this share of what the strongest one's does meets the edge."""
LONGEST = round(15.0 / STEP_MM)
"""A thing that meets the rim over more places is a ground, and its end a matter of bleed."""
SURE_SHARE = 0.5
"""A thing that is cut shows strong edges in this share of all of its own."""
BESIDE_MM = 3.0
"""How far along the rim texture in what is cut away tells of texture inside."""
ALIKE = 0.4
"""Such texture changes the look by this share of what the edge does: a photograph's own edges are
none beside a thing that stands out from it."""
BUSY_SHARE = 0.3
"""A group with texture beside this share of its length is texture."""


@dataclass(frozen=True)
class _Strip:
    """Red, green and blue along rays (rows) at `distances` (columns) from the rim, positive in the
    art, as (rows, columns, 3).

    `plain` (rows,) are those that look even, with those on both their sides: they are not read.
    """

    rim: Rim
    rgb: NDArray[np.float32]
    distances: FloatArray
    joined: NDArray[np.bool_]
    plain: NDArray[np.bool_]

    def places(self, row: NDArray[np.int64], column: NDArray[np.int64]) -> FloatArray:
        """Return where cells lie, in mm (n, 2)."""
        return self.rim.points[row] + self.distances[column, None] * self.rim.into[row]


def picture_edges(
    view: View, rim: Rim, ignored: NDArray[np.bool_] | None = None
) -> tuple[LiveEdge, ...]:
    """Return strong edges that end within the rim's depth, nearest first.

    `ignored` is a mask over the view's pixels (rows, columns) that is left out, where drawn
    things are measured exactly.
    """
    strip = _unroll(view, rim)
    change = _change(strip)
    weak, strong = change >= WEAK, change >= STRONG
    if ignored is not None:
        cells = np.nonzero(weak)
        column, row = np.floor(view.grid.pixels(strip.places(*cells))).astype(int).T
        held = (row >= 0) & (row < view.grid.height) & (column >= 0) & (column < view.grid.width)
        left_out = np.zeros(len(held), bool)
        left_out[held] = ignored[row[held], column[held]]
        for mask in (weak, strong):
            mask[cells] &= ~left_out
    groups = label(weak, strip.joined)
    ending = _ending(strip, groups, strong, change)
    groups[~strong] = -1
    return tuple(
        sorted(
            (_edge(view, rim, strip, groups, group) for group in ending),
            key=lambda edge: (edge.clearance_mm, edge.place),
        )
    )


def _unroll(view: View, rim: Rim) -> _Strip:
    step = BASE_MM / 2
    distances = np.arange(-rim.past_mm, rim.depth_mm + step, step)
    after = np.roll(np.arange(len(rim.points)), -1)
    gap = np.hypot(*(rim.points[after] - rim.points).T)
    bend = (rim.into * rim.into[after]).sum(axis=1)
    joined = (gap < 3 * STEP_MM) & (bend > 0.9)
    # So far round a place that what is even there has the look of its neighbours.
    first, last = float(distances[0]), float(distances[-1])
    middles = rim.points + (first + last) / 2 * rim.into
    even = view.even(middles, (last - first) / 2 + 3 * STEP_MM)
    plain = even & np.roll(even & joined, 1) & np.roll(even, -1) & joined
    read = ~plain
    read |= np.roll(read, 1) | np.roll(read, -1)
    rgb = np.zeros((len(rim.points), len(distances), 3), np.float32)
    if read.any():
        rgb[read] = along_rays(view.rgb, view.grid, rim.points[read], rim.into[read], distances)
    return _Strip(rim, rgb, distances, joined, plain)


def _change(strip: _Strip) -> NDArray[np.float32]:
    """Return by how much the look changes within BASE_MM, across the rim or along it."""
    rgb = strip.rgb
    change = np.zeros(rgb.shape[:2], np.float32)
    at = np.flatnonzero(~strip.plain)
    if not len(at):
        return change
    both = at[(strip.joined & np.roll(strip.joined, 1))[at]]
    change[both] = _apart(rgb[(both + 1) % len(rgb)], rgb[both - 1])
    own = rgb[at]
    change[at, 1:-1] = np.maximum(change[at, 1:-1], _apart(own[:, 2:], own[:, :-2]))
    return change


def _apart(one: NDArray[np.float32], other: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the difference (rows, columns) of two looks (rows, columns, 3); 0 for a small one."""
    found = np.zeros(one.shape[:2], np.float32)
    rows, columns = np.nonzero(over_colours(np.maximum, np.abs(one - other)) >= LEAST_LEVELS)
    if len(rows):
        looks = (lab_of_srgb(look[rows, columns].astype(np.float64)) for look in (one, other))
        found[rows, columns] = ciede2000(*looks)
    return found


def _ending(
    strip: _Strip,
    groups: NDArray[np.int64],
    strong: NDArray[np.bool_],
    change: NDArray[np.float32],
) -> list[int]:
    """Return the groups that lie wholly on the art side, are strong and are no texture."""
    count = int(groups.max(initial=-1)) + 1
    if not count:
        return []
    row, column = np.nonzero(groups >= 0)
    group = groups[row, column]
    distance = strip.distances[column]
    nearest, furthest = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(nearest, group, distance)
    np.maximum.at(furthest, group, distance)
    cells = np.bincount(group, weights=strong[row, column], minlength=count)

    outside = (furthest < -CROSS_MM) & (cells >= LEAST_CELLS)
    peak = np.zeros(count, np.float32)
    np.maximum.at(peak, group, change[row, column])
    busy = np.zeros(len(groups), np.float32)
    own = outside[group]
    np.maximum.at(busy, row[own], peak[group[own]])
    busy = _widened(busy, round(BESIDE_MM / STEP_MM))
    of, reached = np.divmod(distinct(group * len(groups) + row), len(groups))
    length = np.bincount(of, minlength=count)
    alike = busy[reached] >= ALIKE * peak[of]
    beside = np.bincount(of, weights=alike, minlength=count)

    ends = (nearest > CROSS_MM) | (_is_cut(strip.rim, nearest, furthest) & (length <= LONGEST))
    total = np.bincount(group, minlength=count)
    ends &= (cells >= LEAST_CELLS) & ((nearest > CROSS_MM) | (cells >= SURE_SHARE * total))
    return np.flatnonzero(ends & (beside < BUSY_SHARE * length)).tolist()


def _is_cut(rim: Rim, nearest: FloatArray, furthest: FloatArray) -> NDArray[np.bool_]:
    """Say which groups are of things cut through: they cross the rim, and end short beyond the
    trim, or in the ring round the hole."""
    across = (nearest <= CROSS_MM) & (furthest > CROSS_MM) & rim.cuts
    if rim.is_hole:
        return across & (furthest < rim.depth_mm - BASE_MM) & (nearest < 0)
    return across & (nearest > BASE_MM - rim.past_mm)


def _widened(values: NDArray[np.float32], by: int) -> NDArray[np.float32]:
    """Return values on a loop, each the greatest of those up to `by` places away on both sides."""
    by = min(by, len(values) // 2)
    found = values.copy()
    for step in range(1, by + 1):
        for way in (step, -step):
            np.maximum(found, np.roll(values, way), out=found)
    return found


def _edge(view: View, rim: Rim, strip: _Strip, groups: NDArray[np.int64], group: int) -> LiveEdge:
    row, column = np.nonzero(groups == group)
    rows, first = np.unique(row, return_index=True)
    outer = strip.distances[column[first]]
    at, clearance = _nearest(view, rim, rows, outer)
    place = rim.points[rows[at]] + clearance * rim.into[rows[at]]
    level = np.abs(outer - median(outer)) <= BASE_MM
    return LiveEdge(
        clearance,
        Point(float(place[0]), float(place[1])),
        tuple(Point(x, y) for x, y in strip.places(rows, column[first]).tolist()),
        float(level.sum() * STEP_MM),
        "edge in a picture",
    )


def _nearest(view: View, rim: Rim, rows: NDArray[np.int64], outer: FloatArray) -> tuple[int, float]:
    """Return which of the rows (n,) of an edge is nearest to the rim, and how near, by where each
    first changes (n,): rows that are alike by the strip's steps differ by up to one of these."""
    alike = np.flatnonzero(outer <= outer.min() + BASE_MM / 2)
    if len(alike) > MOST_REFINED:
        alike = alike[np.linspace(0, len(alike) - 1, MOST_REFINED).astype(np.intp)]
    places, changes = _refined(view, rim, rows[alike], outer[alike])
    # Beside the end of a shape a row only grazes it, and tells nothing of where it ends.
    places[changes < MEETS * changes.max()] = np.inf
    best = int(places.argmin())
    return int(alike[best]), float(places[best])


def _refined(
    view: View, rim: Rim, rows: NDArray[np.int64], outer: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return for each row where the look is half-way between both sides of an edge, in mm from the
    rim (n,), and by how many levels it changes there (n,)."""
    step = min(view.grid.pitch / 3, 0.02)
    offsets = np.arange(-BASE_MM, 2 * BASE_MM, step)
    near = outer[:, None] + offsets
    at = rim.points[rows, None] + near[..., None] * rim.into[rows, None]
    every = np.abs((looks := sample(view.rgb, view.grid, at)) - looks[:, :1])
    plane = every.max(axis=1).argmax(axis=1)
    row = np.arange(len(rows))
    change = every[row, :, plane].astype(np.float64)
    most = change.max(axis=1)
    past = np.maximum((change >= most[:, None] / 2).argmax(axis=1), 1)
    low, high = change[row, past - 1], change[row, past]
    share = (most / 2 - low) / np.maximum(high - low, 1e-9)
    return near[row, past - 1] + np.clip(share, 0.0, 1.0) * step, most
