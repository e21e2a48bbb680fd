"""barcode.unreadable: bars that no scanner reads, or a barcode ordered that no part carries."""

from __future__ import annotations

from collections.abc import Iterator

from prepcheck.findings import Severity
from prepcheck.measure.barcode import Symbol
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, OrderSaid, Said
from prepcheck.sheets.barcodes import (
    is_expected,
    named,
    nothing_to_judge,
    symbols_of,
    unread_mark,
    unread_of,
)
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.words import count, listed

CHECK = "barcode.unreadable"
MEASURE = "barcode"
_SCANS = "The bars scan, and say the number under them"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Barcode can be read",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "A barcode that does not scan is keyed in by hand or sent back. Either the bars can be "
        "seen and still not be read as an EAN or a UPC: squeezed, cut, drawn by hand, too coarse, "
        "or of another kind; or the order gives a number and no part carries it.",
        "ISO/IEC 15420 (EAN/UPC symbology)",
        codes=("unread", "other-kind", "not-found"),
        measures=(MEASURE,),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    """Judge the bars on a part. Where others decode, those that do not are a query."""
    found = symbols_of(exam)
    numbers = ", ".join(symbol.digits for _, symbol in found)
    yield Measured(MEASURE, numbers or None)
    unread = unread_of(exam) if is_expected(exam) else []
    if not unread:
        if found:
            yield Clear(CHECK, f"read: {' and '.join(_read(one.symbol) for one in found)}", numbers)
        elif is_expected(exam):
            yield NotApplicable(CHECK, "no bars that look like a barcode")
        else:
            yield nothing_to_judge(CHECK, exam)
        return
    number = None if exam.order is None else exam.order.order.barcode
    asked = None if found else number
    for sheet, barcodes in unread:
        others = [one.other for one in barcodes.unread]
        code = "unread" if not all(others) or asked is None else "other-kind"
        beside = f" beside {numbers}" if found else ""
        patterns = f"{count(len(others), 'pattern')} of bars{beside}"
        kinds = listed(list(dict.fromkeys(others)))
        told = f"{patterns} {'reads' if len(others) == 1 else 'read'} as {kinds}, which is"
        what = f"{told} no EAN or UPC" if all(others) else (
            f"{patterns} cannot be read as an EAN or a UPC"
        )  # fmt: skip
        yield exam.finding(
            CHECK,
            code,
            # What a program cannot read a scanner may: that is for a person to try.
            Severity.STOP if code == "other-kind" else Severity.QUERY,
            what + (f"; the order asks for {asked}." if asked else "."),
            _fix(bool(found), asked, scan=not all(others)),
            limit="" if asked else "barcode.expected",
            source="the order" if asked else "",
            page=sheet.number,
            measured="unread",
            required=asked,
            marks=tuple(unread_mark(one.quad, f"{one.bars} bars") for one in barcodes.unread),
            to_confirm=() if found or all(others) else (asked or _SCANS,),
        )


def _fix(found: bool, number: str | None, *, scan: bool) -> str:
    if found:
        return (
            "Please tell us whether these bars are to be scanned; if so, set them anew from "
            "their number."
        )
    anew = (
        "set the barcode anew from its number, as bars in one dark ink on a light ground, and do "
        "not stretch it."
    )
    if not scan:
        of = "the release's number" if number is None else number
        return f"Please set it anew as an EAN or a UPC of {of}: those are what a till reads."
    due = "the number under them" if number is None else number
    return f"Please scan the bars and confirm that they say {due}; if they do not scan, {anew}"


def _read(symbol: Symbol) -> str:
    beside = "" if symbol.add_on is None else f" with the add-on {symbol.add_on.digits}"
    return f"{named(symbol)}{beside}"


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    """Judge whether any part carries the barcode that the order gives a number for.

    It may be on the sleeve, on a sticker or on any other part, so no part is judged alone.
    """
    number = exam.order.order.barcode
    carriers = [piece for piece in exam.pieces if _is_to_carry(piece)]
    decoded = [piece.name for piece in exam.pieces if piece.result.measured.get(MEASURE)]
    seen = [
        piece.name
        for piece in exam.pieces
        if any(finding.check == CHECK for finding in piece.result.findings)
    ]
    if number is None:
        yield NotApplicable(CHECK, "the order gives no barcode number")
    elif decoded:
        yield Clear(CHECK, f"a barcode is read on {listed(decoded)}", None, number)
    elif not carriers:
        yield NotApplicable(CHECK, "no part that carries the barcode was looked at")
    elif seen:
        yield NotApplicable(CHECK, f"bars that cannot be read are on {listed(seen)}; see there")
    else:
        whole = exam.whole and all(piece.result.pages for piece in exam.pieces)
        unsure = "" if whole else " on the parts looked at"
        yield exam.finding(
            CHECK,
            "not-found",
            Severity.STOP if whole else Severity.QUERY,
            f"The order gives the barcode {number}, but none was found{unsure}; "
            f"it belongs on {listed([piece.name for piece in carriers], 'or')}.",
            "Please place the barcode on the lower right of the back, or tell us that the record "
            "is sold without one.",
            source="the order",
            measured="none",
            required=number,
            parts=tuple(piece.name for piece in carriers),
        )


def _is_to_carry(piece: Piece) -> bool:
    """Say whether a part was examined and shows the outside of what the shop scans."""
    spec = piece.spec
    if spec is None or spec.barcode is None or not spec.barcode.expected:
        return False
    face = 0 if piece.part.face is None else spec.page_index(piece.part.face)
    if face is None or not piece.result.pages:
        return False
    # A file of several pages shows them all.
    return piece.part.face is None or spec.outline_of(face) == spec.outline_of(0)
