"""barcode.size: bars too narrow, too wide, too low, or grown, for the till."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Finding, Severity
from prepcheck.measure.barcode import Symbol, bar_tolerance_mm
from prepcheck.said import Clear, Declaration, FoundAt, Measured, Said
from prepcheck.sheets.barcodes import ENOUGH, mark_of, named, nothing_to_judge, rules_of, symbols_of
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.model import TOLERANCE_FINE, TOLERANCE_MM
from prepcheck.words import mm

CHECK = "barcode.size"
LEAST, MOST = "barcode.x_least_mm", "barcode.x_wanted_most_mm"
HEIGHTS = ("barcode.height_least_mm", "barcode.ean_8_height_least_mm")
GAIN_SOURCE = "ISO/IEC 15420: tolerance of the bars' width at a given X-dimension (from memory)"
NOMINAL_X_MM = 0.330
"""X-dimension that is called 100 % (GS1 General Specifications)."""

DECLARATIONS = (
    Declaration(
        CHECK,
        "Barcode is of a size that scans",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "The narrowest bar must be wide enough to print and to be seen by the scanner; under 80 % "
        "of the nominal size ink gain closes the spaces. Wider than 200 % the symbol does not fit "
        "the scanner's window. Bars drawn wider or narrower than their modules use up what is "
        "allowed for ink gain; a little narrower is common practice, to make up for it.",
        "GS1 General Specifications: EAN/UPC at the point of sale",
        codes=("module-small", "module-large", "height", "bars-grown"),
        limits=(LEAST, MOST, *HEIGHTS),
        measures=("barcode_x_mm", "barcode_height_mm", "barcode_bar_gain_mm"),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = symbols_of(exam)
    if not found:
        yield nothing_to_judge(CHECK, exam)
        return
    narrow = min((one.symbol for one in found), key=lambda symbol: symbol.x_mm)
    yield Measured("barcode_x_mm", round(narrow.x_mm, 3))
    yield Measured("barcode_height_mm", round(narrow.height_mm, 2))
    yield Measured("barcode_bar_gain_mm", round(narrow.gain_mm, 3) + 0.0)
    rules = rules_of(exam)
    least, most = rules.x_least_mm, rules.x_wanted_most_mm
    for sheet, symbol in found:
        x, percent = round(symbol.x_mm, 3), round(100 * symbol.x_mm / NOMINAL_X_MM)
        sized = f"{named(symbol)} has a module of {x:.3f} mm ({percent} %)"
        height_key, share_key = rules.height_keys(symbol.kind.value)
        lowest: float = getattr(rules, height_key)
        whole: float = getattr(rules, share_key) * symbol.x_mm
        fine = True
        if short_of(symbol.x_mm, least, TOLERANCE_FINE * least):
            fine = False
            yield exam.finding(
                CHECK,
                "module-small",
                Severity.STOP,
                f"{sized}; {least:.3f} mm is the minimum.",
                f"Please set the barcode at {_percent(least)} % or larger, best at 100 %.",
                limit=LEAST,
                page=sheet.number,
                measured=x,
                marks=(mark_of(symbol, f"module {x:.3f} mm", x),),
            )
        elif symbol.x_mm > most * (1 + TOLERANCE_FINE):
            fine = False
            yield exam.finding(
                CHECK,
                "module-large",
                Severity.QUERY,
                f"{sized}; {most:.3f} mm is the most that is scanned at the till.",
                f"Please set the barcode at {_percent(most)} % or smaller, best at 100 %.",
                limit=MOST,
                page=sheet.number,
                measured=x,
                marks=(mark_of(symbol, f"module {x:.3f} mm", x),),
            )
        # What is set too small as a whole is told of by its module.
        in_proportion = not short_of(symbol.height_mm, ENOUGH * whole, TOLERANCE_FINE * whole)
        if short_of(symbol.height_mm, lowest, TOLERANCE_MM) and (fine or not in_proportion):
            fine = False
            height = round(symbol.height_mm, 2)
            yield exam.finding(
                CHECK,
                "height",
                Severity.STOP,
                f"The bars of {named(symbol)} are {height:.2f} mm high; {lowest:.2f} mm is the "
                "minimum at any size.",
                "Please set the barcode anew with bars of full height.",
                limit=f"barcode.{height_key}",
                page=sheet.number,
                measured=height,
                marks=(mark_of(symbol, f"height {height:.2f} mm", height),),
            )
        for finding in _grown(exam, sheet.number, symbol):
            fine = False
            yield finding
        if fine:
            yield Clear(CHECK, f"{sized}, {mm(symbol.height_mm)} high", x, least, "mm")


def _grown(exam: Exam, page: int, symbol: Symbol) -> Iterator[Finding]:
    """Yield a query where bars are wider or narrower than print could still make up for."""
    most = bar_tolerance_mm(symbol.x_mm)
    # No tolerance is left below a module that is far too narrow, which has been said.
    if most and short_of(most, abs(symbol.gain_mm), TOLERANCE_FINE * symbol.x_mm):
        gain = round(symbol.gain_mm, 3)
        yield exam.finding(
            CHECK,
            "bars-grown",
            Severity.QUERY,
            f"The bars of {named(symbol)} are {abs(gain):.3f} mm "
            f"{'wider' if gain > 0 else 'narrower'} than their modules of {symbol.x_mm:.3f} mm; "
            f"{most:.3f} mm either way is all that may come about, ink gain in print included.",
            "Please have the bars drawn anew from the number, without an outline, and not by "
            "tracing a picture.",
            source=GAIN_SOURCE,
            page=page,
            measured=gain,
            required=round(most, 3),
            unit="mm",
            marks=(mark_of(symbol, f"{gain:+.3f} mm a bar", gain),),
        )


def _percent(x_mm: float) -> int:
    return round(100 * x_mm / NOMINAL_X_MM)
