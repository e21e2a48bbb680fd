"""Files that carry the text of another side."""

import re
from collections.abc import Iterator
from pathlib import Path

from prepcheck.findings import Finding, Severity
from prepcheck.said import Clear, Declaration, Explained, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.faces import Exchange
from prepcheck.sheets.mistakes import Strange
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.words import listed

CHECK = "order.swapped"
_SOURCE = "common practice, no source"
_BY_EYE = " This was read by eye and may be wrong."

_OF_A_FACE = ("size.trim", "barcode.missing")
"""Checks of a part that a face in the other's place makes find something."""

DECLARATIONS = (
    Declaration(
        CHECK,
        "Sides are not swapped",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "The press puts the label on top that it was given as A. When A's file carries B's text, "
        "every record of the run plays the other side than its label says.",
        _SOURCE,
        codes=("exchanged", "faces-exchanged", "other-side", "side-named", "file-names"),
    ),
)

_IN_NAME = re.compile(r"(?:^|[^a-z])(?:side|seite|face|label)?[ _-]?([a-z])(?=$|[^a-z])")


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    labels = [piece for piece in exam.labels if piece.side is not None]
    faces = [_faces(exchange, exam) for exchange in exam.exchanged_faces]
    yield from faces
    for exchange in exam.exchanged_faces:
        for piece in (exchange.one, exchange.other):
            yield from (Explained(piece.name, check, CHECK) for check in _OF_A_FACE)
    if not labels and not faces:
        yield NotApplicable(CHECK, "no part has a side")
        return
    mistakes = exam.mistakes
    # That a copy names the side it is a copy of is told with the art.
    said = [*_exchanged(mistakes.exchanged, exam), *_other(mistakes.other, exam)]
    if not said and not mistakes.copies:
        said = list(_by_file_name(labels, exam))
    yield from said
    if said or faces:
        return
    if mistakes.twice:
        names = listed([one.piece.name for one in mistakes.twice])
        yield NotApplicable(CHECK, f"that {names} is a copy is told with the art")
        return
    told = [piece for piece in labels if _named(piece, exam)]
    if told:
        sides = listed([f"{piece.name} says side {piece.side}" for piece in told])
        yield Clear(CHECK, sides)
    else:
        yield NotApplicable(CHECK, "no label names its side in type that can be read")


def _named(piece: Piece, exam: OrderExam) -> frozenset[str]:
    """Return the sides of the order that a label names in its live type."""
    return piece.live.sides() & frozenset(exam.order.order.sides) & {piece.side or ""}


def _faces(exchange: Exchange, exam: OrderExam) -> Finding:
    """Return the finding for two faces of a piece that carry what belongs on each other."""
    one, other = exchange.one, exchange.other
    each = [
        f"{piece.name} ({piece.result.file}) is ordered as the {piece.part.face}"
        + (f", but {listed(signs)}" if signs else "")
        for piece, signs in zip((one, other), exchange.signs, strict=True)
    ]
    sure = exchange.certain and not exchange.by_eye
    begin = "The faces are exchanged" if exchange.certain else "The faces seem to be exchanged"
    return exam.finding(
        CHECK,
        "faces-exchanged",
        Severity.STOP if sure else Severity.QUERY,
        f"{begin}: {listed(each)}.{_BY_EYE if exchange.by_eye else ''}",
        f"Please swap {one.result.file} and {other.result.file}, or tell us that we may.",
        source=_SOURCE,
        measured=listed([str(other.part.face), str(one.part.face)]),
        required=listed([str(one.part.face), str(other.part.face)]),
        subject=listed(sorted([one.name, other.name])),
        parts=(one.name, other.name),
    )


