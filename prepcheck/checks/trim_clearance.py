"""trim.clearance: type and live edges too near the trim, or cut through."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Box, FloatArray
from prepcheck.measure.edges import LiveEdge, merged
from prepcheck.measure.guides import off_guides
from prepcheck.measure.picture_edges import picture_edges
from prepcheck.measure.reach import INK_PERCENT
from prepcheck.measure.rim import INSIDE_MM, Rim, outer_rim, trim_rim
from prepcheck.measure.sampling import sample
from prepcheck.outline import Outline
from prepcheck.said import Declaration, FoundAt, Said
from prepcheck.sheets.closer import Closer
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import (
    edge_marks,
    glyphs_of,
    how_near,
    live_edges,
    of_things,
    printing,
    room_of,
    said_of_room,
    template_lines,
    trim_room_of_type,
    type_finding,
)
from prepcheck.sheets.near_covered import beside_type
from prepcheck.sheets.near_outlined import without_letters
from prepcheck.sheets.near_type import near_type
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.words import count, in_places, mm

TRIM = "trim.clearance"
CLEARANCE = "trim_clearance_mm"
LEAST, WANTED = "clearance.trim.least_mm", "clearance.trim.wanted_mm"
FRAME = "clearance.trim.frame_wanted_mm"
ERROR = "clearance.print_to_cut_mm"

FRAME_SHARE = 0.4
"""An edge that follows the trim for this share of the piece's shorter side is a frame."""
ALONG_MM = 10.0
"""What changes along the trim for longer than this is the end of its ground: a matter of bleed."""
BESIDE_MM = 0.3
"""How far from an edge it is looked whether there is ink."""
ONE_OBJECT_MM = 1.0
"""Edges this close together are one place: the letters of a word drawn as outlines."""

