"""barcode.fold: a barcode too near a fold or the trim."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from prepcheck.findings import Severity
from prepcheck.geometry import Affine, Box, Quad
from prepcheck.measure.barcode import Symbol
from prepcheck.said import Clear, Declaration, FoundAt, Measured, Said
from prepcheck.sheets.barcodes import (
    OnSheet,
    mark_of,
    named,
    nothing_to_judge,
    rules_of,
    symbols_of,
)
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.thresholds import judge_least
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.words import mm

CHECK = "barcode.fold"
LEAST, WANTED = "barcode.edge_least_mm", "barcode.edge_wanted_mm"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Barcode is clear of folds and edges",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "Bars that run over a fold or the rim are bent away from the scanner or cut; even beside "
        "it the quiet zone is lost when print lies off the cut, and a scanner cannot lie flat.",
        "GS1 General Specifications: symbol placement",
        codes=("near",),
        limits=(LEAST, WANTED),
        measures=("barcode_edge_mm",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = [(one, *_nearest(exam, one)) for one in symbols_of(exam)]
    if not found:
        yield nothing_to_judge(CHECK, exam)
        return
    yield Measured("barcode_edge_mm", round(min(distance for _, distance, _ in found), 2))
    rules = rules_of(exam)
    for (sheet, symbol), distance, where in found:
        severity = judge_least(distance, rules.edge_least_mm, rules.edge_wanted_mm, TOLERANCE_MM)
        shown = round(distance, 2)
        if severity is None:
            why = f"{named(symbol)} lies {mm(distance)} from the {where} with its quiet zones"
            yield Clear(CHECK, why, shown, rules.edge_wanted_mm, "mm")
            continue
        stops = severity is Severity.STOP
        required = rules.edge_least_mm if stops else rules.edge_wanted_mm
        how = f"reaches {mm(-distance)} over" if distance < 0 else f"lies {mm(distance)} from"
        yield exam.finding(
            CHECK,
            "near",
            severity,
            f"{named(symbol)} with its quiet zones {how} the {where}; {mm(required)} is "
            f"{'the minimum' if stops else 'wanted'}.",
            f"Please move the barcode at least {mm(rules.edge_wanted_mm)} away from folds and "
            "edges.",
            limit=LEAST if stops else WANTED,
            page=sheet.number,
            measured=shown,
            marks=(mark_of(symbol, f"{mm(distance)} to the {where}", shown),),
        )


def _nearest(exam: Exam, one: OnSheet) -> tuple[float, str]:
    """Return the distance in mm to the nearest trim or fold, negative when it runs over, and which
    of the two it is."""
    sheet, symbol = one
    around = _with_quiet_zones(symbol, *rules_of(exam).quiet.of(symbol.kind.value))
    points = around.sampled()
    nearest = (-float(sheet.outline.signed_distance(points).max()), "trim")
    for fold in sheet.outline.folds:
        (x0, y0), (x1, y1) = fold.start, fold.end
        along = np.array((x1 - x0, y1 - y0)) / max(float(np.hypot(x1 - x0, y1 - y0)), 1e-9)
        beside = (points - np.array(fold.start)) @ np.array((-along[1], along[0]))
        distance = float(fold.distance(points).min())
        run = (points - np.array(fold.start)) @ along
        over = beside[(run >= 0) & (run <= np.hypot(x1 - x0, y1 - y0))]
        if len(over) and over.min() < 0 < over.max():
            distance = -float(min(-over.min(), over.max()))
        nearest = min(nearest, (distance, "fold"))
    return nearest


def _with_quiet_zones(symbol: Symbol, left: float, right: float) -> Quad:
    (ax, ay), (bx, by), _, (dx, dy) = symbol.quad
    unit = Affine(bx - ax, by - ay, dx - ax, dy - ay, ax, ay)
    modules = symbol.kind.modules
    return unit.quad(Box(-left / modules, 0.0, 1.0 + right / modules, 1.0))
