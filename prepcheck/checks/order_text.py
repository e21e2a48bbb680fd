"""Texts that a part must carry."""

from collections.abc import Iterator

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.agreeing import slipped
from prepcheck.sheets.expected import (
    OUTLINED,
    SOME_GLYPHS,
    asked_of,
    hides,
    lettered,
    other_numbers,
    pictured,
    shows,
    whole_marks,
)
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.texts import LiveTexts, compact, side_in
from prepcheck.sheets.type_lines import marks_of
from prepcheck.words import capital, listed

CHECK = "order.text"
_SOURCE = "the order"
_EXTRA = "prepcheck[read]"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Texts that the order expects are there",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY, Severity.NOTE),
        "A label without its catalogue number or side, or with last year's title, is noticed "
        "when the records are packed. Type turned into outlines and pictures of type cannot be "
        "read by a program: then a person must look at the proof.",
        "the order; common practice for what a label says: catalogue number, side, title, and the "
        "speed where it is not the usual one",
        codes=("unread", "unread-spine", "not-found"),
    ),
)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    found: list[str] = []
    unread: list[str] = []
    said: list[Finding] = []
    for piece in exam.pieces:
        # What one file sent twice leaves out is told with the art.
        if piece.digest is None or piece.name in exam.mistakes.copies:
            continue
        reading = piece.live
        asked = _asked(piece, exam)
        # What a piece must say may stand on any of its faces.
        faces = exam.of_piece(piece)
        here = [text for text, _ in asked if any(shows(face.live, text) for face in faces)]
        missing = _once([(text, grave) for text, grave in asked if text not in here], reading)
        hidden = hides(piece.digest)
        found += here
        if missing and hidden:
            unread.append(piece.name)
        outlines = sum(page.outlined for page in piece.digest.pages) >= SOME_GLYPHS
        usual: list[str] = []
        if reading.empty and not outlines and (not hidden or not piece.part.expect):
            # What the order names for no part is often lettering, and a label may be left blank;
            # where type is in outlines somebody has to look what it says. A picture of a label
            # stops nothing, but it is said that nobody has read it.
            usual = [text for text, grave in missing if grave is Severity.QUERY and hidden]
            missing = [item for item in missing if item[1] is Severity.STOP]
        # A slip in type that can be read is one, whatever else cannot be.
        slipped = [item for item in missing if not hidden or reading.nearest(item[0]) is not None]
        unseen = [text for text, _ in missing if (text, _) not in slipped]
        if exam.told_by_eye(piece):
            seen = [text for text, _ in asked if any(shows(face.seen, text) for face in faces)]
            unseen, usual = ([t for t in texts if t not in seen] for texts in (unseen, usual))
        said += _missing(piece, slipped, exam)
        if unseen:
            said.append(_unread(piece, unseen, hidden, exam))
        elif (spine := _spine(piece, exam)) is not None:
            said.append(spine)
        elif usual:
            said.append(_unread(piece, usual, hidden, exam, _usually(piece, usual)))
    yield from said
    if said:
        return
    if unread:
        yield NotApplicable(CHECK, f"{listed(unread)} cannot be read; look at the proof")
    elif found:
        yield Clear(CHECK, f"found: {listed(sorted(set(found)))}")
    else:
        yield NotApplicable(CHECK, "the order expects no text of these parts")


def _once(missing: list[tuple[str, Severity]], reading: LiveTexts) -> list[tuple[str, Severity]]:
    """Return what is missing without usual texts that are missing for a slip told elsewhere: they
    hold a text that the order names for the part, or a name that `order.agreement` finds misspelt.
    """
    named = [compact(text) for text, grave in missing if grave is Severity.STOP]
    return [
        (text, grave)
        for text, grave in missing
        if grave is Severity.STOP
        or not (any(key in compact(text) for key in named) or slipped(text, reading))
    ]


def _asked(piece: Piece, exam: OrderExam) -> list[tuple[str, Severity]]:
    """Return what a part must say, less what another check says of it.

    A label that carries another side's texts is asked for those: that it does is told once.
    """
    head = exam.order.order
    carried = exam.mistakes.carried(piece)
    meant = next((p for p in exam.pieces if p.side == carried), piece) if carried else piece
    asked = asked_of(meant.part, meant.spec, head)
    named = carried is None or exam.mistakes.keeps_its_name(piece)
    if exam.mistakes.misnamed(piece) and named:
        asked = [item for item in asked if side_in(item[0]) is None]
    if other_numbers(piece, head.catalogue):
        asked = [item for item in asked if item[0].casefold() != head.catalogue.casefold()]
    return asked


