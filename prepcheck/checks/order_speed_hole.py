"""Speed, size and hole of the labels against the record that was ordered."""

from collections.abc import Iterator

from prepcheck.findings import Finding, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.texts import LiveTexts
from prepcheck.sheets.type_lines import LiveLine, places_of, seen_lines
from prepcheck.words import listed

CHECK = "order.speed-hole"
HOLES_MM = {"small": (7.24, 0.5), "large": (38.2, 1.0)}
"""Diameter of the holes there are (IEC 98:1987), and how near to it a drawn one is meant for it."""
_SOURCE = "the order"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Speed and hole are the order's",
        FoundAt.PRESSING,
        (Severity.STOP, Severity.QUERY),
        "A label that says 45 on a record cut at 33 sends the whole run back, and a large hole "
        "punched into a label made for a small one takes the middle of the type with it. Either "
        "the order or the art is wrong, and only the client knows which.",
        "the order; hole sizes after IEC 98:1987",
        codes=("speed", "format", "hole-drawn", "holes-differ"),
    ),
)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    if not exam.labels:
        yield NotApplicable(CHECK, "no labels in this order")
        return
    said = [
        *(finding for piece in exam.labels for finding in _speed(piece, exam)),
        *(finding for piece in exam.labels for finding in _size(piece, exam)),
        *(finding for piece in exam.labels for finding in _drawn(piece, exam)),
        *_mixed(exam),
    ]
    yield from said
    if said:
        return
    head = exam.order.order
    told = [p.name for p in exam.labels if head.speed in _reading(p).speeds()]
    speed = f"{head.speed} rpm on {listed(told)}" if told else "no speed in readable type"
    yield Clear(CHECK, f"{speed}; holes and sizes agree", f"{head.speed} rpm", f"{head.speed} rpm")


def _reading(piece: Piece) -> LiveTexts:
    return LiveTexts(piece.digest.words if piece.digest else ())


def _speed(piece: Piece, exam: OrderExam) -> Iterator[Finding]:
    ordered = exam.order.order.speed
    live = _reading(piece).speeds()
    named, by_eye = (live, False) if live else (piece.seen.speeds(), True)
    other = sorted(named - {ordered})
    if not other or (by_eye and ordered in named):
        return
    both = ordered in named
    shown = listed([f"{speed} rpm" for speed in other])
    says = "seems to say" if by_eye else "says"
    eye = " This was read by eye and may be wrong." if by_eye else ""
    yield exam.finding(
        CHECK,
        "speed",
        Severity.QUERY if both or by_eye else Severity.STOP,
        f"{piece.name} {says} {shown}{f' as well as {ordered} rpm' if both else ''}; the order is "
        f"for {ordered} rpm.{eye}",
        "Please tell us at which speed the record is cut, and correct the label or the order.",
        source=_SOURCE,
        measured=shown,
        required=f"{ordered} rpm",
        subject=piece.name,
        parts=(piece.name,),
        marks=tuple(
            line.mark(piece)
            for line in _lines(piece)
            if LiveTexts.speeds_in(line.text) & named - {ordered}
        ),
    )


def _lines(piece: Piece) -> list[LiveLine]:
    """Return the lines of a label, live ones and those that were read by eye."""
    live = [line for place in places_of(piece) for line in place.lines]
    return [*live, *(line for _, line in seen_lines(piece))]


def _size(piece: Piece, exam: OrderExam) -> Iterator[Finding]:
    """Yield labels made for a record of another size."""
    ordered = exam.order.order.format
    if piece.spec is None or piece.spec.format in (None, ordered):
        return
    size = f", {piece.result.trim_mm[0]:.1f} mm wide" if piece.result.trim_mm else ""
    yield exam.finding(
        CHECK,
        "format",
        Severity.STOP,
        f"{piece.name} is a label for a {piece.spec.format} record ({piece.spec.name}{size}); the "
        f"order is for {ordered}.",
        "Please tell us which record is ordered, and send the label that belongs to it.",
        source=_SOURCE,
        measured=piece.spec.format,
        required=ordered,
        subject=piece.name,
        parts=(piece.name,),
    )


def _drawn(piece: Piece, exam: OrderExam) -> Iterator[Finding]:
    """Yield labels in whose art the other kind of hole is drawn."""
    drawn = None if piece.digest is None else piece.digest.hole_mm
    if piece.spec is None or piece.spec.hole is None or drawn is None:
        return
    due = piece.spec.hole.diameter_mm
    kind, other = _kind(drawn), _kind(due)
    if kind is None or other is None or kind == other:
        return
    yield exam.finding(
        CHECK,
        "hole-drawn",
        Severity.QUERY,
        f"{piece.name} has a circle of {drawn:.1f} mm about its centre, like a {kind} hole; it is "
        f"made for a {other} hole of {due:g} mm.",
        f"Please tell us whether the record gets a {kind} hole.",
        limit="hole.diameter_mm",
        spec=piece.spec,
        measured=drawn,
        required=due,
        unit="mm",
        subject=piece.name,
        parts=(piece.name,),
    )


def _kind(diameter: float) -> str | None:
    """Return which hole a diameter is meant for; None for a circle that is no hole."""
    near = (kind for kind, (size, room) in HOLES_MM.items() if abs(diameter - size) <= room)
    return next(near, None)


def _mixed(exam: OrderExam) -> Iterator[Finding]:
    """Yield labels of one order made for different holes."""
    holes: dict[float, list[str]] = {}
    for piece in exam.labels:
        if piece.spec is not None and piece.spec.hole is not None:
            holes.setdefault(piece.spec.hole.diameter_mm, []).append(piece.name)
    if len(holes) < 2:
        return
    each = [f"{listed(names)} for {size:g} mm" for size, names in sorted(holes.items())]
    yield exam.finding(
        CHECK,
        "holes-differ",
        Severity.STOP,
        f"The labels are made for different holes: {listed(each)}.",
        "Please tell us which hole the record gets, and send all labels for it.",
        source=_SOURCE,
        measured=listed([f"{size:g} mm" for size in sorted(holes)]),
        required="one hole size",
        parts=tuple(name for names in holes.values() for name in names),
    )
