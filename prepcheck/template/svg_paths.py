"""Paths of SVG (SVG 2, chapter 9) as lines of corners."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

import numpy as np

from prepcheck.geometry import FloatArray

NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_COMMAND = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*)")
_N, _FLAG = f"({NUMBER.pattern})", "([01])"
_ARC = re.compile(r"[\s,]*".join(("", _N, _N, _N, _FLAG, _FLAG, _N, _N)))
"""An arc's numbers; its two flags need nothing between them and what follows."""
_SIZES = {"M": 2, "L": 2, "T": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "A": 7}
_STEPS = 181
"""Corners of a curve: a half circle has one at its middle."""


def subpaths(source: str) -> Iterator[FloatArray]:
    """Yield the subpaths of a path as corners (n, 2), a closed one with its first corner again."""
    here, start = np.zeros(2), np.zeros(2)
    handle: FloatArray | None = None
    """The last control point, for the curves that go on smoothly; `smooth` says of which kind."""
    smooth = ""
    run: list[FloatArray] = []
    for command, inner in _COMMAND.findall(source):
        kind = command.upper()
        if kind == "Z":
            if run:
                yield np.array([*run, start])
            run, here, smooth = [], start, ""
            continue
        for i, part in enumerate(_parts(kind, inner)):
            base = here if command.islower() else np.zeros(2)
            if kind == "H":
                end = np.array((base[0] + part[0], here[1]))
            elif kind == "V":
                end = np.array((here[0], base[1] + part[0]))
            else:
                end = base + np.array(part[-2:])
            if kind == "M" and i == 0:
                if len(run) > 1:
                    yield np.array(run)
                run, start, here, smooth = [end], end, end, ""
                continue
            run = run or [here]
            points = [base + np.array(part[k : k + 2]) for k in range(0, len(part) - 1, 2)]
            before, smooth = smooth, ""
            if kind in "CS":
                reflected = 2 * here - handle if before == "C" and handle is not None else here
                first, second = points[:2] if kind == "C" else (reflected, points[0])
                run += list(bezier(here, first, second, end))
                handle, smooth = second, "C"
            elif kind in "QT":
                reflected = 2 * here - handle if before == "Q" and handle is not None else here
                middle = points[0] if kind == "Q" else reflected
                # A curve of the second degree is one of the third (SVG 2, 9.3.7).
                run += list(
                    bezier(here, here + 2 / 3 * (middle - here), end + 2 / 3 * (middle - end), end)
                )
                handle, smooth = middle, "Q"
            elif kind == "A":
                run += list(arc(here, part, end))
            else:
                run.append(end)
            here = end
    if len(run) > 1:
        yield np.array(run)


def _parts(kind: str, inner: str) -> Iterator[list[float]]:
    if kind == "A":
        yield from ([float(n) for n in match] for match in _ARC.findall(inner))
        return
    n = [float(value) for value in NUMBER.findall(inner)]
    size = _SIZES[kind]
    for i in range(0, len(n) - size + 1, size):
        yield n[i : i + size]


def bezier(here: FloatArray, first: FloatArray, second: FloatArray, end: FloatArray) -> FloatArray:
    """Return points (n, 2) along a curve of the third degree, without its beginning."""
    t = np.linspace(0.0, 1.0, _STEPS)[1:, None]
    return np.asarray(
        (1 - t) ** 3 * here
        + 3 * (1 - t) ** 2 * t * first
        + 3 * (1 - t) * t**2 * second
        + t**3 * end
    )


def arc(here: FloatArray, part: Sequence[float], end: FloatArray) -> FloatArray:
    """Return points (n, 2) along an arc of an ellipse, without its beginning.

    `part` holds its radii, its turn in degrees, and the flags for the larger arc and for the way
    round. Source: SVG 2, appendix B.2.4 and B.2.5.
    """
    rx, ry, turn, large, sweep = abs(part[0]), abs(part[1]), part[2], part[3], part[4]
    if rx == 0 or ry == 0 or bool(np.allclose(here, end)):
        return end[None, :]
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    upright = np.array(((cos, sin), (-sin, cos)))
    half = upright @ (here - end) / 2
    grown = math.sqrt(max(1.0, (half[0] / rx) ** 2 + (half[1] / ry) ** 2))
    radii = np.array((rx, ry)) * grown
    x, y = half / radii
    away = x**2 + y**2
    factor = math.sqrt(max(0.0, (1 - away) / away)) * (-1 if large == sweep else 1)
    middle = factor * np.array((y, -x)) * radii
    centre = upright.T @ middle + (here + end) / 2
    first, last = ((half - middle) / radii, (-half - middle) / radii)
    a0, a1 = (math.atan2(v[1], v[0]) for v in (first, last))
    if sweep and a1 < a0:
        a1 += 2 * math.pi
    if not sweep and a1 > a0:
        a1 -= 2 * math.pi
    angles = np.linspace(a0, a1, _STEPS)[1:]
    points = np.column_stack((radii[0] * np.cos(angles), radii[1] * np.sin(angles)))
    placed = points @ upright + centre
    placed[-1] = end
    return np.asarray(placed)
