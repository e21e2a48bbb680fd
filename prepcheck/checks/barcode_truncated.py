"""barcode.truncated: bars cut low for their width."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.barcodes import (
    ENOUGH,
    mark_of,
    named,
    nothing_to_judge,
    quad_mark,
    rules_of,
    symbols_of,
)
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.model import TOLERANCE_FINE, TOLERANCE_MM
from prepcheck.words import mm

CHECK = "barcode.truncated"
ADD_ON = "add_on_height_wanted_modules"
LIMITS = (
    "barcode.height_wanted_modules",
    "barcode.ean_8_height_wanted_modules",
    f"barcode.{ADD_ON}",
)

DECLARATIONS = (
    Declaration(
        CHECK,
        "Bars are high enough",
        FoundAt.SALE,
        (Severity.QUERY,),
        "The scanner at the till crosses the bars from any side. The lower they are for their "
        "width, the more exactly the sleeve has to be turned to it. A twentieth less makes no "
        "difference that anyone would notice.",
        "GS1 General Specifications: height in proportion to the X-dimension; that 95 % of it is "
        "enough is common practice, no source",
        codes=("height",),
        limits=LIMITS,
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = symbols_of(exam)
    if not found:
        yield nothing_to_judge(CHECK, exam)
    for sheet, symbol in found:
        rules = rules_of(exam)
        lowest, key = rules.height_keys(symbol.kind.value)
        bars = [(named(symbol), symbol.height_mm, key, mark_of(symbol, "", 0.0))]
        if symbol.add_on is not None:
            name = f"the add-on {symbol.add_on.digits}"
            mark = quad_mark(symbol.add_on.quad, "", 0.0)
            bars.append((name, symbol.add_on.height_mm, ADD_ON, mark))
        for name, high, key, mark in bars:
            modules: float = getattr(rules, key)
            wanted = modules * symbol.x_mm
            height, shown = round(high, 2), round(wanted, 2)
            if not short_of(high, ENOUGH * wanted, TOLERANCE_FINE * wanted):
                yield Clear(CHECK, f"{name}: bars {mm(height)} high", height, shown, "mm")
                continue
            if key != ADD_ON and short_of(high, getattr(rules, lowest), TOLERANCE_MM):
                yield NotApplicable(CHECK, f"{name}: bars too low at any size; see barcode.size")
                continue
            yield exam.finding(
                CHECK,
                "height",
                Severity.QUERY,
                f"The bars of {name} are {mm(height)} high, {100 * height / wanted:.0f} % of "
                f"the {mm(wanted)} that belong to a module of {symbol.x_mm:.3f} mm.",
                f"Please give the bars a height of {mm(wanted)}, or set the whole barcode smaller "
                "if it stays at 80 % or above.",
                limit=f"barcode.{key}",
                page=sheet.number,
                measured=height,
                required=shown,
                unit="mm",
                marks=(replace(mark, label=f"height {mm(height)}", value=height, rank=height),),
            )
