"""Files that carry the text of another side."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.said import Clear, Declaration, Explained, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.faces import Exchange
from prepcheck.sheets.mistakes import Strange
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.told import finding_of
from prepcheck.sheets.type_lines import marks_of, panels_of, places_of, tracks_of
from prepcheck.words import clauses, listed

CHECK = "order.swapped"
_SOURCE = "common practice, no source"
_BY_EYE = " This was read by eye and may be wrong."

_BACK = "back"
"""Name of the panel that the barcode belongs on."""
_SOME_TRACKS = 3
_OF_A_FACE = ("size.trim", "barcode.missing")
"""Checks of a part that a face in the other's place makes find something."""

DECLARATIONS = (
    Declaration(
        CHECK,
        "Sides, faces and files are not swapped",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY),
        "The press puts the label on top that it was given as A. When A's file carries B's text, "
        "every record of the run plays the other side than its label says.",
        _SOURCE,
        codes=(
            "exchanged",
            "faces-exchanged",
            "files-exchanged",
            "panels-exchanged",
            "other-side",
            "side-named",
            "file-names",
        ),
    ),
)

_IN_NAME = re.compile(r"(?:^|[^a-z])(?:side|seite|face|label)?[ _-]?([a-z])(?=$|[^a-z])")


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    labels = [piece for piece in exam.labels if piece.side is not None]
    faces = [_faces(exchange, exam) for exchange in exam.exchanged_faces]
    faces += [*_files(exam), *_panels(exam.pieces)]
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
        said = [*_by_file_name(labels, exam), *_by_tracks(labels, exam)]
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
        f"{begin}: {clauses(each)}.{_BY_EYE if exchange.by_eye else ''}",
        ("Please look at the proof; if it is so, " if exchange.by_eye else "Please ")
        + f"swap {one.result.file} and {other.result.file}, or tell us that we may.",
        source=_SOURCE,
        measured=listed([str(other.part.face), str(one.part.face)]),
        required=listed([str(one.part.face), str(other.part.face)]),
        subject=listed(sorted([one.name, other.name])),
        parts=(one.name, other.name),
    )


def _files(exam: OrderExam) -> Iterator[Finding]:
    """Yield one finding for all files that were named for each other's parts."""
    moved = [piece for piece in exam.pieces if piece.name in exam.moved]
    if not moved:
        return
    each = [f"{exam.moved[piece.name]} for {piece.name}" for piece in moved]
    fits = [f"{piece.result.file} is {piece.name}" for piece in moved]
    files = listed([piece.result.file for piece in moved])
    yield exam.finding(
        CHECK,
        "files-exchanged",
        Severity.STOP,
        f"The files are exchanged: the order names {listed(each)}, but by their sizes "
        f"{listed(fits)}. Each was checked as what it is.",
        f"Please swap {files}, or tell us that we may."
        if len(moved) == 2
        else f"Please swap the files: {listed(fits)}.",
        source=_SOURCE,
        measured=listed([exam.moved[piece.name] for piece in moved]),
        required=files,
        subject=listed(sorted(piece.name for piece in moved)),
        parts=tuple(piece.name for piece in moved),
    )


