"""Plain paths, many at once: pieces of path construction as written, to corners in mm.

Does for arrays of operators what `paths.PathBuilder` does for one at a time, with the same
formulas in the same order, so that both give the same numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.pdf.content.decimals import decimals
from prepcheck.art.pdf.content.paths import FLATNESS, MOST_STEPS
from prepcheck.geometry import Affine, FloatArray

Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]

_M, _L, _C, _V, _Y, _H, _R = b"mlcvyhr"
_NUMERIC = b"0123456789+-. \x00\t\n\x0c\re"
_SPACED = bytes.maketrans(b"mlcvyhre", b" " * 8)
OPERANDS = {b"m": 2, b"l": 2, b"c": 6, b"v": 4, b"y": 4, b"h": 0, b"re": 4}
"""Numbers that are due to each path construction operator (8.5.2)."""
_OWED = {operator[0]: due for operator, due in OPERANDS.items()}
_DUE = np.zeros(256, np.intp)
_DUE[list(_OWED)] = list(_OWED.values())
_END = np.zeros(256, np.intp)
_END[[_C, _V, _Y]] = 2, 1, 1
"""Which of an operator's points is the one that it ends at."""


def letters(path: bytes) -> bytes:
    """Return one letter for each operator of a path with numbers only; `r` for `re`."""
    return path.translate(None, _NUMERIC)


def coordinates(path: bytes) -> list[float]:
    """Return all operands of a plain path in their order."""
    return [*map(float, path.translate(_SPACED).split())]


def pieces(path: bytes) -> Iterator[tuple[bytes, list[float]]]:
    """Yield each operator of a plain path with its operands."""
    values, at = coordinates(path), 0
    for letter in letters(path):
        due = _OWED[letter]
        yield b"re" if letter == _R else bytes((letter,)), values[at : at + due]
        at += due


class PlainCorners(NamedTuple):
    """What n paths come to: `points` (k, 2) in mm, closed where they are filled. Subpath i is
    `points[starts[i] : starts[i + 1]]`; path j has the subpaths `runs[j]` to `runs[j + 1]`.
    Lone points are left out, so that a path may have none."""

    points: FloatArray
    starts: Indices
    runs: Indices


class _Steps(NamedTuple):
    """The operators of many paths, arrays (n,) or (n, 2): where each starts its subpath and where
    it ends, in mm, and the end of the one before it."""

    code: NDArray[np.uint8]
    before: FloatArray
    start: FloatArray
    end: FloatArray
    first: Flags
    last: Flags

    def are(self, letters: bytes) -> Flags:
        table = np.zeros(256, np.bool_)
        table[list(letters)] = True
        return table[self.code]


class PlainPaths(NamedTuple):
    """n plain paths, none empty, each of which begins with `m` or `re`: their `letters` in a row,
    with a further `h` where painting closes a path; how many letters each has (n,); and all their
    operands in a row."""

    code: NDArray[np.uint8]
    lengths: Indices
    values: FloatArray

    @classmethod
    def of(cls, paths: Sequence[bytes], codes: Sequence[bytes]) -> PlainPaths:
        """Return paths as written, with their letters."""
        return cls(
            np.frombuffer(b"".join(codes), np.uint8),
            np.fromiter(map(len, codes), np.intp, len(codes)),
            decimals(b" ".join(paths).translate(_SPACED)),
        )