def _exchanged(strange: tuple[Strange, ...], exam: OrderExam) -> Iterator[Finding]:
    """Yield one finding for all labels that carry each other's sides."""
    if not strange:
        return
    each = [_carries(one) for one in strange]
    by_eye = any(one.by_eye for one in strange)
    names = [one.piece.name for one in strange]
    files = listed([_file(one.piece) for one in strange])
    many = len(strange) > 2
    yield exam.finding(
        CHECK,
        "exchanged",
        Severity.QUERY if by_eye else Severity.STOP,
        f"The labels are exchanged: {listed(each)}.{_BY_EYE if by_eye else ''}",
        f"Please swap the files: {listed([_belongs(one) for one in strange])}."
        if many
        else f"Please swap {files}, or tell us that we may.",
        source=_SOURCE,
        measured=listed([f"side {one.side}" for one in strange]),
        required=listed([f"side {one.piece.side}" for one in strange]),
        subject=listed(sorted(names)),
        parts=tuple(names),
    )


def _other(strange: tuple[Strange, ...], exam: OrderExam) -> Iterator[Finding]:
    """Yield labels of another side, all in one finding, and those that only name another."""
    whole = [one for one in strange if not one.word_only]
    if whole:
        by_eye = any(one.by_eye for one in whole)
        names = [one.piece.name for one in whole]
        yield exam.finding(
            CHECK,
            "other-side",
            Severity.QUERY,
            f"{listed([_carries(one) for one in whole])}.{_BY_EYE if by_eye else ''}",
            "Please tell us which file belongs to which side, and send what is missing.",
            source=_SOURCE,
            measured=listed([f"side {one.side}" for one in whole]),
            required=listed([f"side {one.piece.side}" for one in whole]),
            subject=listed(sorted(names)),
            parts=tuple(names),
        )
    named = [one for one in strange if one.word_only]
    if not named:
        return
    each = [
        f"{one.piece.name} ({_file(one.piece)}) says {one.evidence[0]}, but carries the texts of "
        f"side {one.piece.side}"
        for one in named
    ]
    due = listed([str(one.piece.side) for one in named])
    many = len(named) > 1
    otherwise = "that each disc counts from A" if many else "which side it is"
    yield exam.finding(
        CHECK,
        "side-named",
        Severity.QUERY,
        f"{listed(each)}.{_BY_EYE if any(one.by_eye for one in named) else ''}",
        f"Please correct the side{'s' if many else ''} to {due}, or tell us {otherwise}.",
        source=_SOURCE,
        measured=listed([f"side {one.side}" for one in named]),
        required=listed([f"side {one.piece.side}" for one in named]),
        subject=listed(sorted(one.piece.name for one in named)),
        parts=tuple(one.piece.name for one in named),
    )


def _carries(one: Strange) -> str:
    return (
        f"{one.piece.name} ({_file(one.piece)}) is ordered as side {one.piece.side}, but "
        f"carries the text of side {one.side}: {listed(one.evidence)}"
    )


def _belongs(one: Strange) -> str:
    return f"{_file(one.piece)} is side {one.side}"


def _file(piece: Piece) -> str:
    page = piece.part.page
    return piece.result.file if page is None else f"page {page} of {piece.result.file}"


def _by_file_name(labels: list[Piece], exam: OrderExam) -> Iterator[Finding]:
    """Yield where the order gives sides to each other's file names."""
    sides = frozenset(exam.order.order.sides)
    said = {}
    for piece in labels:
        found = {
            m.upper() for m in _IN_NAME.findall(Path(piece.result.file or "").stem.casefold())
        } & sides
        if len(found) == 1:
            said[piece.name] = (piece, found.pop())
    for piece, named in said.values():
        partner = next((p for p, n in said.values() if p.side == named and n == piece.side), None)
        if named != piece.side and partner is not None and (piece.side or "") < named:
            yield exam.finding(
                CHECK,
                "file-names",
                Severity.QUERY,
                f"The order gives {piece.result.file} as side {piece.side} and {partner.part.file} "
                f"as side {partner.side}.",
                "Please tell us which file belongs to which side.",
                source=_SOURCE,
                measured=f"{piece.result.file} as side {piece.side}",
                required=f"{partner.part.file} as side {piece.side}",
                parts=(piece.name, partner.name),
            )
