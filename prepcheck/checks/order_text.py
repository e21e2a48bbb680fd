"""Texts that a part must carry."""

from collections.abc import Iterator

from prepcheck.findings import Finding, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.digest import Digest
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.texts import Reading
from prepcheck.words import listed

CHECK = "order.text"
SOME_GLYPHS = 12
"""Shapes like letters from which part of the type may be in outlines."""
SOME_PICTURE_MM2 = 100.0
"""Area of pictures that may hold type."""
_UNUSUAL = {"12-inch": ("45", "78"), "10-inch": ("45", "78"), "7-inch": ("33", "78")}
"""Speeds that a buyer must be told of, since another is usual for the format (common practice)."""
_SOURCE = "the order"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Texts the order expects",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY, Severity.NOTE),
        "A label without its catalogue number or side, or with last year's title, is noticed "
        "when the records are packed. Type turned into outlines and pictures of type cannot be "
        "read by a program: then a person must look at the proof.",
        "the order; common practice for what a label says: catalogue number, side, title, and the "
        "speed where it is not the usual one",
    ),
)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    found: list[str] = []
    unread: list[str] = []
    said: list[Finding] = []
    for piece in exam.pieces:
        if piece.digest is None or not (asked := _asked(piece, exam)):
            continue
        reading = Reading(piece.digest.words)
        here = [text for text, _ in asked if _shows(reading, text, piece)]
        missing = [(text, grave) for text, grave in asked if text not in here]
        hidden = hides(piece.digest)
        found += here
        if missing and hidden:
            unread.append(piece.name)
        if hidden or reading.empty:
            # What the order does not name itself is often lettering on a cover, and a label
            # may be left blank.
            missing = [(text, grave) for text, grave in missing if text in piece.part.expect]
        if missing and hidden and reading.empty:
            said += _unread(piece, [text for text, _ in missing], hidden)
        elif missing:
            said += _missing(piece, missing, hidden, reading)
    yield from said
    if said:
        return
    if found:
        also = f"; {listed(unread)} cannot be read, look at the proof" if unread else ""
        yield Clear(CHECK, f"found: {listed(sorted(set(found)))}{also}")
    elif unread:
        yield NotApplicable(CHECK, f"{listed(unread)} cannot be read; look at the proof")
    else:
        yield NotApplicable(CHECK, "the order expects no text of these parts")


def hides(digest: Digest) -> str:
    """Return in words what may hold type that cannot be read; nothing where there is none."""
    ways = []
    if sum(page.outlined for page in digest.pages) >= SOME_GLYPHS:
        ways.append("turned into outlines")
    if sum(page.pictures_mm2 for page in digest.pages) >= SOME_PICTURE_MM2:
        ways.append("part of a picture")
    return " or ".join(ways)


def _asked(piece: Piece, exam: OrderExam) -> list[tuple[str, Severity]]:
    """Return the texts a part must carry, each with how grave it is when it is not there."""
    head = exam.order.order
    asked = [(text, Severity.STOP) for text in piece.part.expect]
    if piece.is_label or piece.is_a("jacket", "gatefold"):
        asked += [(head.catalogue, Severity.QUERY), (head.title, Severity.QUERY)]
    if piece.is_label:
        if piece.side is not None:
            asked.append((f"Side {piece.side}", Severity.QUERY))
        if head.speed in _UNUSUAL[head.format]:
            asked.append((f"{head.speed} rpm", Severity.QUERY))
    once: dict[str, tuple[str, Severity]] = {}
    for text, severity in asked:
        once.setdefault(text.casefold(), (text, severity))
    return list(once.values())


def _shows(reading: Reading, text: str, piece: Piece) -> bool:
    if reading.has(text):
        return True
    speeds = Reading.speeds_in(text)
    if speeds:
        return bool(speeds & reading.speeds())
    return piece.side is not None and text == f"Side {piece.side}" and piece.side in reading.sides()


def _unread(piece: Piece, texts: list[str], hidden: str) -> Iterator[Finding]:
    """Yield a note on texts that the order names and only a person can look for."""
    yield Finding(
        CHECK,
        Severity.NOTE,
        f"The type of {piece.name} cannot be read: it is {hidden}. Look at the proof for "
        f"{_quoted(texts)}.",
        "Please look at the proof and compare these texts.",
        _SOURCE,
        measured="cannot be read",
        required=_quoted(texts),
        code="unread",
        subject=piece.name,
        parts=(piece.name,),
        to_confirm=tuple(texts),
    )


def _missing(
    piece: Piece, missing: list[tuple[str, Severity]], hidden: str, reading: Reading
) -> Iterator[Finding]:
    for severity in (Severity.STOP, Severity.QUERY):
        texts = [text for text, grave in missing if grave is severity]
        if not texts:
            continue
        if hidden:
            what = (
                f"{_quoted(texts)} cannot be found in the live type of {piece.name}; other type "
                f"is {hidden} and cannot be read, look at the proof."
            )
        else:
            verb = "is" if len(texts) == 1 else "are"
            what = f"{_quoted(texts)} {verb} not on {piece.name}"
            near = [word for text in texts if (word := reading.nearest(text)) is not None]
            what += f"; nearest to it is {_quoted(near)}." if near else "."
        yield Finding(
            CHECK,
            Severity.QUERY if hidden else severity,
            what,
            "Please look at the proof and confirm that the text is there."
            if hidden
            else "Please correct the text, or tell us that it is meant to be like this.",
            _SOURCE,
            measured="not found",
            required=_quoted(texts),
            code="hidden" if hidden else "not-found",
            subject=piece.name,
            parts=(piece.name,),
            to_confirm=tuple(texts) if hidden else (),
        )


def _quoted(texts: list[str]) -> str:
    return listed([f"'{text}'" for text in texts])
