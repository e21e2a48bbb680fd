"""barcode.quiet-zone: too little free room beside the bars."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.checks._barcode import mark_of, named, nothing_to_judge, rules_of, symbols_of
from prepcheck.checks._base import Clear, Declaration, Exam, FoundAt, Measured, Said, short_of
from prepcheck.checks._wording import listed, mm
from prepcheck.findings import Finding, Severity
from prepcheck.spec.barcode import quiet_key
from prepcheck.spec.model import TOLERANCE_MM

CHECK = "barcode.quiet-zone"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Quiet zones of the barcode",
        FoundAt.SALE,
        (Severity.STOP,),
        "The scanner finds the first and the last bar by the light ground beside them. Type, a "
        "frame or the edge of a white box that comes too near is taken for a bar.",
        "GS1 General Specifications: quiet zones of EAN/UPC symbols",
        limits=(
            "barcode.quiet.ean_13_modules",
            "barcode.quiet.upc_a_modules",
            "barcode.quiet.ean_8_modules",
            "barcode.quiet.upc_e_modules",
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
            f"{free:.2f} mm free on the {side} where {need:.2f} mm ({count:g} modules) are needed"
            for side, free, count, need in short
        )
        yield Finding(
            CHECK,
            Severity.STOP,
            f"{named(symbol)} has {words}.",
            "Clear the ground beside the bars, or enlarge the white box; left and right are meant "
            "as one reads the digits.",
            exam.spec.source_of(f"barcode.quiet.{quiet_key(symbol.kind.value)}"),
            sheet.number,
            round(worst[1], 2),
            round(worst[3], 2),
            "mm",
            (mark_of(symbol, f"{worst[0]} {mm(worst[1])} free", round(worst[1], 2)),),
        )
