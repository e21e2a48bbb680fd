"""barcode.contrast: bars that the scanner's red light does not see."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Severity
from prepcheck.measure.barcode import Contrast, Symbol, grade_contrast
from prepcheck.said import Clear, Declaration, FoundAt, Measured, Said
from prepcheck.sheets.barcodes import mark_of, named, nothing_to_judge, rules_of, symbols_of
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.thresholds import judge_least
from prepcheck.words import listed

CHECK = "barcode.contrast"
LEAST, WANTED = "barcode.contrast_least_percent", "barcode.contrast_wanted_percent"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Bars are dark in a scanner's red light",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "Scanners look with red light. Black, blue and green bars are dark in it; magenta, red, "
        "orange and yellow ones are as light as paper, however dark they look to the eye, and a "
        "blue or green ground is as dark as bars.",
        "ISO/IEC 15416: grades of symbol contrast; reflectance from the print condition's figures",
        codes=("contrast",),
        limits=(LEAST, WANTED),
        measures=("barcode_contrast_percent", "barcode_contrast_grade"),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = [(one, grade_contrast(one.symbol.reflectance)) for one in symbols_of(exam)]
    if not found:
        yield nothing_to_judge(CHECK, exam)
        return
    lowest = min((graded for _, graded in found), key=lambda graded: graded.symbol)
    yield Measured("barcode_contrast_percent", round(lowest.symbol, 1))
    yield Measured("barcode_contrast_grade", lowest.grade)
    rules = rules_of(exam)
    least, wanted = rules.contrast_least_percent, rules.contrast_wanted_percent
    for (sheet, symbol), graded in found:
        percent = round(graded.symbol, 1)
        severity = judge_least(graded.symbol, least, wanted, 0.0)
        if graded.grade == "F":
            severity = Severity.STOP
        if severity is None:
            why = f"{named(symbol)}: symbol contrast {percent:.1f} % in red light, {graded.grade}"
            yield Clear(CHECK, why, percent, wanted, "%")
            continue
        stops = severity is Severity.STOP
        required = least if stops else wanted
        yield exam.finding(
            CHECK,
            "contrast",
            severity,
            f"{named(symbol)} is graded {graded.grade} in the scanner's red light: {_why(graded)} "
            f"({_painted(symbol)}); {required:.0f} % is {'the minimum' if stops else 'wanted'}.",
            "Please set the bars in solid black, or another ink that is dark in red light, on "
            "white or a light warm ground.",
            limit=LEAST if stops else WANTED,
            page=sheet.number,
            measured=percent,
            marks=(mark_of(symbol, f"{percent:.1f} %, {graded.grade}", percent),),
        )


def _why(graded: Contrast) -> str:
    contrast = f"symbol contrast {graded.symbol:.1f} %"
    return contrast if graded.why == "symbol contrast" else f"{contrast}, but {graded.why}"


def _painted(symbol: Symbol) -> str:
    def words(inks: dict[str, float]) -> str:
        return listed(f"{name} {100 * share:.0f} %" for name, share in inks.items())

    if symbol.not_in_inks and not symbol.bar_inks:
        return "bars in a colour without ink amounts"
    bars = words(symbol.bar_inks) if symbol.bar_inks else "no ink"
    ground = f" on {words(symbol.space_inks)}" if symbol.space_inks else " on bare paper"
    return f"bars in {bars}{ground}"
