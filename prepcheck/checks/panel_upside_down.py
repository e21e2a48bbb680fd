"""panel.upside-down: type that stands on its head once the sleeve is folded up."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.geometry import Box
from prepcheck.measure.folds import inside
from prepcheck.measure.type_direction import opposite, shares_by_way
from prepcheck.outline import Panel
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import glyphs_of
from prepcheck.words import count, listed

UPSIDE = "panel.upside-down"
SOURCE = "common practice: the way the flat folds up, as the panels of the spec give it"
ON_ITS_SIDE = "the page is turned, so which way up it is meant cannot be told"
HALF = 0.5
LEAST_GLYPHS = 3
"""Fewer letters than this say nothing of how a face is meant to stand."""

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        UPSIDE,
        "Faces stand upright when folded",
        FoundAt.FOLDING,
        (Severity.QUERY,),
        "In the flat of a gatefold some panels stand on their heads, because they fold back over "
        "the top. Art that is drawn upright there comes out upside down in the finished sleeve, "
        "and nobody sees it in the flat.",
        SOURCE,
        codes=("upside-down",),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    if not sheet.outline.folds:
        yield NotApplicable(UPSIDE, "the piece is not folded")
        return
    if sheet.placement.turned:
        yield NotApplicable(UPSIDE, ON_ITS_SIDE)
        return
    glyphs = glyphs_of(exam, sheet)
    wrong: list[tuple[Panel, Box]] = []
    judged = 0
    for panel in sheet.outline.panels:
        own = inside(glyphs.corners, panel.box)
        if panel.kind != "face" or own.sum() < LEAST_GLYPHS:
            continue
        judged += 1
        corners = glyphs.corners[own]
        if shares_by_way(corners).get(opposite(panel.reads), 0.0) > HALF:
            low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
            wrong.append((panel, Box(*low.tolist(), *high.tolist())))
    if wrong:
        names = listed(f"the {panel.name}" for panel, _ in wrong)
        verb = "stands" if len(wrong) == 1 else "stand"
        yield exam.finding(
            UPSIDE,
            "upside-down",
            Severity.QUERY,
            f"Type on {names} {verb} upside down once the sleeve is folded up.",
            f"Please turn the art of {names} by half a turn, or confirm that it is meant so.",
            source=SOURCE,
            page=sheet.number,
            measured=listed(panel.name for panel, _ in wrong),
            required="upright when folded",
            unit="",
            marks=tuple(Mark(box, f"{panel.name}: upside down") for panel, box in wrong),
        )
    elif judged:
        why = f"type stands the right way up on {count(judged, 'face')}"
        yield Clear(UPSIDE, why, "upright when folded", "upright when folded")
    else:
        yield NotApplicable(UPSIDE, "no face carries type that can be read")
