"""Catalogue numbers that differ between the pieces of one order."""

from collections.abc import Iterator
from dataclasses import replace

from prepcheck.findings import Finding, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.expected import (
    SOME_GLYPHS,
    OtherNumber,
    asked_of,
    hides,
    other_numbers,
    panels_with,
    shows,
    whole_marks,
)
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.type_lines import marks_of
from prepcheck.words import listed

CHECK = "order.catalogue"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Catalogue number is the order's",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "Shops and collectors find a record by its catalogue number. One that differs between "
        "label, spine and back, by a digit or by two that changed places, is the commonest slip "
        "when last year's template is used again.",
        "the order",
        codes=("unread", "other-number"),
    ),
)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    number = exam.order.order.catalogue
    carriers: list[str] = []
    others: dict[OtherNumber, list[tuple[str, str, Piece]]] = {}
    for piece in exam.pieces:
        carriers += [_where(piece, panel) for panel in panels_with(piece, number)]
        for other in other_numbers(piece, number):
            # One wrong number on several panels and parts is one mistake.
            key = replace(other, panel="")
            others.setdefault(key, []).append((_where(piece, other.panel), other.panel, piece))
    said = [_finding(places, number, other, exam) for other, places in others.items()]
    unread = [] if carriers or said else _unread(exam)
    if unread:
        said = [_nowhere(unread, number, exam)]
    yield from said
    if said:
        return
    if carriers:
        yield Clear(CHECK, f"{number} on {listed(list(dict.fromkeys(carriers)))}", number, number)
    elif any(not piece.live.empty for piece in exam.pieces):
        yield NotApplicable(CHECK, f"{number} is nowhere in type that can be read")
    else:
        yield NotApplicable(CHECK, "no part has type that can be read")


def _where(piece: Piece, panel: str) -> str:
    several = piece.spec is not None and len(piece.spec.outline_of().panels) > 1
    return f"{piece.name} ({panel})" if panel and several else piece.name


def _unread(exam: OrderExam) -> list[Piece]:
    """Return parts that belong to carry the number, of which nothing can be read."""
    number = exam.order.order.catalogue
    # Of a part that must say more, or says something, order.text asks for all of it.
    return [
        piece
        for piece in exam.pieces
        if piece.digest is not None
        and hides(piece.digest)
        and piece.live.empty
        and not piece.part.expect
        and sum(page.outlined for page in piece.digest.pages) < SOME_GLYPHS
        and not (exam.told_by_eye(piece) and shows(piece.seen, number))
        and number in (t for t, _ in asked_of(piece.part, piece.spec, exam.order.order))
    ]


def _nowhere(pieces: list[Piece], number: str, exam: OrderExam) -> Finding:
    names = [piece.name for piece in pieces]
    seen = [p.name for p in pieces if shows(p.seen, number)]
    read = f" {listed(seen)} {'seems' if len(seen) == 1 else 'seem'} to say it (read by eye, may "
    read = f"{read}be wrong)." if seen else ""
    return exam.finding(
        CHECK,
        "unread",
        Severity.QUERY,
        f"The catalogue number {number} is nowhere in type that can be read; look for it on "
        f"{listed(names)}.{read}",
        "Please look at the proof and confirm the number on each part.",
        source="the order",
        measured="cannot be read",
        required=number,
        parts=tuple(names),
        to_confirm=(number,),
        marks=tuple(mark for piece in pieces for mark in whole_marks(piece)),
    )


def _finding(
    places: list[tuple[str, str, Piece]], number: str, other: OtherNumber, exam: OrderExam
) -> Finding:
    shown = listed([f"'{text}'" for text in other.numbers])
    also = f" beside '{number}'" if other.right else f"; the order says '{number}'"
    eye = " This was read by eye and may be wrong." if other.by_eye else ""
    where = listed(list(dict.fromkeys(place for place, _, _ in places)))
    return exam.finding(
        CHECK,
        "other-number",
        Severity.QUERY if other.right or other.by_eye else Severity.STOP,
        f"{where}: the catalogue number reads {shown}{also}.{eye}",
        "Please correct the number, or tell us that another record is meant.",
        source="the order",
        measured=listed(other.numbers),
        required=number,
        subject=where,
        parts=tuple(dict.fromkeys(piece.name for _, _, piece in places)),
        marks=tuple(
            mark for _, panel, piece in places for mark in marks_of(piece, other.numbers, panel)
        ),
    )
