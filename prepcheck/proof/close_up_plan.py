"""Decides which places of a part are shown enlarged, before anything is rendered."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from prepcheck.findings import Finding, Mark, PartResult, Severity
from prepcheck.geometry import Box, Point
from prepcheck.proof.model import InsetPlan

ENLARGEMENT = 4.0
"""How much larger than true size an inset shows the art at most."""
COARSE = 2.5
"""The same where it is cut from the picture of the page."""
INSET_MM = (54.0, 40.5)
"""Width and height of an inset on the paper, in mm; three stand side by side on A4."""
_BESIDE_MM = 4.25
"""From one inset to the next beside it; a wide one takes the room of two."""
FRAMES_MM = (
    INSET_MM,
    (2 * INSET_MM[0] + _BESIDE_MM, INSET_MM[1]),
    (INSET_MM[0], 2 * INSET_MM[1]),
    (2 * INSET_MM[0] + _BESIDE_MM, 2 * INSET_MM[1]),
)
"""The frames an inset may have, the smallest first."""
MOST_SHARP = 12
"""Insets a page of art that are rendered for themselves; more are cut from the page's picture."""
FEW_INSETS = 2
"""Insets a page of art up to which a finding's further places are shown too."""
_ENOUGH = 2.0
"""The enlargement from which a place can be seen well: a larger frame is not needed for it."""
_SHARP_FROM = 1.25
"""Below this enlargement the picture of the page is as good."""
_MARGIN_MM = 1.5
"""What is shown round a place at least, where that is not reduced."""
_WHOLE = 0.8
"""Share of the trimmed piece from which a place stands for the whole and is not enlarged."""
_AS_LARGE = 0.8
"""How much less than its own enlargement a place may be shown at together with another."""


def numbered(result: PartResult) -> tuple[tuple[int, Finding], ...]:
    """Return the findings of a part with the numbers they carry in the proof.

    While a part is examined alone they count from 1; in a whole result each has its own.
    """
    return tuple((finding.number or at, finding) for at, finding in enumerate(result.findings, 1))


def page_of(finding: Finding) -> int:
    """Return the page (1-based) a finding is shown on; one about the whole file is on the first."""
    return finding.page or 1


def centre_of(mark: Mark) -> Point:
    """Return the middle of a place in mm: half way along its path, else its box's centre."""
    if not mark.path:
        return mark.box.centre
    lengths = [math.dist(a, b) for a, b in zip(mark.path, mark.path[1:], strict=False)]
    rest = sum(lengths) / 2
    for start, end, length in zip(mark.path, mark.path[1:], lengths, strict=False):
        if length and rest <= length:
            share = rest / length
            return Point(start.x + share * (end.x - start.x), start.y + share * (end.y - start.y))
        rest -= length
    return Point(*mark.path[0])


def worst_marks(finding: Finding) -> tuple[Mark, ...]:
    """Return a finding's places, worst first."""
    return tuple(sorted(finding.where, key=lambda mark: mark.rank))


def plan_insets(result: PartResult) -> tuple[InsetPlan, ...]:
    """Return the places to show enlarged, in the order of the findings.

    Each finding's worst place is shown whole, as large as a frame holds it, and close to where
    that is not large; only where a page has few findings are second and third places shown.
    Places that one inset shows well are planned once.
    """
    return planned(numbered(result), result)


def planned(
    numbers: Sequence[tuple[int, Finding]], result: PartResult, most: float = ENLARGEMENT
) -> tuple[InsetPlan, ...]:
    """Return the places of numbered findings to show, `most` times true size at the largest."""
    plans: list[InsetPlan] = []
    for turn, number, page, mark in _candidates(numbers, result):
        if turn and sum(plan.page == page for plan in plans) >= FEW_INSETS:
            continue
        for plan, place in _views(number, page, mark, most, _covers(mark, result)):
            sharp = plan.sharp and sum(p.sharp for p in plans if p.page == page) < MOST_SHARP
            _add(plans, plan if sharp else _coarse(plan, mark), place)
    return tuple(sorted(plans, key=lambda plan: (plan.page, plan.number)))


