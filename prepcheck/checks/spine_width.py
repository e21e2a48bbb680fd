"""spine.width: a spine that is drawn wider or narrower than the discs need."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.measure.folds import creases
from prepcheck.outline import Panel
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.fold_colours import fold_changes
from prepcheck.sheets.spines import NO_SPINE, spines_of
from prepcheck.sheets.thresholds import short_of, worst_first
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.spec.sleeve import SpineRules
from prepcheck.words import count, mm

WIDTH = "spine.width"
MEASURE = "spine_width_mm"
WIDTHS, TOLERANCE = "spine.widths", "spine.width_tolerance_mm"
PANELS = "outline.panels"

CREASE_STEPS = ("Creasing", "Folding", "Scoring", "FoldBleed")
"""Types of the group Structural that mark lines to fold on (ISO 19593-1, from memory)."""
LEAST_SHARE = 0.5
"""A crease runs along the spine for at least this share of it."""
MOST_OFF_MM = 10.0
"""Creases further than this from the spine belong to something else."""

DECLARATIONS = (
    Declaration(
        WIDTH,
        "Spine is as wide as the discs need",
        FoundAt.FOLDING,
        (Severity.STOP,),
        "A spine drawn for one disc does not close over two: the sleeve bulges or splits, and "
        "front and back creep round the corner. It shows when the first records are put in.",
        "common practice of record plants",
        codes=("width",),
        limits=(WIDTHS, TOLERANCE),
        measures=(MEASURE,),
    ),
)


class DrawnSpine(NamedTuple):
    """How wide a spine is drawn, what shows it, and where."""

    width_mm: float
    by: str
    where: tuple[Mark, ...]


class Need(NamedTuple):
    """How wide the spine may be, for what, and the key of the limit."""

    least_mm: float
    most_mm: float
    of: str
    key: str

    @property
    def words(self) -> str:
        if self.most_mm - self.least_mm < TOLERANCE_MM:
            return mm(self.least_mm)
        return f"{mm(self.least_mm)} to {mm(self.most_mm)}"


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[list[float]]:
    rules, spines = exam.spec.spine, spines_of(sheet)
    if not spines:
        yield NotApplicable(WIDTH, NO_SPINE)
    elif rules is None:
        yield NotApplicable(WIDTH, "the spec says nothing of the spine")
    else:
        said = [_judge(exam, sheet, spine, rules) for spine in spines]
        yield from said
        own = [item.measured for item in said if not isinstance(item, NotApplicable)]
        return [width for width in own if isinstance(width, float)]
    return []


def conclude(exam: Exam, seen: Sequence[list[float]]) -> Iterator[Said]:
    widths = [width for own in seen for width in own]
    yield Measured(MEASURE, widths[0] if widths else None)


def _judge(
    exam: Exam, sheet: Sheet, spine: Panel, rules: SpineRules
) -> Finding | Clear | NotApplicable:
    drawn = _by_creases(exam, sheet, spine) or _by_colour(exam, sheet, spine)
    drawn = drawn or _by_trim(sheet, spine)
    need = _need(exam, spine, rules)
    if isinstance(need, str):
        return NotApplicable(WIDTH, need)
    if drawn is None:
        return NotApplicable(WIDTH, "nothing on the page shows how wide the spine is drawn")
    least, most = need.least_mm - rules.width_tolerance_mm, need.most_mm + rules.width_tolerance_mm
    width = round(drawn.width_mm, 2)
    if not short_of(width, least, TOLERANCE_MM) and not short_of(most, width, TOLERANCE_MM):
        why = f"the {spine.name} is drawn {mm(width)} wide ({drawn.by}); {need.of}: {need.words}"
        return Clear(WIDTH, why, width, need.words)
    return exam.finding(
        WIDTH,
        "width",
        Severity.STOP,
        f"The {spine.name} is drawn {mm(width)} wide ({drawn.by}); {need.of}: {need.words}.",
        f"Please draw the art anew on a template with a spine of {need.words}, or have the order "
        "corrected.",
        limit=need.key,
        page=sheet.number,
        measured=width,
        required=need.words,
        unit="mm",
        subject=spine.name,
        marks=worst_first(drawn.where),
    )


def _need(exam: Exam, spine: Panel, rules: SpineRules) -> Need | str:
    """Return what the order's discs need, without an order what the spec draws; or why neither."""
    if exam.order is None:
        width = min(spine.box.width, spine.box.height)
        return Need(width, width, "the spec's spine", PANELS)
    discs = exam.order.order.discs
    found = rules.width_for(discs)
    if found is None:
        return f"the spec has no spine width for {count(discs, 'disc')}"
    return Need(found.least_mm, found.most_mm, f"needed for {count(discs, 'disc')}", WIDTHS)


def _axis(spine: Panel) -> int:
    return 0 if spine.box.width <= spine.box.height else 1


def _by_creases(exam: Exam, sheet: Sheet, spine: Panel) -> DrawnSpine | None:
    layers = {
        layer.name
        for layer in exam.artwork.document.layers
        if layer.step is not None
        and layer.step[0] == "Structural"
        and layer.step[1] in CREASE_STEPS
    }
    if not layers:
        return None
    axis = _axis(spine)
    length = spine.box[3 - axis] - spine.box[1 - axis]
    contents = [sheet.content, sheet.content.hidden]
    paths = [p for c in contents if c is not None for p in c.paths if p.layer in layers]
    lines = [
        crease
        for crease in creases(paths, axis, LEAST_SHARE * length)
        if abs(crease.at - spine.box.centre[axis]) <= MOST_OFF_MM
        and Box.around(crease.path).grown(TOLERANCE_MM).overlap(spine.box.grown(MOST_OFF_MM))
    ]
    middle = spine.box.centre[axis]
    for low, high in pairwise(lines):
        if low.at <= middle <= high.at and high.at - low.at > TOLERANCE_MM:
            marks = tuple(Mark(Box.around(line.path), "crease", line.path) for line in (low, high))
            return DrawnSpine(high.at - low.at, "by the creases drawn", marks)
    return None


def _by_colour(exam: Exam, sheet: Sheet, spine: Panel) -> DrawnSpine | None:
    at: dict[str, float] = {}
    marks = []
    for fold, change in fold_changes(exam, sheet):
        if change is None or fold.axis != _axis(spine):
            continue
        if change.bare_before != change.bare_after:
            continue  # A solid beside paper is meant to overlap: it does not show the spine.
        side = "high" if fold.before == spine else "low" if fold.after == spine else None
        if side is not None:
            at[side] = fold.at + change.off_mm
            marks.append(Mark(Box.around(change.path), "colour changes", change.path))
    if len(at) < 2:
        return None
    return DrawnSpine(at["high"] - at["low"], "by where the colour changes", tuple(marks))


def _by_trim(sheet: Sheet, spine: Panel) -> DrawnSpine | None:
    """Return what the trim leaves for the spine when the faces are as wide as the spec's."""
    if not sheet.placement.found_by.measures_size:
        return None
    axis = _axis(spine)
    over = (
        sheet.placement.size_mm[axis]
        - (sheet.outline.bounds.width, sheet.outline.bounds.height)[axis]
    )
    width = spine.box[2 + axis] - spine.box[axis] + over
    if width <= 0:
        return None
    return DrawnSpine(width, "by the trim less the faces", (Mark(spine.box, "spine"),))
