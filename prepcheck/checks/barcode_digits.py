"""barcode.digits: a number whose check digit is wrong."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Severity
from prepcheck.order import gtin_check_digit
from prepcheck.said import Clear, Declaration, FoundAt, Said
from prepcheck.sheets.barcodes import mark_of, named, nothing_to_judge, symbols_of
from prepcheck.sheets.exam import Exam

CHECK = "barcode.digits"
SOURCE = "GS1 General Specifications, section 7.9: check digit of a GTIN"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Check digit of the barcode is right",
        FoundAt.SALE,
        (Severity.STOP,),
        "The last digit is worked out from the others, and a scanner refuses a symbol where it "
        "does not fit. It is wrong when a digit was mistyped or the bars were drawn by a program "
        "that does not work it out.",
        SOURCE,
        codes=("check-digit",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = symbols_of(exam)
    if not found:
        yield nothing_to_judge(CHECK, exam)
    for sheet, symbol in found:
        number = symbol.gtin13
        right, given = str(gtin_check_digit(number[:-1])), number[-1]
        if given == right:
            yield Clear(CHECK, f"{named(symbol)}: the check digit is right", symbol.digits)
            continue
        yield exam.finding(
            CHECK,
            "check-digit",
            Severity.STOP,
            f"The bars read {symbol.digits}, whose check digit should be {right}, not {given}.",
            "Please compare the number with the one you were given, correct it, and have the "
            "bars drawn anew.",
            source=SOURCE,
            page=sheet.number,
            measured=symbol.digits,
            required=symbol.digits[:-1] + right,
            marks=(mark_of(symbol, f"check digit {given}"),),
        )
