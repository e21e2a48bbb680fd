"""guide.printing: guides of a template left in printing inks."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.geometry import Box
from prepcheck.measure.edges import thinned
from prepcheck.measure.guides import Found
from prepcheck.said import Clear, Declaration, FoundAt, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.near import found_guides
from prepcheck.words import listed

GUIDE = "guide.printing"

DECLARATIONS = (
    Declaration(
        GUIDE,
        "No template guides print",
        FoundAt.PRINTING,
        (Severity.STOP,),
        "A template's lines for trim, bleed, safe area, folds and hole are for the eye only. "
        "Left in a printing ink they come out on every piece.",
        "common practice of record plants; ISO 19593-1 gives such lines layers of their own",
        codes=("line",),
        limits=("outline", "bleed", "clearance.trim", "clearance.hole"),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    for sheet in exam.sheets:
        yield _judge(exam, sheet)


def _judge(exam: Exam, sheet: Sheet) -> Said:
    found = found_guides(exam, sheet)
    if not found:
        return Clear(GUIDE, "no line follows the trim, bleed, safe area, folds or hole")
    names = listed(dict.fromkeys(item.guide.name for item in found))
    layers = sorted({layer for item in found for layer in item.layers if layer})
    where = f" (on layer {listed(layers)})" if layers else ""
    return exam.finding(
        GUIDE,
        "line",
        Severity.STOP,
        f"Guides print{where}: a thin line follows the {names}.",
        "Take the template's lines out, or put them on a layer that does not print.",
        source=DECLARATIONS[0].source,
        page=sheet.number,
        measured=float(len(found)),
        required=0.0,
        unit="lines",
        marks=tuple(_mark(item) for item in found),
    )


def _mark(found: Found) -> Mark:
    points = found.guide.points
    path = thinned(points)
    if found.guide.closed:
        path = (*path, path[0])
    return Mark(Box.around(path), f"{found.guide.name} guide", path)
