"""barcode.missing: a sleeve for sale without a barcode."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.barcodes import is_expected, named, symbols_of, unread_of
from prepcheck.sheets.exam import Exam

CHECK = "barcode.missing"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Barcode is there",
        FoundAt.SALE,
        (Severity.QUERY,),
        "Shops and distributors scan the sleeve. One without a barcode needs a sticker on every "
        "copy, unless the record is not for shops. Where the order gives a number, "
        "barcode.unreadable looks for it on all parts.",
        "common practice of record plants and distributors",
        codes=("none",),
        limits=("barcode.expected",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = symbols_of(exam)
    if found:
        yield Clear(CHECK, f"carries {' and '.join(named(symbol) for _, symbol in found)}")
    elif not is_expected(exam):
        yield NotApplicable(CHECK, "a barcode belongs on the outside of the sleeve, not here")
    elif unread_of(exam):
        yield NotApplicable(CHECK, "bars were found that cannot be read; see barcode.unreadable")
    elif exam.order is not None and exam.order.order.barcode is not None:
        # It may be on any part, such as a sticker: the order as a whole is judged.
        yield NotApplicable(CHECK, f"{exam.order.order.barcode} is looked for on all parts")
    else:
        yield exam.finding(
            CHECK,
            "none",
            Severity.QUERY,
            "No barcode was found on the sleeve.",
            "Please place the barcode on the lower right of the back, or tell us that the record "
            "is sold without one.",
            limit="barcode.expected",
            page=exam.sheets[0].number,
            measured="none",
        )
