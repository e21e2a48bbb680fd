"""Catalogue numbers that differ between the pieces of one order."""

from collections import defaultdict
from collections.abc import Iterator

from prepcheck.findings import Finding, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.digest import Words
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.texts import Reading
from prepcheck.words import listed

CHECK = "order.catalogue"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Catalogue number",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "Shops and collectors find a record by its catalogue number. One that differs between "
        "label, spine and back, by a digit or by two that changed places, is the commonest slip "
        "when last year's template is used again.",
        "the order",
    ),
)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    number = exam.order.order.catalogue
    carriers: list[str] = []
    said: list[Finding] = []
    readable = False
    for piece in exam.pieces:
        for panel, words in _panels(piece.digest.words if piece.digest else ()).items():
            several = piece.spec is not None and len(piece.spec.outline_of().panels) > 1
            where = f"{piece.name}, {panel}" if panel and several else piece.name
            reading = Reading(words)
            readable = readable or not reading.empty
            right = reading.has(number)
            if right:
                carriers.append(where)
            wrong = reading.numbers_like(number)
            if wrong:
                said.append(_finding(piece, where, number, wrong, right))
    yield from said
    if said:
        return
    if carriers:
        yield Clear(CHECK, f"{number} on {listed(list(dict.fromkeys(carriers)))}", number, number)
    elif readable:
        yield NotApplicable(CHECK, f"{number} is nowhere in type that can be read")
    else:
        yield NotApplicable(CHECK, "no part has type that can be read")


def _panels(words: tuple[Words, ...]) -> dict[str, list[Words]]:
    panels: dict[str, list[Words]] = defaultdict(list)
    for word in words:
        panels[word.panel].append(word)
    return panels


def _finding(piece: Piece, where: str, number: str, wrong: tuple[str, ...], right: bool) -> Finding:
    shown = listed([f"'{text}'" for text in wrong])
    also = f" beside '{number}'" if right else f"; the order says '{number}'"
    return Finding(
        CHECK,
        Severity.QUERY if right else Severity.STOP,
        f"{where}: the catalogue number reads {shown}{also}.",
        "Please correct the number, or tell us that another record is meant.",
        "the order",
        measured=listed(wrong),
        required=number,
        code="other-number",
        subject=where,
        parts=(piece.name,),
    )
