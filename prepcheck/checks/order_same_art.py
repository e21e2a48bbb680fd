"""One art supplied for two sides."""

from collections.abc import Iterator
from itertools import combinations

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.alike import Pair
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.type_lines import places_of
from prepcheck.words import count, listed

CHECK = "order.same-art"
NEARLY_PERCENT = 98.0
"""How much of what is drawn must be alike for two arts to be taken for one. House labels share
a frame, a logo and a pattern; what differs on them is a list of tracks."""
_OWN_LINES, _A_TITLE = 2, 8
"""Lines of so many letters that each of two labels must have of its own to be two arts."""
_SHOWN = 12
_SOURCE = "common practice, no source; limit from memory"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Each side has its own art",
        FoundAt.SALE,
        (Severity.STOP, Severity.QUERY, Severity.NOTE),
        "The A label exported twice, or sent under B's name, is pressed on both sides without "
        "anybody at the press seeing a fault: it looks like a label. The buyer finds it.",
        _SOURCE,
        codes=("blank", "same", "nearly", "copy"),
    ),
)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    pairs = exam.pairs
    said = [finding for pair in pairs for finding in _pair(pair, exam)]
    said += _copies(exam)
    yield from said
    if said:
        return
    if pairs:
        nearest = max((pair.found for pair in pairs), key=lambda found: found.share)
        labels = {piece.name for pair in pairs for piece in (pair.one, pair.other)}
        share = 100 * nearest.share
        yield Clear(
            CHECK,
            f"no two of {count(len(labels), 'label')} carry the same art",
            share,
            NEARLY_PERCENT,
            "%",
        )
    else:
        yield NotApplicable(CHECK, "fewer than two labels could be compared")


def _say_other_things(one: Piece, other: Piece) -> bool:
    """Say whether each of two labels carries lines of type of its own, as tracks are: then they
    are two arts of one design."""
    mine, theirs = (
        {
            line.key
            for place in places_of(piece)
            for line in place.lines
            if sum(c.isalpha() for c in line.key) >= _A_TITLE
        }
        for piece in (one, other)
    )
    return min(len(mine - theirs), len(theirs - mine)) >= _OWN_LINES


def _pair(pair: Pair, exam: OrderExam) -> Iterator[Finding]:
    one, other, found = pair.one, pair.other, pair.found
    mistakes = exam.mistakes
    copy = one if one.name in mistakes.copies and other.name not in mistakes.copies else other
    percent = 100 * found.share
    if percent < NEARLY_PERCENT or (found.places and _say_other_things(one, other)):
        return
    names = f"{one.name} and {other.name}"
    turned = f", turned by {found.turn}°" if found.turn else ""
    same = not found.places
    if found.plain and same:
        yield exam.finding(
            CHECK,
            "blank",
            Severity.NOTE,
            f"{names} are the same plain colour with nothing on it.",
            "Nothing need be done if they are meant to be blank.",
            source=_SOURCE,
            measured=percent,
            required=NEARLY_PERCENT,
            unit="%",
            parts=(one.name, other.name),
        )
        return
    one_file = _source(one) == _source(other)
    # A copy that names the other's side is not meant to look alike.
    named = next((s for s in mistakes.twice if s.piece.name == copy.name), None)
    if same:
        what = f"{names} carry the same art{turned}"
        what += _one_source(one) if one_file else _file_words(one, other)
        if named is not None:
            what += f" {copy.name} says {listed(named.evidence)}: side {named.side} came twice."
    else:
        tenths = int(percent * 10) / 10
        what = (
            f"{names} carry nearly the same art{turned}: {tenths:.1f} % alike, "
            f"{found.differs_mm2:.1f} mm² differ in {count(len(found.places), 'place')}."
        )
    yield exam.finding(
        CHECK,
        "same" if same else "nearly",
        Severity.STOP if same and (not one_file or named is not None) else Severity.QUERY,
        what,
        f"Please {_which_page(copy) if one_file else ''}send the art of {copy.name}, or confirm "
        "that both sides are to look alike."
        if same
        else "Please look at the marked places and confirm that nothing else differs.",
        source=_SOURCE,
        measured=percent,
        required=f"less than {NEARLY_PERCENT:g} % alike",
        unit="%",
        subject=names,
        parts=(one.name, other.name),
        marks=tuple(
            Mark(box, names, value=box.area, rank=float(rank))
            for rank, box in enumerate(found.places[:_SHOWN])
        ),
    )


def _one_source(piece: Piece) -> str:
    page, pages = piece.part.page, piece.result.pages
    if page is None or pages < 2:
        return "; the order names one file for both."
    return f"; the order names page {page} of {piece.part.file} for both, and it has {pages} pages."


def _which_page(copy: Piece) -> str:
    several = copy.part.page is not None and copy.result.pages > 1
    return f"tell us which page is {copy.name}, " if several else ""


def _file_words(one: Piece, other: Piece) -> str:
    if one.result.sha256 and one.result.sha256 == other.result.sha256:
        return f": {one.part.file} and {other.part.file} are one file under two names."
    return f", though {one.part.file} and {other.part.file} are different files."


def _source(piece: Piece) -> tuple[str, int | None]:
    return piece.part.file or "", piece.part.page


def _copies(exam: OrderExam) -> Iterator[Finding]:
    """Yield pieces other than labels that are one file under two names."""
    others = [piece for piece in exam.pieces if not piece.is_label and piece.result.sha256]
    for one, other in combinations(others, 2):
        twins = one.result.sha256 == other.result.sha256 and one.part.page == other.part.page
        if twins and one.part.file != other.part.file:
            yield exam.finding(
                CHECK,
                "copy",
                Severity.QUERY,
                f"{one.part.file} ({one.name}) and {other.part.file} ({other.name}) are one file "
                "under two names.",
                f"Please send the art of {other.name}, or confirm that both are to look alike.",
                source=_SOURCE,
                measured=100.0,
                required="two different arts",
                unit="%",
                subject=f"{one.name} and {other.name}",
                parts=(one.name, other.name),
            )
