"""hole.clearance: type and live edges too near the hole, or drilled through."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Circle
from prepcheck.measure.edges import LiveEdge, merged
from prepcheck.measure.guides import off_guides
from prepcheck.measure.hole import DrawnHole
from prepcheck.measure.rim import hole_rim
from prepcheck.said import Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.closer import Closer
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import (
    edge_marks,
    found_guides,
    glyphs_of,
    hole_in_art,
    hole_room_of_type,
    how_near,
    live_edges,
    of_things,
    printing,
    room_of,
    said_of_room,
    things,
    type_finding,
)
from prepcheck.sheets.near_covered import beside_type
from prepcheck.sheets.near_outlined import without_letters
from prepcheck.sheets.near_type import near_type
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.model import TOLERANCE_MM, AtLeastMm
from prepcheck.words import in_places, mm

HOLE = "hole.clearance"
CLEARANCE = "hole_clearance_mm"
LEAST, WANTED = "clearance.hole.least_mm", "clearance.hole.wanted_mm"
ONE_OBJECT_MM = 1.0
"""Edges this close together are one place."""
SAME_MM = 0.4
"""An edge that stays this close to a drawn hole's circle is that hole."""

DECLARATIONS = (
    Declaration(
        HOLE,
        "Art keeps clear of the hole",
        FoundAt.PRESSING,
        (Severity.STOP, Severity.QUERY, Severity.NOTE),
        "Labels are drilled in a stack, up to 1.5 mm off the print, and the record is thicker "
        "round the hole: type there is drilled away or creased on the step of the skirt.",
        "JIS S8502-1973 on the skirt round the hole; common practice on the error of drilling",
        codes=("type", "edge", "drilled"),
        limits=(LEAST, WANTED),
        measures=(CLEARANCE,),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    limits, hole = exam.spec.clearance.hole, sheet.outline.hole
    distance = None
    if hole is None or limits is None:
        yield NotApplicable(HOLE, "the piece has no hole")
    else:
        findings, distance = _judge(exam, sheet, hole, limits)
        yield from said_of_room(HOLE, findings, distance, limits.wanted_mm, "from", "the hole")
    yield room_of(CLEARANCE, distance)


def _judge(
    exam: Exam, sheet: Sheet, hole: Circle, limits: AtLeastMm
) -> tuple[list[Finding], float | None]:
    content = printing(exam, sheet)
    glyphs = glyphs_of(exam, sheet)
    clearances = hole_room_of_type(exam, sheet, hole)
    rim = hole_rim(hole, limits.wanted_mm)
    near, nearest = near_type(Closer(sheet), glyphs, clearances, limits.wanted_mm, rim.clearances)

    drawn = hole_in_art(exam, sheet, hole)
    guides = [found.guide for found in found_guides(exam, sheet)]
    live = [
        edge
        for edge in off_guides(live_edges(sheet, content, rim, glyphs), guides)
        if not _is_hole(edge, drawn)
    ]
    gone = [edge for edge in live if _drilled_away(edge, hole)]
    # Letters fill a line as densely as a texture does, and are none.
    whole = [edge for edge in live if edge not in gone]
    letters, letter, others = without_letters(exam, sheet, whole, limits.wanted_mm)
    told = clearances < (limits.wanted_mm if near else -np.inf)
    rest = of_things(exam, sheet, rim, beside_type(others, glyphs, told))
    near = (*near, *letters)
    findings = []
    if near:
        findings.append(
            type_finding(
                exam,
                HOLE,
                sheet,
                near,
                rim="hole",
                limits=limits,
                keys=(LEAST, WANTED),
                advice=f"Please move the type at least {mm(limits.wanted_mm)} away from the "
                "hole's edge.",
            )
        )
    close = [e for e in rest if short_of(e.clearance_mm, limits.wanted_mm, TOLERANCE_MM)]
    if close:
        places = merged(close, ONE_OBJECT_MM)
        end = min(edge.clearance_mm for edge in places)
        how = how_near(places, "drilled into by the hole", "from the hole", ("ends", "end"))
        findings.append(
            exam.finding(
                HOLE,
                "edge",
                Severity.QUERY,
                f"{how}; {mm(limits.wanted_mm)} is wanted{in_places(len(places))}.",
                f"Please move what should stay whole {mm(limits.wanted_mm)} away from the hole's "
                "edge, or let it run right across the hole.",
                limit=WANTED,
                page=sheet.number,
                measured=round(end, 2),
                marks=edge_marks(places),
            )
        )
    elif not near and (motifs := of_things(exam, sheet, rim, gone)):
        findings.append(_note(exam, sheet, motifs))
    distances = [edge.clearance_mm for edge in rest]
    distances += [distance for distance in (nearest, letter) if distance is not None]
    return findings, min(distances, default=None)


def _drilled_away(edge: LiveEdge, hole: Circle) -> bool:
    """Say whether all of a thing that ends near the hole goes with it."""
    points = np.array(edge.path)
    far = np.hypot(points[:, 0] - hole.x, points[:, 1] - hole.y).max()
    return edge.clearance_mm < 0 and bool(far <= hole.radius)


def _note(exam: Exam, sheet: Sheet, gone: Sequence[LiveEdge]) -> Finding:
    places = merged(gone, ONE_OBJECT_MM)
    verb = "goes" if len(places) == 1 else "go"
    return exam.finding(
        HOLE,
        "drilled",
        Severity.NOTE,
        f"{things(places)} {verb} with the hole, whole.",
        "Nothing needs doing unless it should be seen.",
        limit=WANTED,
        page=sheet.number,
        measured=round(min(edge.clearance_mm for edge in places), 2),
        marks=edge_marks(places),
    )


def _is_hole(edge: LiveEdge, drawn: DrawnHole | None) -> bool:
    if drawn is None:
        return False
    x, y, radius = drawn.circle
    points = np.array(edge.path)
    off = np.abs(np.hypot(points[:, 0] - x, points[:, 1] - y) - radius)
    return bool((off <= SAME_MM).all())