def _unread(
    piece: Piece,
    texts: list[str],
    hidden: str,
    exam: OrderExam,
    severity: Severity = Severity.QUERY,
) -> Finding:
    """Return the query for texts that only a person can look for, or the note, where they are
    usual and nobody asked for them."""
    live = not piece.live.empty
    what = (
        f"{_quoted(texts)} cannot be found in the live type of {piece.name}; other type is "
        f"{hidden} and cannot be read"
        if live
        else f"The type of {piece.name} cannot be read: it is {hidden}. "
        f"{'It should say' if piece.part.expect else 'Such a part usually says'} "
        f"{_quoted(texts)}"
    )
    return exam.finding(
        CHECK,
        "unread",
        severity,
        f"{what}.{_by_eye(piece, texts)}",
        "Please look at the proof and confirm each of these texts.",
        source=_source(piece),
        measured="cannot be read",
        required=_quoted(texts),
        subject=piece.name,
        parts=(piece.name,),
        to_confirm=tuple(texts),
        marks=_outlined(piece) or whole_marks(piece),
    )


def _usually(piece: Piece, texts: list[str]) -> Severity:
    """Return how grave it is that texts which are usual, and asked for by nobody, cannot be read:
    a query where the type was read by eye and does not seem to say them."""
    digest = piece.digest
    if digest is None or not digest.reader or digest.not_read or piece.seen.empty:
        return Severity.NOTE
    gone = [text for text in texts if not shows(piece.seen, text)]
    return Severity.QUERY if gone else Severity.NOTE


def _source(piece: Piece) -> str:
    """Return the source, and where there is no optical reader how to get one: that is for who runs
    the check, and no matter of the client's."""
    if piece.digest is None or piece.digest.reader is not False:
        return _SOURCE
    return f"{_SOURCE}; with pip install '{_EXTRA}' such type is also read by eye"


def _by_eye(piece: Piece, texts: list[str]) -> str:
    """Return what an optical reader made of it, as a sentence behind another; nothing where none
    was at work."""
    digest = piece.digest
    if digest is None or not (digest.reader or digest.not_read):
        return ""
    if not digest.reader:
        return f" {capital(digest.not_read)}."
    seen = [text for text in texts if shows(piece.seen, text)]
    gone = [text for text in texts if text not in seen]
    words = []
    if seen and not gone and len(seen) > 1:
        words.append("it seems to say all of them")
    elif seen:
        words.append(f"it seems to say {_quoted(seen)}")
    if gone:
        words.append(f"{_quoted(gone)} {'was' if len(gone) == 1 else 'were'} not made out")
        near = [word for text in gone if (word := piece.seen.nearest(text)) is not None]
        if near:
            words[-1] += f", nearest to it is {_quoted(near)}"
    if gone and digest.not_read:
        words.append(digest.not_read)
    return f" {capital('; '.join(words))} (read by eye, may be wrong)."


def _outlined(piece: Piece) -> tuple[Mark, ...]:
    """Return the lines of outlined type of a part, where all that hides type is such lines."""
    digest = piece.digest
    if digest is None or hides(digest) != OUTLINED:
        return ()
    return tuple(
        Mark(box, "outlined type stands here", part=piece.name, page=page.number)
        for page in digest.pages
        for box in page.outlined_at
    )


def _spine(piece: Piece, exam: OrderExam) -> Finding | None:
    """Return the query for a spine that is lettered in a way that cannot be read."""
    if piece.spec is None or piece.digest is None:
        return None
    head = exam.order.order
    texts = [head.title, head.catalogue]
    for panel in piece.spec.outline_of().panels:
        if panel.kind != "spine":
            continue
        outlined = lettered(piece.digest, panel.name)
        page = pictured(piece.digest, panel.name) if outlined is None else outlined
        how = "part of a picture" if outlined is None else "turned into outlines"
        told = exam.told_by_eye(piece) and all(shows(piece.seen, text) for text in texts)
        if page is not None and not told:
            return exam.finding(
                CHECK,
                "unread-spine",
                Severity.QUERY,
                f"The spine of {piece.name} is {how} and cannot be read; it "
                f"should say {_quoted(texts)}.{_by_eye(piece, texts)}",
                "Please look at the spine on the proof and confirm what it says.",
                source=_source(piece),
                measured="cannot be read",
                required=_quoted(texts),
                subject=piece.name,
                parts=(piece.name,),
                to_confirm=tuple(texts),
                marks=(Mark(panel.box, "the spine", part=piece.name, page=page),),
            )
    return None


def _missing(
    piece: Piece, missing: list[tuple[str, Severity]], exam: OrderExam
) -> Iterator[Finding]:
    for severity in (Severity.STOP, Severity.QUERY):
        texts = [text for text, grave in missing if grave is severity]
        if not texts:
            continue
        verb = "is" if len(texts) == 1 else "are"
        what = f"{_quoted(texts)} {verb} not on {piece.name}"
        near = [word for text in texts if (word := piece.live.nearest(text)) is not None]
        what += f"; nearest to it is {_quoted(near)}." if near else "."
        yield exam.finding(
            CHECK,
            "not-found",
            severity,
            what,
            "Please correct the text, or tell us that it is meant to be like this.",
            source=_SOURCE,
            measured="not found",
            required=_quoted(texts),
            subject=piece.name,
            parts=(piece.name,),
            marks=marks_of(piece, near),
        )


def _quoted(texts: list[str]) -> str:
    return listed([f"'{text}'" for text in texts])
