"""barcode.quiet-zone: too little free room beside the bars."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Finding, Severity
from prepcheck.measure.barcode import Symbol
from prepcheck.said import Clear, Declaration, FoundAt, Measured, Said
from prepcheck.sheets.barcodes import (
    mark_of,
    named,
    nothing_to_judge,
    quad_mark,
    rules_of,
    symbols_of,
)
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.barcode import quiet_key
from prepcheck.spec.model import TOLERANCE_MM
from prepcheck.words import listed

CHECK = "barcode.quiet-zone"
RIGHT, GAP = "barcode.quiet.add_on_modules", "barcode.quiet.add_on_gap_most_modules"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Quiet zones of the barcode are clear",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "The scanner finds the first and the last bar by the light ground beside them. Type, a "
        "frame or the edge of a white box that comes too near is taken for a bar. An add-on has a "
        "quiet zone of its own, and must not stand too far off to be read with its symbol.",
        "GS1 General Specifications: quiet zones of EAN/UPC symbols",
        codes=("beside", "beside-add-on", "add-on-gap"),
        limits=(
            "barcode.quiet.ean_13_modules",
            "barcode.quiet.upc_a_modules",
            "barcode.quiet.ean_8_modules",
            "barcode.quiet.upc_e_modules",
            RIGHT,
            GAP,
        ),
        measures=("barcode_quiet_left_mm", "barcode_quiet_right_mm"),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = symbols_of(exam)
    if not found:
        yield nothing_to_judge(CHECK, exam)
        return
    for place, side in enumerate(("left", "right")):
        least = min(symbol.quiet_mm[place] for _, symbol in found)
        yield Measured(f"barcode_quiet_{side}_mm", round(least, 2))
    for sheet, symbol in found:
        yield from _add_on(exam, sheet.number, symbol)
        modules = rules_of(exam).quiet.of(symbol.kind.value)
        sides = [
            (side, free, count, count * symbol.x_mm)
            for side, free, count in zip(("left", "right"), symbol.quiet_mm, modules, strict=True)
        ]
        short = [one for one in sides if short_of(one[1], one[3], TOLERANCE_MM)]
        if not short:
            left, right = (f"{free:.2f} mm {side}" for side, free, _, _ in sides)
            side, free, _, need = min(sides, key=lambda one: one[1] - one[3])
            why = f"{named(symbol)}: at least {left} and {right}"
            yield Clear(CHECK, why, round(free, 2), round(need, 2), "mm")
            continue
        worst = min(short, key=lambda one: one[1] - one[3])
        words = listed(
            f"{free:.2f} mm free on the {side} where {need:.2f} mm ({count:g} modules) is needed"
            for side, free, count, need in short
        )
        yield exam.finding(
            CHECK,
            "beside",
            Severity.STOP,
            f"{named(symbol)} has {words}.",
            "Please clear the ground beside the bars, or enlarge the white box; left and right "
            "are meant as one reads the digits.",
            limit=f"barcode.quiet.{quiet_key(symbol.kind.value)}",
            page=sheet.number,
            measured=round(worst[1], 2),
            required=round(worst[3], 2),
            unit="mm",
            marks=(mark_of(symbol, f"{worst[0]} {worst[1]:.2f} mm free", round(worst[1], 2)),),
        )


def _add_on(exam: Exam, page: int, symbol: Symbol) -> Iterator[Finding]:
    add_on, rules = symbol.add_on, rules_of(exam).quiet
    if add_on is None:
        return
    name = f"The add-on {add_on.digits}"
    need, most = (
        count * symbol.x_mm for count in (rules.add_on_modules, rules.add_on_gap_most_modules)
    )
    if short_of(add_on.quiet_mm, need, TOLERANCE_MM):
        free = round(add_on.quiet_mm, 2)
        yield exam.finding(
            CHECK,
            "beside-add-on",
            Severity.STOP,
            f"{name} has {free:.2f} mm free on the right where {need:.2f} mm "
            f"({rules.add_on_modules:g} modules) is needed.",
            "Please clear the ground beside the bars, or enlarge the white box.",
            limit=RIGHT,
            page=page,
            measured=free,
            required=round(need, 2),
            unit="mm",
            marks=(quad_mark(add_on.quad, f"right {free:.2f} mm free", free),),
        )
    if short_of(most, add_on.gap_mm, TOLERANCE_MM):
        gap = round(add_on.gap_mm, 2)
        yield exam.finding(
            CHECK,
            "add-on-gap",
            Severity.QUERY,
            f"{name} stands {gap:.2f} mm from the symbol; {most:.2f} mm "
            f"({rules.add_on_gap_most_modules:g} modules) is the most that is read together.",
            "Please move the add-on nearer to the symbol, but not into its quiet zone.",
            limit=GAP,
            page=page,
            measured=gap,
            required=round(most, 2),
            unit="mm",
            marks=(quad_mark(add_on.quad, f"{gap:.2f} mm apart", gap),),
        )
