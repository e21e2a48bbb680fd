"""flap.inked: ink or varnish where glue must hold."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box, Grid
from prepcheck.measure.components import label
from prepcheck.outline import Panel
from prepcheck.press.view import ByteArray
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.thresholds import worst_first
from prepcheck.spec.sleeve import Gluing
from prepcheck.words import count, listed, mm

INKED = "flap.inked"
MEASURE = "flap_ink_mm2"
FLAPS, OVERLAP = "outline.flaps", "glue.ink_overlap_mm"

INK_PERCENT = 3.0
"""Ink below this is bare paper: fainter tints break up on the press, and JPEG leaves as much."""
SPECK_MM2 = 1.0
"""Ink on less than this in one place does not keep glue from holding."""
LINE_ROOM_MM = 0.5
"""Room round lines of processing steps, which are drawn and not printed."""

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        INKED,
        "Glue flaps are bare",
        FoundAt.FOLDING,
        (Severity.STOP,),
        "Glue holds on paper. On ink it holds badly, on varnish not at all, and the sleeve opens "
        "in the carton or on the shelf. A little ink past the fold is wanted, so that no white "
        "shows where the fold wanders.",
        "common practice of record plants",
        codes=("inked",),
        limits=(FLAPS, OVERLAP),
        measures=(MEASURE,),
    ),
)


class Spot(NamedTuple):
    """Ink in one place: its box and its area."""

    box: Box
    area_mm2: float


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[float | None]:
    rules = exam.spec.glue
    flaps = [panel for panel in sheet.outline.panels if not panel.ink_allowed]
    if not flaps:
        yield NotApplicable(INKED, "no flap that must stay bare is part of the art")
        return None
    if rules is None:
        yield NotApplicable(INKED, "the spec does not say how far ink may run on to a flap")
        return None
    said, area = _judge(exam, sheet, flaps, rules)
    yield said
    return area


def conclude(exam: Exam, seen: Sequence[float | None]) -> Iterator[Said]:
    areas = [area for area in seen if area is not None]
    yield Measured(MEASURE, round(sum(areas), 1) if areas else None)


def _judge(
    exam: Exam, sheet: Sheet, flaps: list[Panel], rules: Gluing
) -> tuple[Finding | Clear, float]:
    # The plates, not the view: a colourless varnish is on its plate alone.
    plates = sheet.plates
    ink, grid = plates.greatest, plates.grid
    mask = _no_ink_zone(sheet, flaps, grid, rules.ink_overlap_mm)
    _leave_out_lines(exam, sheet, mask, grid)
    inked = mask & (ink >= INK_PERCENT / 100 * 255)
    spots = [spot for spot in _spots(inked, ink, grid) if spot.area_mm2 >= SPECK_MM2]
    area = sum(spot.area_mm2 for spot in spots)
    if not spots:
        why = f"{count(len(flaps), 'flap')} bare beyond {mm(rules.ink_overlap_mm)} of overlap"
        return Clear(INKED, why, 0.0, 0.0, "mm²"), 0.0
    names = listed(
        f"the {flap.name}" for flap in flaps if any(flap.box.overlap(s.box) for s in spots)
    )
    carried = [
        name for name in plates.inks if (plates.plate(name)[inked] >= INK_PERCENT / 100 * 255).any()
    ]
    which = f" ({listed(carried)})" if carried else ""
    finding = exam.finding(
        INKED,
        "inked",
        Severity.STOP,
        f"Ink{which} covers {area:.0f} mm² of {names}, where glue must hold.",
        f"Please take ink and varnish off the flap beyond {mm(rules.ink_overlap_mm)} past the "
        "fold.",
        limit=OVERLAP,
        page=sheet.number,
        measured=round(area, 1),
        required=0.0,
        unit="mm²",
        marks=worst_first(
            [
                Mark(
                    s.box, f"ink {s.area_mm2:.0f} mm²", value=round(s.area_mm2, 1), rank=-s.area_mm2
                )
                for s in spots
            ]
        ),
    )
    return finding, area


def _no_ink_zone(
    sheet: Sheet, flaps: list[Panel], grid: Grid, overlap_mm: float
) -> NDArray[np.bool_]:
    """Return where no ink may be: the flaps, but for the overlap round what is printed."""
    mask = np.zeros((grid.height, grid.width), bool)
    edge = grid.pitch
    for flap in flaps:
        mask[grid.window(flap.box.grown(-edge))] = True
    for panel in sheet.outline.panels:
        if panel.ink_allowed:
            mask[grid.window(panel.box.grown(overlap_mm + edge))] = False
    return mask


def _leave_out_lines(exam: Exam, sheet: Sheet, mask: NDArray[np.bool_], grid: Grid) -> None:
    steps = exam.step_layers
    for path in sheet.content.paths:
        if path.layer not in steps:
            continue
        for line in path.lines():
            for start, end in zip(line[:-1].tolist(), line[1:].tolist(), strict=True):
                box = Box.around((tuple(start), tuple(end)))
                mask[grid.window(box.grown(path.stroke_mm / 2 + LINE_ROOM_MM))] = False


def _spots(inked: NDArray[np.bool_], ink: ByteArray, grid: Grid) -> Iterator[Spot]:
    """Yield the places with ink; a pixel on a spot's edge counts by the share that is inked."""
    if not inked.any():
        return
    joined = np.ones(len(inked), bool)
    joined[-1] = False
    groups = label(inked, joined)
    rows, columns = np.nonzero(inked)
    group = groups[rows, columns]
    number = int(group.max()) + 1
    counts = np.bincount(group, minlength=number)
    amounts = ink[rows, columns]
    for index in np.flatnonzero(counts * grid.pitch**2 >= SPECK_MM2).tolist():
        own = group == index
        covered = float(np.minimum(amounts[own] / np.median(amounts[own]), 1.0).sum())
        corners = np.array(
            ((columns[own].min(), rows[own].max() + 1), (columns[own].max() + 1, rows[own].min())),
            np.float64,
        )
        (x0, y0), (x1, y1) = grid.places(corners).tolist()
        yield Spot(Box(x0, y0, x1, y1), covered * grid.pitch**2)
