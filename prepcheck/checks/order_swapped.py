"""Files that carry the text of another side."""

import re
from collections.abc import Iterator
from pathlib import Path

from prepcheck.findings import Finding, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.texts import Reading, compact
from prepcheck.words import listed

CHECK = "order.swapped"
_SOURCE = "common practice, no source"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Swapped sides",
        FoundAt.SALE,
        (Severity.QUERY,),
        "The press puts the label on top that it was given as A. When A's file carries B's text, "
        "every record of the run plays the other side than its label says.",
        _SOURCE,
    ),
)

_IN_NAME = re.compile(r"(?:^|[^a-z])(?:side|seite|face|label)?[ _-]?([a-z])(?=$|[^a-z])")


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    labels = [piece for piece in exam.labels if piece.side is not None]
    if not labels:
        yield NotApplicable(CHECK, "no part has a side")
        return
    said = [finding for piece in labels for finding in _by_text(piece, labels, exam)]
    named = {finding.message for finding in said}
    yield from said
    by_name = [] if named else list(_by_file_name(labels, exam))
    yield from by_name
    if said or by_name:
        return
    told = [piece for piece in labels if _named(piece, exam)]
    if told:
        sides = listed([f"{piece.name} says side {piece.side}" for piece in told])
        yield Clear(CHECK, sides)
    else:
        yield NotApplicable(CHECK, "no label names its side in type that can be read")


def _reading(piece: Piece) -> Reading:
    return Reading(piece.digest.words if piece.digest else ())


def _named(piece: Piece, exam: OrderExam) -> frozenset[str]:
    """Return the sides of the order that a label names in its type."""
    return _reading(piece).sides() & frozenset(exam.order.order.sides)


def _by_text(piece: Piece, labels: list[Piece], exam: OrderExam) -> Iterator[Finding]:
    named = _named(piece, exam)
    strange = sorted(named - {piece.side})
    foreign = _foreign(piece, labels)
    if piece.side in named or not (strange or foreign):
        return
    evidence = [f"'Side {side}'" for side in strange] + [f"'{text}'" for text, _ in foreign]
    whose = strange or sorted({side for _, side in foreign})
    yield Finding(
        CHECK,
        Severity.QUERY,
        f"{piece.name} ({piece.part.file}) is ordered as side {piece.side}, but carries the text "
        f"of side {listed(whose, 'or')}: {listed(evidence)}.",
        "Please tell us which file belongs to which side, or correct the text.",
        _SOURCE,
        measured=f"side {listed(whose, 'or')}",
        required=f"side {piece.side}",
        code="other-side",
        subject=piece.name,
        parts=(piece.name,),
    )


def _foreign(piece: Piece, labels: list[Piece]) -> list[tuple[str, str]]:
    """Return texts expected on another side alone and found here, while its own are not."""
    reading = _reading(piece)
    own = {compact(text): text for text in piece.part.expect}
    others = {
        compact(text): (text, other.side or "")
        for other in labels
        if other is not piece
        for text in other.part.expect
    }
    shared = own.keys() & others.keys()
    mine = [text for key, text in own.items() if key not in shared]
    theirs = [item for key, item in others.items() if key not in shared and len(key) > 3]
    found = [(text, side) for text, side in theirs if reading.has(text)]
    if any(reading.has(text) for text in mine) or len(found) <= len(theirs) / 2:
        return []
    return found


def _by_file_name(labels: list[Piece], exam: OrderExam) -> Iterator[Finding]:
    """Yield where the order gives sides to each other's file names."""
    sides = frozenset(exam.order.order.sides)
    said = {}
    for piece in labels:
        found = {
            m.upper() for m in _IN_NAME.findall(Path(piece.part.file or "").stem.casefold())
        } & sides
        if len(found) == 1:
            said[piece.name] = (piece, found.pop())
    for piece, named in said.values():
        partner = next((p for p, n in said.values() if p.side == named and n == piece.side), None)
        if named != piece.side and partner is not None and (piece.side or "") < named:
            yield Finding(
                CHECK,
                Severity.QUERY,
                f"The order gives {piece.part.file} as side {piece.side} and {partner.part.file} "
                f"as side {partner.side}.",
                "Please tell us which file belongs to which side.",
                _SOURCE,
                measured=f"{piece.part.file} as side {piece.side}",
                required=f"{partner.part.file} as side {piece.side}",
                code="file-names",
                parts=(piece.name, partner.name),
            )