def may_be_enlarged(finding: Finding) -> bool:
    """Say whether a place of a finding may be shown enlarged, before it is known where it ranks."""
    return finding.severity is not Severity.NOTE and bool(finding.where)


def _candidates(
    numbers: Sequence[tuple[int, Finding]], result: PartResult
) -> Iterator[tuple[int, int, int, Mark]]:
    """Yield places by turns: the worst of each finding, then second ones; notes come last."""
    placed = [
        (
            number,
            finding,
            [mark for mark in worst_marks(finding) if not stands_for_whole(mark, result)],
        )
        for number, finding in sorted(numbers, key=lambda one: one[1].severity is Severity.NOTE)
    ]
    for turn in range(3):
        for number, finding, marks in placed:
            if turn < len(marks) and not (turn and finding.severity is Severity.NOTE):
                yield turn, number, marks[turn].page or page_of(finding), marks[turn]


def _views(
    number: int, page: int, mark: Mark, most: float, shown: bool
) -> Iterator[tuple[InsetPlan, Box]]:
    """Yield the inset that shows a place whole, and one of its middle where that is small.

    Each comes with what it must show. A line round the whole piece is `shown` on its page.
    """
    whole = _framed(number, page, mark, most)
    if whole.enlargement < _ENOUGH and most > COARSE:
        width, height = (side / most for side in INSET_MM)
        close = Box.centred(width, height, centre_of(mark))
        yield InsetPlan(number, page, close, most), close.grown(-min(width, height) / 4)
    if not shown:
        yield whole, mark.box


def _framed(number: int, page: int, mark: Mark, most: float) -> InsetPlan:
    """Return a place whole in the smallest frame that shows it well, else in the best."""
    box = mark.box
    fits = []
    for width, height in FRAMES_MM:
        wanted = (
            width / (box.width + 2 * _MARGIN_MM),
            height / (box.height + 2 * _MARGIN_MM),
            most,
        )
        fits.append((min(wanted), width, height))
    good = next((fit for fit in fits if fit[0] >= _ENOUGH), None)
    scale, width, height = good or max(fits, key=lambda fit: (round(fit[0], 2), -fit[1] * fit[2]))
    if scale > 1:
        scale = math.floor(10 * scale) / 10
    shown = Box.centred(width / scale, height / scale, _middle(mark, width / scale, height / scale))
    return InsetPlan(number, page, shown, scale, sharp=scale >= _SHARP_FROM)


def _middle(mark: Mark, width: float, height: float) -> Point:
    """Return where a frame is centred so that it holds a place, near the middle of its path, with
    what is round it."""
    centre, box = centre_of(mark), mark.box.grown(_MARGIN_MM)
    x_room, y_room = (max(0.0, (a - b) / 2) for a, b in ((width, box.width), (height, box.height)))
    middle = box.centre
    return Point(
        min(max(centre.x, middle.x - x_room), middle.x + x_room),
        min(max(centre.y, middle.y - y_room), middle.y + y_room),
    )


def _coarse(plan: InsetPlan, mark: Mark) -> InsetPlan:
    """Return an inset as it can be cut from the picture of the page."""
    if plan.enlargement <= COARSE:
        return replace(plan, sharp=False)
    return replace(_framed(plan.number, plan.page, mark, COARSE), sharp=False)


def _add(plans: list[InsetPlan], plan: InsetPlan, place: Box) -> None:
    """Add an inset, unless one that is there already shows its place whole and as large."""
    for index, other in enumerate(plans):
        if (
            other.page == plan.page
            and other.enlargement >= _AS_LARGE * plan.enlargement
            and other.box.union(place) == other.box
        ):
            if plan.number != other.number and plan.number not in other.also:
                plans[index] = replace(other, also=(*other.also, plan.number))
            return
    plans.append(plan)


def stands_for_whole(mark: Mark, result: PartResult) -> bool:
    """Say whether a place is the piece as a whole, which its page shows already."""
    return not mark.path and _covers(mark, result)


def _covers(mark: Mark, result: PartResult) -> bool:
    if result.trim_mm is None:
        return False
    width, height = result.trim_mm
    return mark.box.area >= _WHOLE * width * height
