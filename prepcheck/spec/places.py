"""The lines of a piece that a template shows, and the processing step that each stands for.

One list for those who draw templates and for those who look for them in art, so that neither can
know a line that the other does not.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum
from typing import NamedTuple

import numpy as np

from prepcheck.geometry import Box, Circle, FloatArray, Segment
from prepcheck.outline import Outline, Panel
from prepcheck.spec.model import Spec

BARCODE_ROOM_MM = (37.29, 27.85)
"""Room for an EAN-13 at its nominal size with quiet zones and digits (published guide of a GS1
member organisation)."""
LEAST_ROOM_MM = 0.5
"""A safe area narrower than this is not worth drawing."""
_SAME_MM = 0.01


class Step(Enum):
    """Processing steps: group and type of ISO 19593-1."""

    CUT = ("Structural", "Cutting")
    HOLE = ("Structural", "Drilling")
    FOLD = ("Structural", "Creasing")
    GLUE = ("Structural", "Gluing")
    INK_FREE = ("Structural", "InkFree")
    BLEED = ("Structural", "Bleed")
    SAFE = ("Positions", "ContentArea")
    BARCODE = ("Positions", "Barcode")
    DIMENSIONS = ("Dimensions", None)
    LEGEND = ("Legend", None)

    @property
    def word(self) -> str:
        """The step's type, or its group where the standard gives it no type."""
        return self.kind or self.group

    @property
    def group(self) -> str:
        """The step's group."""
        group: str = self.value[0]
        return group

    @property
    def kind(self) -> str | None:
        """The step's type; None where the standard gives the group none."""
        kind: str | None = self.value[1]
        return kind


class Place(NamedTuple):
    """A line: what it marks, its corners (n, 2) in mm in the piece's frame, whether it is
    closed, and the circle itself where it is one."""

    step: Step
    name: str
    points: FloatArray
    closed: bool
    circle: Circle | None = None


def places_of(spec: Spec, outline: Outline) -> tuple[Place, ...]:
    """Return every line that a template of one of a spec's pages shows, each once."""
    places = [*_loops(Step.CUT, "trim", outline, 0.0)]
    if spec.bleed.wanted_mm:
        places += _loops(Step.BLEED, "bleed", outline, spec.bleed.wanted_mm)
    places += [_fold(fold) for fold in outline.folds]
    places += _flaps(spec, outline)
    places += _safe(spec, outline)
    places += _hole(spec, outline)
    zone = barcode_zone(spec, outline)
    if zone is not None:
        places.append(_box(Step.BARCODE, "barcode zone", zone))
    return tuple(places)


def _loops(step: Step, name: str, outline: Outline, offset: float) -> Iterator[Place]:
    for contour in outline.contour(offset):
        yield Place(step, name, contour.points, True, contour.circle)


def _fold(fold: Segment) -> Place:
    return Place(Step.FOLD, fold.name, np.array((fold.start, fold.end), np.float64), False)


def _box(step: Step, name: str, box: Box) -> Place:
    return Place(step, name, np.array(box.corners, np.float64), True)


def _flaps(spec: Spec, outline: Outline) -> Iterator[Place]:
    for panel in outline.panels:
        if panel.kind != "flap":
            continue
        yield _box(Step.GLUE, panel.name, panel.box)
        free = ink_free(spec, outline, panel)
        if free is not None:
            yield _box(Step.INK_FREE, f"part of the {panel.name} without ink", free)


def ink_free(spec: Spec, outline: Outline, flap: Panel) -> Box | None:
    """Return where a flap must stay free of ink: all but the overlap beside its fold."""
    if flap.ink_allowed or spec.glue is None:
        return None
    at_folds = fold_sides(flap.box, outline)
    over = [spec.glue.ink_overlap_mm if at_fold else 0.0 for at_fold in at_folds]
    box = _inset(flap.box, over)
    return box if min(box.width, box.height) >= LEAST_ROOM_MM else None


def fold_sides(box: Box, outline: Outline) -> tuple[bool, bool, bool, bool]:
    """Say whether a fold runs along the left, bottom, right and top of a box."""

    def along(upright: bool, at: float, low: float, high: float) -> bool:
        axis = 0 if upright else 1
        return any(
            abs(fold.start[axis] - at) < _SAME_MM
            and abs(fold.end[axis] - at) < _SAME_MM
            and min(max(fold.start[1 - axis], fold.end[1 - axis]), high)
            - max(min(fold.start[1 - axis], fold.end[1 - axis]), low)
            > (high - low) / 2
            for fold in outline.folds
        )

    return (
        along(True, box.x0, box.y0, box.y1),
        along(False, box.y0, box.x0, box.x1),
        along(True, box.x1, box.y0, box.y1),
        along(False, box.y1, box.x0, box.x1),
    )


def _inset(box: Box, by: list[float]) -> Box:
    left, bottom, right, top = by
    return Box(box.x0 + left, box.y0 + bottom, box.x1 - right, box.y1 - top)


def safe_box(spec: Spec, outline: Outline, panel: Panel) -> Box | None:
    """Return a panel's safe area: clear of the trim and of the folds beside it."""
    trim = spec.clearance.trim.wanted_mm
    fold = trim if spec.clearance.fold is None else spec.clearance.fold.wanted_mm
    sides = fold_sides(panel.box, outline)
    box = _inset(panel.box, [fold if at_fold else trim for at_fold in sides])
    return box if min(box.width, box.height) >= LEAST_ROOM_MM else None


def _safe(spec: Spec, outline: Outline) -> Iterator[Place]:
    if not spec.clearance.trim.wanted_mm:
        return
    if len(outline.panels) == 1:
        yield from _loops(Step.SAFE, "safe area", outline, -spec.clearance.trim.wanted_mm)
        return
    for panel in outline.panels:
        box = None if panel.kind == "flap" else safe_box(spec, outline, panel)
        if box is not None:
            yield _box(Step.SAFE, f"safe area of the {panel.name}", box)


def _hole(spec: Spec, outline: Outline) -> Iterator[Place]:
    if outline.hole is None:
        return
    yield Place(Step.HOLE, "hole", outline.hole.points(), True, outline.hole)
    if spec.clearance.hole is not None and spec.clearance.hole.wanted_mm:
        x, y, radius = outline.hole
        ring = Circle(x, y, radius + spec.clearance.hole.wanted_mm)
        yield Place(Step.SAFE, "safe ring of the hole", ring.points(), True, ring)


def barcode_zone(spec: Spec, outline: Outline) -> Box | None:
    """Return where the barcode goes: the lower right of the back as it is read, clear of folds
    and trim (GS1 placement); None where the page carries none."""
    if spec.barcode is None or not spec.barcode.expected:
        return None
    back = next((p for p in outline.panels if p.name == "back"), None)
    if back is None:
        return None
    away, (wide, high) = spec.barcode.edge_wanted_mm, BARCODE_ROOM_MM
    if back.reads in ("left", "right"):
        wide, high = high, wide
    box = back.box.grown(-away)
    if box.width < wide or box.height < high:
        return None
    at_right = back.reads in ("up", "left")
    at_bottom = back.reads in ("up", "right")
    x0 = box.x1 - wide if at_right else box.x0
    y0 = box.y0 if at_bottom else box.y1 - high
    return Box(x0, y0, x0 + wide, y0 + high)
