"""barcode.mismatch: another number than the order's."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.barcodes import mark_of, named, nothing_to_judge, symbols_of
from prepcheck.sheets.exam import Exam

CHECK = "barcode.mismatch"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Barcode is the order's number",
        FoundAt.SALE,
        (Severity.STOP,),
        "A barcode left over from the last release, or the number of another format, sells the "
        "record as something else. It scans without fault, so nobody sees it before the shop.",
        "the order",
        codes=("other-number",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    number = None if exam.order is None else exam.order.order.barcode
    found = symbols_of(exam)
    if number is None:
        yield NotApplicable(CHECK, "no order, or the order gives no barcode number")
        return
    if not found:
        yield nothing_to_judge(CHECK, exam)
    for sheet, symbol in found:
        # EAN-13, UPC-A and UPC-E are one number in several dresses.
        if symbol.gtin13 == number.zfill(13):
            yield Clear(CHECK, f"{named(symbol)} is the order's number", symbol.digits, number)
            continue
        yield exam.finding(
            CHECK,
            "other-number",
            Severity.STOP,
            f"The barcode reads {symbol.digits}; the order gives {number}.",
            "Please set the barcode of this release, or tell us that the number in the order is "
            "wrong.",
            source="the order",
            page=sheet.number,
            measured=symbol.digits,
            required=number,
            marks=(mark_of(symbol, symbol.digits),),
        )
