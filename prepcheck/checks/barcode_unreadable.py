"""barcode.unreadable: bars that no scanner reads."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.checks._barcode import (
    is_expected,
    named,
    nothing_to_judge,
    quad_mark,
    symbols_of,
    unread_of,
)
from prepcheck.checks._base import Clear, Declaration, Exam, FoundAt, Measured, NotApplicable, Said
from prepcheck.checks._wording import count
from prepcheck.findings import Finding, Severity

CHECK = "barcode.unreadable"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Barcode that cannot be read",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "A barcode that does not scan is keyed in by hand or sent back. Here the bars can be seen "
        "and still not be read as an EAN or a UPC: squeezed, cut, drawn by hand, too coarse, or "
        "of another kind.",
        "ISO/IEC 15420 (EAN/UPC symbology)",
        measures=("barcode",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    found = symbols_of(exam)
    numbers = [symbol.digits for _, symbol in found]
    yield Measured("barcode", ", ".join(numbers) if numbers else None)
    if found:
        read = " and ".join(
            named(symbol) + (f" with the add-on {symbol.add_on}" if symbol.add_on else "")
            for _, symbol in found
        )
        yield Clear(CHECK, f"read: {read}", ", ".join(numbers))
        return
    unread = unread_of(exam)
    if not unread or not is_expected(exam):
        yield (
            nothing_to_judge(CHECK, exam)
            if not is_expected(exam)
            else NotApplicable(CHECK, "no bars that look like a barcode")
        )
        return
    number = None if exam.order is None else exam.order.order.barcode
    for sheet, barcodes in unread:
        yield Finding(
            CHECK,
            Severity.QUERY if number is None else Severity.STOP,
            f"{count(len(barcodes.unread), 'pattern')} of bars cannot be read as an EAN or a UPC"
            + ("." if number is None else f"; the order asks for {number}."),
            "Set the barcode anew from its number, as bars in one dark ink on a light ground, and "
            "do not stretch it.",
            exam.spec.source_of("barcode.expected") if number is None else "the order",
            sheet.number,
            "unread",
            number,
            where=tuple(quad_mark(one.quad, f"{one.bars} bars") for one in barcodes.unread),
        )