def _panels(pieces: Sequence[Piece]) -> Iterator[Finding]:
    """Yield sleeves whose barcode, which belongs on the back, stands on another panel alone."""
    for piece in pieces:
        if not piece.is_a("jacket", "gatefold") or piece.digest is None:
            continue
        bars = {panel: page.number for page in piece.digest.pages for panel in page.bars_on}
        kinds = {p.name: p.kind for p in panels_of(piece)}
        if _BACK not in kinds or not bars or _BACK in bars:
            continue
        panel = next((name for name in bars if kinds.get(name) == "face"), None)
        if panel is None:
            continue
        places = {place.panel: place for place in places_of(piece)}
        tracks = {name: len(tracks_of(place)) for name, place in places.items()}
        listed_there = tracks.get(panel, 0) >= _SOME_TRACKS
        bare = tracks.get(_BACK, 0) < _SOME_TRACKS
        also = " and the list of tracks stand" if listed_there and bare else " stands"
        seem = f": {panel} and {_BACK} seem to be exchanged" if listed_there and bare else ""
        box = next(p.box for p in panels_of(piece) if p.name == panel)
        yield finding_of(
            None,
            CHECK,
            "panels-exchanged",
            Severity.QUERY,
            f"{piece.name}: the barcode{also} on the {panel}, not on the {_BACK}{seem}.",
            f"Please tell us which panel is the front; if it is not as in our template, swap "
            f"{panel} and {_BACK}.",
            source=_SOURCE,
            measured=panel,
            required=_BACK,
            subject=piece.name,
            parts=(piece.name,),
            marks=(Mark(box, f"the {panel}", part=piece.name, page=bars[panel]),),
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
    swap = f"Please swap {files}, or tell us that we may."
    if many:
        swap = f"Please swap the files: {listed([_belongs(one) for one in strange])}."
    if by_eye:
        swap = f"Please look at the proof; if it is so, {swap.removeprefix('Please ')}"
    if any(one.text_only for one in strange):
        swap = f"Please tell us which are right: sides and texts of {files} contradict each other."
    yield exam.finding(
        CHECK,
        "exchanged",
        Severity.QUERY if by_eye else Severity.STOP,
        f"The labels are exchanged: {clauses(each)}.{_BY_EYE if by_eye else ''}",
        swap,
        source=_SOURCE,
        measured=listed([f"side {one.side}" for one in strange]),
        required=listed([f"side {one.piece.side}" for one in strange]),
        subject=listed(sorted(names)),
        parts=tuple(names),
        marks=_places(strange),
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
            f"{clauses([_carries(one) for one in whole])}.{_BY_EYE if by_eye else ''}",
            "Please tell us which file belongs to which side, and send what is missing.",
            source=_SOURCE,
            measured=listed([f"side {one.side}" for one in whole]),
            required=listed([f"side {one.piece.side}" for one in whole]),
            subject=listed(sorted(names)),
            parts=tuple(names),
            marks=_places(whole),
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
        f"{clauses(each)}.{_BY_EYE if any(one.by_eye for one in named) else ''}",
        f"Please correct the side{'s' if many else ''} to {due}, or tell us {otherwise}.",
        source=_SOURCE,
        measured=listed([f"side {one.side}" for one in named]),
        required=listed([f"side {one.piece.side}" for one in named]),
        subject=listed(sorted(one.piece.name for one in named)),
        parts=tuple(one.piece.name for one in named),
        marks=_places(named),
    )


def _places(strange: Sequence[Strange]) -> tuple[Mark, ...]:
    """Return the lines that tell which side labels are."""
    return tuple(
        mark
        for one in strange
        for mark in marks_of(one.piece, [text.strip("'") for text in one.evidence])
    )


def _carries(one: Strange) -> str:
    says = "says" if one.text_only else "is ordered as"
    return (
        f"{one.piece.name} ({_file(one.piece)}) {says} side {one.piece.side}, but "
        f"carries the text of side {one.side}: {listed(one.evidence)}"
    )


def _belongs(one: Strange) -> str:
    return f"{_file(one.piece)} is side {one.side}"


def _file(piece: Piece) -> str:
    page = piece.part.page
    return piece.result.file if page is None else f"page {page} of {piece.result.file}"


def _by_tracks(labels: list[Piece], exam: OrderExam) -> Iterator[Finding]:
    """Yield labels that name their own side and count their tracks as another's."""
    sides = frozenset(exam.order.order.sides)
    for piece in labels:
        named = piece.live.sides_in_words()
        tracks = [
            (key, line) for place in places_of(piece) for key, line in tracks_of(place).items()
        ]
        letters = {key[0] for key, _ in tracks}
        if piece.side not in named or len(letters) != 1 or len(tracks) < 2 or letters & named:
            continue
        if not letters <= sides:
            continue
        shown = listed([key for key, _ in tracks[:2]])
        yield exam.finding(
            CHECK,
            "side-named",
            Severity.QUERY,
            f"{piece.name} ({_file(piece)}) says '{piece.live.as_named(piece.side)}', but counts "
            f"its tracks {shown}.",
            "Please tell us which is right, and correct the other.",
            source=_SOURCE,
            measured=f"side {letters.pop()}",
            required=f"side {piece.side}",
            subject=piece.name,
            parts=(piece.name,),
            marks=tuple(line.mark(piece) for _, line in tracks),
        )


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