DECLARATIONS = (
    Declaration(
        TRIM,
        "Art keeps clear of the trim",
        FoundAt.CUTTING,
        (Severity.STOP, Severity.QUERY),
        "Print lies up to 1.5 mm off the cut, in any direction. Type nearer than that loses a "
        "slice on some of the pieces, and a ring beside the rim shows every tenth of a "
        "millimetre by which the cut is off.",
        "common practice of record plants",
        codes=("type", "object", "frame", "outside"),
        limits=(LEAST, WANTED, FRAME, ERROR),
        measures=(CLEARANCE,),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    wanted = exam.spec.clearance.trim.wanted_mm
    findings, distance = _judge(exam, sheet)
    yield from said_of_room(TRIM, findings, distance, wanted, "inside", "the trim")
    yield room_of(CLEARANCE, distance)


def _judge(exam: Exam, sheet: Sheet) -> tuple[list[Finding], float | None]:
    spec, limits = exam.spec, exam.spec.clearance.trim
    content = printing(exam, sheet)
    glyphs = glyphs_of(exam, sheet)
    clearances = trim_room_of_type(exam, sheet)
    past = spec.bleed.least_mm - TOLERANCE_MM
    depth = max(limits.frame_wanted_mm, limits.wanted_mm)
    rim = trim_rim(sheet.outline, past, depth)
    near, nearest = near_type(Closer(sheet), glyphs, clearances, limits.wanted_mm, rim.clearances)

    lines = template_lines(exam, sheet)
    live = off_guides(live_edges(sheet, content, rim, glyphs), lines)
    # Letters fill a line as densely as a texture does, and are none.
    letters, letter, drawn = without_letters(exam, sheet, live, limits.wanted_mm)
    told = clearances < (limits.wanted_mm if near else -np.inf)
    rest = of_things(exam, sheet, rim, beside_type(drawn, glyphs, told))
    near = (*near, *letters)
    frames = [edge for edge in rest if _is_frame(edge, sheet.outline)]
    others = [edge for edge in rest if not _is_frame(edge, sheet.outline)]

    findings = []
    if near:
        findings.append(
            type_finding(
                exam,
                TRIM,
                sheet,
                near,
                rim="trim",
                limits=limits,
                keys=(LEAST, WANTED),
                advice=f"Please move the type at least {mm(limits.wanted_mm)} inside the trim.",
            )
        )
    findings += _edge_finding(exam, sheet, others, limits.wanted_mm, WANTED, "object")
    findings += _edge_finding(exam, sheet, frames, limits.frame_wanted_mm, FRAME, "frame")
    findings += _outside_finding(exam, sheet, rim)
    distances = [edge.clearance_mm for edge in rest]
    distances += [distance for distance in (nearest, letter) if distance is not None]
    return findings, min(distances, default=None)


def _outside_finding(exam: Exam, sheet: Sheet, rim: Rim) -> Iterator[Finding]:
    """Yield what is printed outside the trim, so near that it comes onto some of the pieces."""
    error = exam.spec.clearance.print_to_cut_mm
    outer = outer_rim(sheet.outline, error)
    found = [
        edge._replace(clearance_mm=edge.clearance_mm - INSIDE_MM)
        for edge in picture_edges(sheet.view, outer)
        if edge.follows_mm < ALONG_MM
    ]
    found = [edge for edge in found if edge.clearance_mm < error - TOLERANCE_MM]
    lines = template_lines(exam, sheet)
    found = off_guides(found, lines)
    runs = printing(exam, sheet).type_table
    places = merged(of_things(exam, sheet, rim, found), ONE_OBJECT_MM)
    places = _by_text(places, runs.boxes[runs.placed])
    if not places:
        return
    nearest = max(0.0, min(edge.clearance_mm for edge in places))
    words = sum(edge.what == "word" for edge in places)
    one = len(places) == 1
    bare = sum(_is_bare(sheet, edge) for edge in places)
    if words == len(places):
        what = "A word is printed" if one else f"{count(words, 'word')} are printed"
    elif bare == len(places):
        what = "A bare place lies" if one else f"{count(bare, 'bare place')} lie"
    else:
        what = "Something is printed" if one else f"{count(len(places), 'thing')} are printed"
    yield exam.finding(
        TRIM,
        "outside",
        Severity.QUERY,
        f"{what} {mm(nearest)} outside the trim; the cut lies up to {mm(error)} off the "
        "print, so some pieces will show it.",
        f"Please take {'it' if one else 'them'} at least {mm(exam.spec.bleed.wanted_mm)} away "
        "from the trim, or out of the art.",
        limit=ERROR,
        page=sheet.number,
        measured=round(nearest, 2),
        marks=edge_marks(places),
    )


def _is_bare(sheet: Sheet, edge: LiveEdge) -> bool:
    """Say whether what begins at an edge outside the trim is bare paper, with ink before it."""
    view, distance = sheet.view, sheet.outline.signed_distance
    points = np.array(edge.path, np.float64)
    steps = np.array(((BESIDE_MM, 0.0), (0.0, BESIDE_MM)))
    out = np.stack([distance(points + s) - distance(points - s) for s in steps], axis=1) / 2
    beyond, before = (sample(view.ink, view.grid, points + way * out) for way in (1, -1))
    least = INK_PERCENT / 100 * 255
    return bool(np.median(beyond) < least <= np.median(before))


def _by_text(edges: Sequence[LiveEdge], texts: FloatArray) -> tuple[LiveEdge, ...]:
    """Return edges, those that lie on one text being one, which is a word's."""
    own: dict[int, list[LiveEdge]] = {}
    rest = []
    for edge in edges:
        low, high = np.array(edge.box[:2]), np.array(edge.box[2:])
        on = np.flatnonzero(((texts[:, :2] <= high) & (texts[:, 2:] >= low)).all(axis=1))
        if not len(on):
            rest.append(edge)
        else:
            own.setdefault(int(on[0]), []).append(edge._replace(what="word"))
    words = [
        joined
        for at, some in own.items()
        for joined in merged(some, _long(Box(*texts[at].tolist())))
    ]
    return (*rest, *words)


def _long(box: Box) -> float:
    return max(box.width, box.height)


def _by_extent(edges: Sequence[LiveEdge]) -> tuple[LiveEdge, ...]:
    """Return edges, those of one and the same extent being one."""
    groups: list[list[LiveEdge]] = []
    for edge in edges:
        for group in groups:
            if np.allclose(group[0].box, edge.box, atol=ONE_OBJECT_MM):
                group.append(edge)
                break
        else:
            groups.append([edge])
    return tuple(one for group in groups for one in merged(group, ONE_OBJECT_MM))


def _is_frame(edge: LiveEdge, outline: Outline) -> bool:
    shorter = min(outline.bounds.width, outline.bounds.height)
    return edge.follows_mm >= FRAME_SHARE * shorter


def _edge_finding(
    exam: Exam, sheet: Sheet, edges: Sequence[LiveEdge], wanted: float, key: str, kind: str
) -> Iterator[Finding]:
    close = [edge for edge in edges if short_of(edge.clearance_mm, wanted, TOLERANCE_MM)]
    if not close:
        return
    # A frame may lie within another; only those of one and the same extent are one.
    places = merged(close, ONE_OBJECT_MM) if kind == "object" else _by_extent(close)
    advice = (
        f"Please move what should stay whole {mm(wanted)} inside the trim; let what should run out "
        f"reach {mm(exam.spec.bleed.wanted_mm)} past it."
    )
    if all(edge.what == "line" for edge in places):
        advice = f"Please move {'it' if len(places) == 1 else 'them'} {mm(wanted)} inside the trim."
    if kind == "object":
        how = how_near(places, "cut by the trim", "inside the trim", ("ends", "end"))
    else:
        along = ("runs along the trim,", "run along the trim,")
        how = how_near(places, "cut by the trim", "inside it", along)
    yield exam.finding(
        TRIM,
        kind,
        Severity.QUERY,
        f"{how}; {mm(wanted)} is wanted{in_places(len(places))}.",
        advice,
        limit=key,
        page=sheet.number,
        measured=round(min(edge.clearance_mm for edge in places), 2),
        marks=edge_marks(places),
    )
