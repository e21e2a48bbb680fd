"""Lays labels out on a sheet, and finds room for the marks."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from prepcheck.errors import UsageError
from prepcheck.geometry import Box, Point
from prepcheck.labelsheet.count import shares_of
from prepcheck.labelsheet.model import CLEAR_MM, CutMark, Layout, Position, RoundPiece
from prepcheck.labelsheet.packing import Rows, middled, square_rows, staggered_rows
from prepcheck.labelsheet.paper import Paper

EDGE_MM = 3.0
"""Along the edges that do not grip nothing is printed within this; common practice, no source."""
BAND_GAP_MM = 1.0
CUT_MARK_AT_MM, CUT_MARK_MM = 1.0, 4.0
"""Cut marks begin so far outside the bleed, and are so long at most."""
ARC_MM = 2.5
"""Half the length of the arc of a cut mark."""
LEAST_CUT_MARK_MM = 1.5
LEAST_CUT_MARKS = 3
"""So many marks fix a circle."""
REGISTER_MM = 5.0
"""Size of a register mark."""

_STEP = 3.0
"""Degrees between the directions in which room for a cut mark is looked for."""
_FARTHEST = 75.0
"""Degrees of free room from which a second cut mark stands in it."""


def laid_out(
    paper: Paper,
    piece: RoundPiece,
    names: Sequence[str],
    *,
    gap_mm: float,
    shares: Mapping[str, int],
    band_mm: float,
    turns: Sequence[float] = (),
) -> Layout:
    """Return where labels and marks stand; `band_mm` is kept free at the head for the slug line,
    and `turns` are each label's degrees, none of them turned where it is empty.

    The arrangement that holds more is taken; square rows where both do, or where what was asked
    for goes into them, since they are cut apart by straight cuts. Raises UsageError where the
    sheet does not hold a label of each, or has no room for the marks.
    """
    area = Box(
        paper.margin_mm, paper.gripper_mm, paper.width - paper.margin_mm,
        paper.height - EDGE_MM - band_mm - BAND_GAP_MM,
    )  # fmt: skip
    square = square_rows(area, piece.printed, gap_mm)
    staggered = staggered_rows(area, piece.printed, gap_mm)
    wanted = sum(shares.values())
    rows = _better(square, staggered, wanted, len(names))
    counts = shares_of(names, shares, len(rows.centres), f"--sheet {paper.worded}")
    chosen = rows.centres[: sum(counts)]
    if len(chosen) < len(rows.centres):
        chosen = middled(chosen, area)
    labels = [index for index, count in enumerate(counts) for _ in range(count)]
    by = tuple(turns) or (0.0,) * len(names)
    positions = tuple(
        Position(label, centre, by[label]) for label, centre in zip(labels, chosen, strict=True)
    )
    register = _register_marks(paper, area)
    return Layout(
        paper, piece, gap_mm, rows.kind, positions, len(square.centres), len(staggered.centres),
        tuple(_cut_marks(paper, piece, positions, area)), register,
    )  # fmt: skip


def _better(square: Rows, staggered: Rows, wanted: int, labels: int) -> Rows:
    """Return the arrangement that prints more: of several labels an equal number each."""
    if wanted:
        return square if len(square.centres) >= wanted else staggered
    used = [len(rows.centres) // labels for rows in (square, staggered)]
    return staggered if used[1] > used[0] else square


def _register_marks(paper: Paper, area: Box) -> tuple[Point, ...]:
    """Return four places in the side margins, as far from each other as there is room."""
    x, half = paper.margin_mm / 2, REGISTER_MM / 2
    low, high = area.y0 + half, area.y1 - half
    return (
        Point(x, low), Point(paper.width - x, low), Point(x, high), Point(paper.width - x, high),
    )  # fmt: skip


def _cut_marks(
    paper: Paper, piece: RoundPiece, positions: Sequence[Position], area: Box
) -> list[CutMark]:
    inside = Box(EDGE_MM, area.y0, paper.width - EDGE_MM, area.y1)
    marks: list[CutMark] = []
    for position in positions:
        others = [other.centre for other in positions if other is not position]
        own = _marks_of(piece, position.centre, others, inside, paper)
        if len(own) < LEAST_CUT_MARKS:
            raise UsageError(
                f"--gap: the marks to cut round by find no room between labels of "
                f"{piece.printed:g} mm; give them more gap"
            )
        marks += own
    return marks


def _marks_of(
    piece: RoundPiece, centre: Point, others: Sequence[Point], inside: Box, paper: Paper
) -> list[CutMark]:
    inner = piece.printed / 2 + CUT_MARK_AT_MM
    near = [c for c in others if math.dist(c, centre) < 2 * piece.printed + 4 * CUT_MARK_MM]
    room = [
        _room(piece, centre, angle, inner, near, inside, paper)
        for angle in _directions()
    ]  # fmt: skip
    return [
        CutMark(centre, angle, inner, inner + room[round(angle / _STEP) % len(room)])
        for angle in _middles([length >= LEAST_CUT_MARK_MM for length in room])
    ]


def _directions() -> list[float]:
    return [index * _STEP for index in range(round(360 / _STEP))]


def _room(
    piece: RoundPiece,
    centre: Point,
    angle: float,
    inner: float,
    others: Sequence[Point],
    inside: Box,
    paper: Paper,
) -> float:
    """Return how long a cut mark may be in a direction; 0 where it has no room."""
    clear = piece.printed / 2 + CLEAR_MM + 0.2
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))

    def free(away: float, along: float) -> bool:
        x = centre.x + away * cos - along * sin
        y = centre.y + away * sin + along * cos
        if not (inside.x0 <= x <= inside.x1 and inside.y0 <= y <= inside.y1):
            return False
        beside = x < paper.margin_mm or x > paper.width - paper.margin_mm
        ends = min(y - inside.y0, inside.y1 - y)
        if beside and ends < REGISTER_MM + 1.0:  # a register mark stands there
            return False
        return all(math.dist((x, y), other) >= clear for other in others)

    if not (free(inner + 0.5, ARC_MM) and free(inner + 0.5, -ARC_MM) and free(inner, 0.0)):
        return 0.0
    length = 0.0
    while length < CUT_MARK_MM and free(inner + length + 0.5, 0.0):
        length += 0.5
    return length


def _middles(free: Sequence[bool]) -> list[float]:
    """Return directions spread over each free stretch: its middle, or several in a wide one."""
    count = len(free)
    if all(free):
        return [45.0, 135.0, 225.0, 315.0]
    start = free.index(False)
    found: list[float] = []
    run = 0
    for step in range(1, count + 1):
        if free[(start + step) % count]:
            run += 1
            continue
        if run:
            width = run * _STEP
            parts = max(1, math.ceil(width / _FARTHEST))
            first = start + step - run
            found += [
                (first + round((run - 1) * (2 * part + 1) / (2 * parts))) % count * _STEP
                for part in range(parts)
            ]
        run = 0
    return sorted(found)