def corners(
    paths: PlainPaths, ctms: Sequence[Affine], which: Indices, filled: Flags
) -> PlainCorners:
    """Return the corners of plain paths.

    `which` says for each path the map from user space to mm, `filled` (n,) which get every
    subpath closed.
    """
    code, lengths = paths.code, paths.lengths
    last = np.cumsum(lengths) - 1
    owner = np.repeat(np.arange(len(lengths)), lengths)
    values = paths.values.reshape(-1, 2)
    due = _DUE[code] // 2
    at = np.cumsum(due) - due
    matrix = _matrices(ctms, which, owner, due)
    points = _mapped(matrix, values)

    index = np.arange(len(code))
    starting = (code == _M) | (code == _R)
    start_at = at[np.maximum.accumulate(np.where(starting, index, 0))]
    end_at = np.where(code == _H, start_at, at + _END[code])
    first, ending = np.zeros(len(code), np.bool_), np.zeros(len(code), np.bool_)
    first[last - lengths + 1] = ending[last] = True
    before = points[end_at[index - 1]]
    steps = _Steps(code, before, points[start_at], points[end_at], first, ending)

    shut = steps.are(b"hr")
    reopened = np.concatenate(([False], shut[:-1])) & steps.are(b"lcvy") & ~first
    out_of = np.concatenate((starting[1:], [True])) | ending
    moved = (code == _M) & ~out_of
    closed = _closing(steps, shut)
    fill = filled[owner]
    tail = fill & steps.are(b"lcvy") & out_of & (steps.end != steps.start).any(axis=1)

    curve = np.flatnonzero(steps.are(b"cvy"))
    controls = _controls(code[curve], before[curve], at[curve], points)
    cuts = _cuts(controls)
    body = (moved | closed | (code == _L)).astype(np.intp)
    body[code == _R] = 5
    body[curve] = cuts
    emitted = reopened + body + tail
    to = np.cumsum(emitted) - emitted
    out = np.empty((int(emitted.sum()), 2))
    out[to[reopened]] = steps.start[reopened]
    whole = moved | closed | steps.are(b"lcvy")
    out[(to + reopened + body - 1)[whole]] = steps.end[whole]
    out[(to + emitted - 1)[tail]] = steps.start[tail]
    _put_rectangles(out, to[code == _R], at[code == _R], points, values, matrix)
    _put_curves(out, (to + reopened)[curve], controls, cuts)

    opening = moved | reopened | (code == _R)
    count = np.bincount(owner[opening], minlength=len(lengths))
    return PlainCorners(
        out,
        np.concatenate((to[opening], [len(out)])),
        np.concatenate(([0], np.cumsum(count))),
    )


def _matrices(ctms: Sequence[Affine], which: Indices, owner: Indices, due: Indices) -> FloatArray:
    """Return the map of each point (6, k); the same one mostly stands for many paths."""
    matrices = np.array(ctms, np.float64)
    if np.all(matrices == matrices[0]):
        return np.broadcast_to(matrices[0][:, None], (6, int(due.sum())))
    return matrices[which[np.repeat(owner, due)]].T


def _mapped(matrix: FloatArray, points: FloatArray) -> FloatArray:
    a, b, c, d, e, f = matrix
    x, y = points.T
    return np.stack((a * x + c * y + e, b * x + d * y + f), axis=1)


def _closing(steps: _Steps, shut: Flags) -> Flags:
    """Say which `h` draw a line: on an open subpath that is not back at its start, or a point."""
    open_before = ~np.concatenate(([False], shut[:-1])) & ~steps.first
    at_point = np.concatenate(([False], steps.code[:-1] == _M))
    away = (steps.before != steps.start).any(axis=1)
    return np.asarray((steps.code == _H) & open_before & (at_point | away))


def _controls(
    code: NDArray[np.uint8], before: FloatArray, at: Indices, points: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return the four points of each curve (8.5.2.2)."""
    from_here = code == _V
    first = np.where(from_here[:, None], before, points[at])
    second = points[np.where(from_here, at, at + 1)]
    return before, first, second, points[at + _END[code]]


def _cuts(controls: tuple[FloatArray, FloatArray, FloatArray, FloatArray]) -> Indices:
    """Return the number of lines of each curve; see `paths.flatten`."""
    bends = [
        ((one - 2 * two + three) ** 2).sum(axis=1)
        for one, two, three in (controls[:3], controls[1:])
    ]
    bend = np.sqrt(np.maximum(*bends))
    steps = np.ceil(np.sqrt(0.75 * bend / FLATNESS))
    return np.asarray(np.clip(steps, 1, MOST_STEPS), np.intp)


def _put_curves(
    out: FloatArray,
    to: Indices,
    controls: tuple[FloatArray, FloatArray, FloatArray, FloatArray],
    cuts: Indices,
) -> None:
    """Write the inner corners of curves; see `paths.flatten`."""
    p0, p1, p2, p3 = controls
    c = 3 * (p1 - p0)
    b = 3 * (p2 - p1) - c
    a = p3 - p0 - c - b
    inner = cuts - 1
    curve = np.repeat(np.arange(len(cuts)), inner)
    step = np.arange(len(curve)) - np.repeat(np.cumsum(inner) - inner, inner)
    t = ((step + 1) / cuts[curve])[:, None]
    out[to[curve] + step] = ((a[curve] * t + b[curve]) * t + c[curve]) * t + p0[curve]


def _put_rectangles(
    out: FloatArray,
    to: Indices,
    at: Indices,
    points: FloatArray,
    values: FloatArray,
    matrix: FloatArray,
) -> None:
    a, b, c, d, _, _ = matrix[:, at]
    corner = points[at]
    width, height = values[at + 1].T
    across = np.stack((a * width, b * width), axis=1)
    up = np.stack((c * height, d * height), axis=1)
    out[to] = out[to + 4] = corner
    out[to + 1] = corner + across
    out[to + 2] = corner + across + up
    out[to + 3] = corner + up
