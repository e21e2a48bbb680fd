"""Path construction (ISO 32000-2, 8.5.2): coordinates to mm, curves to short lines."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache

from prepcheck.errors import ObjectError
from prepcheck.geometry import Affine, Box

FLATNESS = 0.02
"""Most that a flattened curve strays from the true one, in mm."""
MOST_STEPS = 400
"""Lines of one flattened curve; enough for a quarter of a circle 8 m wide."""

FARTHEST = 1e6
"""Places farther from the page than this many mm are damage."""

EVEN = 1e-6
"""Share by which a matrix may scale unevenly and still count as even."""
SHORT_MM = 0.3
"""Lines shorter than this do not tell how wide a stroke is."""

Run = list[float]


class PathBuilder:
    """The path under construction: `runs` are subpaths as flat coordinates in mm."""

    __slots__ = ("_run", "_start_at", "_x", "_y", "closed", "runs")

    def __init__(self) -> None:
        self.runs: list[Run] = []
        self.closed: list[bool] = []
        self._run: Run = []
        self._x = self._y = 0.0
        self._start_at = (0.0, 0.0)

    def move(self, ctm: Affine, x: float, y: float) -> None:
        a, b, c, d, e, f = ctm
        self._start(a * x + c * y + e, b * x + d * y + f)
        self._x, self._y = self._start_at = x, y

    def _start(self, x: float, y: float) -> None:
        if self.runs and len(self._run) == 2 and not self.closed[-1]:
            # A move straight after a move replaces it.
            self._run[:] = x, y
            return
        self._run = [x, y]
        self.runs.append(self._run)
        self.closed.append(False)

    def line(self, ctm: Affine, x: float, y: float) -> None:
        a, b, c, d, e, f = ctm
        self._open()
        self._run += (a * x + c * y + e, b * x + d * y + f)
        self._x, self._y = x, y

    def curve(self, ctm: Affine, points: list[float]) -> None:
        """Add a Bézier curve; `points` are two control points and the end, in user space."""
        a, b, c, d, e, f = ctm
        x1, y1, x2, y2, x3, y3 = points
        self._open()
        run = self._run
        flatten(
            run,
            a * x1 + c * y1 + e, b * x1 + d * y1 + f,
            a * x2 + c * y2 + e, b * x2 + d * y2 + f,
            a * x3 + c * y3 + e, b * x3 + d * y3 + f,
        )  # fmt: skip
        self._x, self._y = x3, y3

    def curve_from_here(self, ctm: Affine, points: list[float]) -> None:
        """Add a curve whose first control point is the current point (v)."""
        self.curve(ctm, [self._x, self._y, *points])

    def rectangle(self, ctm: Affine, x: float, y: float, width: float, height: float) -> None:
        a, b, c, d, e, f = ctm
        x0, y0 = a * x + c * y + e, b * x + d * y + f
        wx, wy, hx, hy = a * width, b * width, c * height, d * height
        self._start(x0, y0)
        self._run += (
            x0 + wx, y0 + wy, x0 + wx + hx, y0 + wy + hy, x0 + hx, y0 + hy, x0, y0,
        )  # fmt: skip
        self.closed[-1] = True
        self._x, self._y = self._start_at = x, y

    def close(self) -> None:
        run = self._run
        if not self.runs or self.closed[-1]:
            return
        self.closed[-1] = True
        self._x, self._y = self._start_at
        if run[:2] != run[-2:] or len(run) == 2:
            run += run[:2]

    def _open(self) -> None:
        """Begin a new subpath at the start of a closed one, when a line follows `h` or `re`."""
        if not self.runs:
            raise ObjectError("a line before any starting point")
        if self.closed[-1]:
            self._run = self._run[:2]
            self.runs.append(self._run)
            self.closed.append(False)

    def fillable(self) -> list[Run]:
        """Return the subpaths that have an area or a line, each closed."""
        return [run if run[:2] == run[-2:] else run + run[:2] for run in self.runs if len(run) >= 4]

    def strokable(self) -> list[Run]:
        """Return the subpaths that have a line, as they are."""
        return [run for run in self.runs if len(run) >= 4]


def bounded(matrix: Affine) -> Affine:
    """Return a map that leads to places that can be reckoned with; raises ObjectError for one
    that does not."""
    if not all(-FARTHEST * FARTHEST < value < FARTHEST * FARTHEST for value in matrix):
        raise ObjectError("the matrix leads out of all bounds")
    return matrix


def flatten(run: Run, x1: float, y1: float, x2: float, y2: float, x3: float, y3: float) -> None:
    """Append a Bézier curve from the run's last point as lines within `FLATNESS`.

    The bound is the standard one: the chord strays by at most max|B''| / 8 n², and B'' is
    largest at an end.
    """
    x0, y0 = run[-2:]
    ux, uy, vx, vy = x0 - 2 * x1 + x2, y0 - 2 * y1 + y2, x1 - 2 * x2 + x3, y1 - 2 * y2 + y3
    bend = math.sqrt(max(ux * ux + uy * uy, vx * vx + vy * vy))
    steps = min(math.ceil(math.sqrt(0.75 * bend / FLATNESS)), MOST_STEPS)
    if steps > 1:
        cx, cy = 3 * (x1 - x0), 3 * (y1 - y0)
        bx, by = 3 * (x2 - x1) - cx, 3 * (y2 - y1) - cy
        ax, ay = x3 - x0 - cx - bx, y3 - y0 - cy - by
        for t in _shares(steps):
            run += (((ax * t + bx) * t + cx) * t + x0, ((ay * t + by) * t + cy) * t + y0)
    run += (x3, y3)


@cache
def _shares(steps: int) -> tuple[float, ...]:
    """Return the inner places of a curve cut into `steps` (at most `MOST_STEPS`) parts."""
    return tuple(step / steps for step in range(1, steps))


def runs_box(runs: list[Run]) -> Box:
    """Return the box round flat runs (at least one, none empty)."""
    if len(runs) == 1:
        xs, ys = runs[0][::2], runs[0][1::2]
    else:
        xs = [x for run in runs for x in run[::2]]
        ys = [y for run in runs for y in run[1::2]]
    return Box(min(xs), min(ys), max(xs), max(ys))


def stroke_width(ctm: Affine, width: float) -> float:
    """Return a line width in mm after the transform: the narrower axis of the pen's ellipse.

    The pen is a circle of `width` in user space; its image has the matrix's singular values as
    semi-axes.
    """
    a, b, c, d, _, _ = ctm
    total = a * a + b * b + c * c + d * d
    determinant = abs(a * d - b * c)
    root = math.sqrt(max(total * total - 4 * determinant * determinant, 0.0))
    smaller = math.sqrt(max((total - root) / 2, 0.0))
    return abs(width) * smaller


def even_width(ctm: Affine, width: float) -> float | None:
    """Return a line width in mm after a transform that scales evenly; None after any other."""
    a, b, c, d, _, _ = ctm
    total = a * a + b * b + c * c + d * d
    uneven = abs(a * c + b * d) + abs(a * a + b * b - c * c - d * d) > EVEN * total
    return None if uneven and a * d != b * c else stroke_width(ctm, width)


def drawn_width(ctm: Affine, width: float, runs: Iterable[Sequence[float]]) -> float:
    """Return the width in mm that a stroke has along its lines, flat coordinates in mm: the least
    along any that is not short.

    Under an uneven scale a line has another width in each direction: the strip of `width` round it
    in user space becomes one that is wider by the matrix's area over its own lengthening.
    """
    even = even_width(ctm, width)
    if even is not None:
        return even
    a, b, c, d, _, _ = ctm
    sides = []
    for run in runs:
        for x0, y0, x1, y1 in zip(run[::2], run[1::2], run[2::2], run[3::2], strict=False):
            x, y = x1 - x0, y1 - y0
            length = math.hypot(x, y)
            if length > 0:
                # As long as it was before the transform, times the determinant.
                sides.append((length, math.hypot(d * x - c * y, a * y - b * x) / length))
    if not sides:
        return stroke_width(ctm, width)
    least = min(SHORT_MM, max(length for length, _ in sides) / 2)
    return abs(width) * min(share for length, share in sides if length >= least)


def stroke_box(runs: list[Run], ctm: Affine, width: float, butt: bool) -> Box:
    """Return the box of a stroke: half the pen round the path; a single straight line with butt
    caps ends where it ends. The reach of sharp mitres is left out."""
    a, b, c, d, _, _ = ctm
    half = abs(width) / 2
    box = runs_box(runs)
    if butt and len(runs) == 1 and len(runs[0]) == 4:
        x0, y0, x1, y1 = runs[0]
        determinant = ctm.determinant
        if determinant:
            # The pen runs across the line as it was before the transform.
            ux, uy = x1 - x0, y1 - y0
            dx, dy = (d * ux - c * uy) / determinant, (a * uy - b * ux) / determinant
            length = math.hypot(dx, dy)
            if length:
                nx, ny = -dy / length * half, dx / length * half
                return Box(
                    box.x0 - abs(a * nx + c * ny), box.y0 - abs(b * nx + d * ny),
                    box.x1 + abs(a * nx + c * ny), box.y1 + abs(b * nx + d * ny),
                )  # fmt: skip
    rx, ry = half * math.hypot(a, c), half * math.hypot(b, d)
    return Box(box.x0 - rx, box.y0 - ry, box.x1 + rx, box.y1 + ry)
