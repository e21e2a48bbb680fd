"""fold.clearance: type across or too near a fold, and objects that end beside one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import FloatArray
from prepcheck.measure.clearance import Glyphs
from prepcheck.measure.edges import LiveEdge, merged
from prepcheck.measure.foldends import LONG, ends_near
from prepcheck.measure.folds import Fold, folds_of, places_clearances, type_clearances
from prepcheck.measure.guides import off_guides
from prepcheck.measure.rim import fold_rim
from prepcheck.said import Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.closer import MOST_CLOSER, Closer
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import (
    edge_marks,
    fold_room_of_type,
    found_guides,
    glyphs_of,
    of_things,
    pictured_edges,
    printing,
    room_of,
    said_of_room,
    short_text,
    things,
)
from prepcheck.sheets.near_covered import beside_type
from prepcheck.sheets.near_outlined import by_line
from prepcheck.sheets.near_type import NearType, near_type
from prepcheck.sheets.thresholds import short_of, worst_first
from prepcheck.spec.model import TOLERANCE_MM, AtLeastMm
from prepcheck.words import in_places, mm

FOLD = "fold.clearance"
CLEARANCE = "fold_clearance_mm"
LEAST, WANTED = "clearance.fold.least_mm", "clearance.fold.wanted_mm"

ONE_OBJECT_MM = 1.0
"""Edges this close together are one place: the letters of a word drawn as outlines."""

DECLARATIONS = (
    Declaration(
        FOLD,
        "Art keeps clear of the folds",
        FoundAt.FOLDING,
        (Severity.STOP, Severity.QUERY),
        "A crease breaks the ink and wanders by up to a millimetre. Type on it cracks or slides "
        "round the corner, and an edge that ends just beside it shows every tenth by which the "
        "fold is off. A picture that runs across a fold is no fault.",
        "common practice of record plants",
        codes=("type", "edge"),
        limits=(LEAST, WANTED),
        measures=(CLEARANCE,),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    limits, folds = exam.spec.clearance.fold, folds_of(sheet.outline)
    distance = None
    if not folds:
        yield NotApplicable(FOLD, "the piece has no fold")
    elif limits is None:
        yield NotApplicable(FOLD, "the spec asks for no room beside folds")
    else:
        findings, distance = _judge(exam, sheet, folds, limits)
        yield from said_of_room(FOLD, findings, distance, limits.wanted_mm, "from", "a fold")
    yield room_of(CLEARANCE, distance)


def _judge(
    exam: Exam, sheet: Sheet, folds: Sequence[Fold], limits: AtLeastMm
) -> tuple[list[Finding], float | None]:
    content = printing(exam, sheet)
    glyphs = glyphs_of(exam, sheet)
    room = fold_room_of_type(exam, sheet, folds)

    def clearances_of(places: FloatArray, first: NDArray[np.intp]) -> FloatArray:
        every = [places_clearances(places, first, fold) for fold in folds]
        return np.asarray(np.min(every, axis=0))

    # A spine may be too narrow for the wanted room; there the least is enough. Beside it lie the
    # same places of the page.
    closer = Closer(sheet, 2 * MOST_CLOSER)
    spine, first = near_type(closer, glyphs, room.spine, limits.least_mm, clearances_of)
    faces, second = near_type(closer, glyphs, room.face, limits.wanted_mm, clearances_of)
    findings = []
    if near := (*spine, *faces):
        findings.append(_type_finding(exam, sheet, near, folds, limits))
    told = room.all < (limits.wanted_mm if near else -np.inf)
    edges = beside_type(list(_edges(exam, sheet, content, glyphs, folds, limits)), glyphs, told)
    if edges:
        findings.append(_edge_finding(exam, sheet, edges, limits.wanted_mm))
    found = [distance for distance in (first, second) if distance is not None]
    return findings, min([*found, *(edge.clearance_mm for edge in edges)], default=None)


def _type_finding(
    exam: Exam,
    sheet: Sheet,
    near: Sequence[NearType],
    folds: Sequence[Fold],
    limits: AtLeastMm,
) -> Finding:
    worst = min(near, key=lambda item: item.clearance_mm)
    nearest = worst.clearance_mm
    stops = short_of(nearest, limits.least_mm, TOLERANCE_MM)
    required = limits.least_mm if stops else limits.wanted_mm
    corners = np.array([worst.box.corners], np.float64)
    fold = min(folds, key=lambda fold: float(type_clearances(corners, fold)[0]))
    across = sum(item.clearance_mm < 0 for item in near)
    if across:
        how = f"runs across {fold.words}"
    else:
        how = f"lies {mm(nearest)} from {fold.words}"
    marks = [
        Mark(
            item.box,
            f"'{short_text(item.text)}' "
            + ("across the fold" if item.clearance_mm < 0 else mm(item.clearance_mm)),
            value=round(item.clearance_mm, 2),
            rank=round(item.clearance_mm, 3),
        )
        for item in near
    ]
    return exam.finding(
        FOLD,
        "type",
        Severity.STOP if stops else Severity.QUERY,
        f"Type {how}; {mm(required)} clear of it {'is the minimum' if stops else 'is wanted'}"
        f"{in_places(len(near))}.",
        f"Please move the type at least {mm(limits.wanted_mm)} away from the fold; on the spine, "
        "set it smaller or in the middle.",
        limit=LEAST if stops else WANTED,
        page=sheet.number,
        measured=round(nearest, 2),
        marks=worst_first(marks),
    )


def _edges(
    exam: Exam,
    sheet: Sheet,
    content: Content,
    glyphs: Glyphs,
    folds: Sequence[Fold],
    limits: AtLeastMm,
) -> Iterator[LiveEdge]:
    """Yield the edges that end too near a fold; on a spine the least is enough."""
    spines = [panel.box for panel in sheet.outline.panels if panel.kind == "spine"]

    def short(edge: LiveEdge) -> bool:
        on_spine = any(spine.holds(edge.box, -TOLERANCE_MM) for spine in spines)
        limit = limits.least_mm if on_spine else limits.wanted_mm
        return short_of(edge.clearance_mm, limit, TOLERANCE_MM)

    guides = [found.guide for found in found_guides(exam, sheet)]
    for fold in folds:
        drawn = tuple(ends_near(content, fold, limits.wanted_mm, sheet.view).edges())
        for side in (-1, 1):
            rim = fold_rim(fold, side, limits.wanted_mm)
            pictured = pictured_edges(sheet, content, rim, glyphs, drawn)
            ends = [edge for edge in pictured if edge.follows_mm < LONG * fold.length]
            ends += [e for e in drawn if side * float(fold.across(np.array(e.place))) >= 0]
            ends = off_guides(ends, guides)
            # Letters fill a line as densely as a texture does, and are none.
            words, rest = by_line(exam, sheet, [edge for edge in ends if short(edge)])
            yield from (edge._replace(what="word") for word in words for edge in word)
            yield from of_things(exam, sheet, rim, rest)


def _edge_finding(exam: Exam, sheet: Sheet, edges: Sequence[LiveEdge], wanted: float) -> Finding:
    places = merged(edges, ONE_OBJECT_MM)
    nearest = min(edge.clearance_mm for edge in places)
    what = f"{things(places)} {'ends' if len(places) == 1 else 'end'}"
    return exam.finding(
        FOLD,
        "edge",
        Severity.QUERY,
        f"{what} {mm(nearest)} from a fold; {mm(wanted)} is wanted{in_places(len(places))}.",
        f"Please move what should stay on one side {mm(wanted)} away from the fold, or let it run "
        "on across.",
        limit=WANTED,
        page=sheet.number,
        measured=round(nearest, 2),
        marks=edge_marks(places),
    )
