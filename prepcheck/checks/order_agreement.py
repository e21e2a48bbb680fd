"""Titles, artists and names that are spelt in two ways on the parts of one record."""

from collections.abc import Iterator, Sequence
from itertools import combinations

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.lines import Line, Place, places_of, segments
from prepcheck.sheets.order_exam import OrderExam
from prepcheck.sheets.texts import compact, digits, plain, slips
from prepcheck.words import count, listed

CHECK = "order.agreement"
SHORTEST = 6
"""Letters from which a line is held against others; shorter ones differ by little by chance."""
A_SLIP_IN = 6
"""Letters for which one may be wrong for two lines to be taken for one."""
_SOURCE = "common practice, no source; limits from memory"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Spellings that differ between parts",
        FoundAt.SALE,
        (Severity.QUERY,),
        "Label, spine, back and insert are often set by different hands. A title that is spelt in "
        "one way on the label and in another on the back is noticed by whoever buys the record; "
        "only the client knows which is right.",
        _SOURCE,
        codes=("spelling", "spine"),
    ),
)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    places = [place for piece in exam.pieces for place in places_of(piece)]
    if len(places) < 2:
        yield NotApplicable(CHECK, "live type stands in fewer than two places")
        return
    said = [*_spellings(places, exam), *_spines(places, exam)]
    yield from said
    if not said:
        lines = sum(len(place.lines) for place in places)
        names = count(len(places), "place")
        yield Clear(CHECK, f"no two spellings among {count(lines, 'line')} in {names}")


def _spellings(places: Sequence[Place], exam: OrderExam) -> Iterator[Finding]:
    """Yield pairs of lines that differ by little, each pair of spellings once."""
    found: dict[tuple[str, str], list[tuple[Place, Line]]] = {}
    for one, other in combinations(places, 2):
        for a, b in _alike(one, other):
            pair = (a.key, b.key) if a.key < b.key else (b.key, a.key)
            kept = found.setdefault(pair, [])
            kept += [item for item in ((one, a), (other, b)) if item not in kept]
    for carriers in found.values():
        each: dict[str, list[tuple[Place, Line]]] = {}
        for place, line in carriers:
            each.setdefault(line.text, []).append((place, line))
        words = [
            f"'{text}' on {listed(list(dict.fromkeys(place.name for place, _ in own)))}"
            for text, own in each.items()
        ]
        yield exam.finding(
            CHECK,
            "spelling",
            Severity.QUERY,
            f"Two spellings: {listed(words)}.",
            "Please tell us which is right, and correct the other.",
            source=_SOURCE,
            measured=listed([f"'{text}'" for text in each]),
            required="one spelling",
            subject=" / ".join(sorted(each)),
            parts=tuple(dict.fromkeys(place.piece.name for place, _ in carriers)),
            marks=tuple(
                Mark(line.box, f"'{line.text}'", part=place.piece.name, page=line.page)
                for place, line in carriers
            ),
        )


def _alike(one: Place, other: Place) -> Iterator[tuple[Line, Line]]:
    """Yield lines of two places that are nearly one, where neither place has the other's."""
    mine = [line for line in one.lines if _counts(line) and line.key not in other.whole]
    theirs = [line for line in other.lines if _counts(line) and line.key not in one.whole]
    for a in mine:
        for b in theirs:
            room = max(1, min(len(a.key), len(b.key)) // A_SLIP_IN)
            near = digits(a.key) == digits(b.key) and 0 < slips(a.key, b.key) <= room
            if near and not _by_letter(a.text, b.text):
                yield a, b


def _by_letter(one: str, other: str) -> bool:
    """Say whether all that differs are words of a letter or two, such as a side or a volume."""
    a, b = plain(one).split(), plain(other).split()
    differ = [pair for pair in zip(a, b, strict=False) if pair[0] != pair[1]]
    return len(a) == len(b) and all(max(map(len, pair)) <= 2 for pair in differ)


def _counts(line: Line) -> bool:
    return sum(c.isalpha() for c in line.key) >= SHORTEST


def _spines(places: Sequence[Place], exam: OrderExam) -> Iterator[Finding]:
    """Yield what stands on a spine and nowhere else, nor in the order."""
    head = exam.order.order
    known = "".join(compact(text) + " " for text in (head.title, head.client, head.catalogue))
    known += "".join(compact(text) + " " for p in exam.order.part for text in p.expect)
    for place in places:
        others = [other.whole for other in places if other is not place and other.whole]
        if place.kind != "spine" or not others:
            continue
        for line in place.lines:
            strange = [text for text in segments(line.text) if _strange(text, [known, *others])]
            if not strange or any(_near(line, other) for other in places if other is not place):
                continue
            shown = listed([f"'{text}'" for text in strange])
            yield exam.finding(
                CHECK,
                "spine",
                Severity.QUERY,
                f"{place.name} says {shown}, which stands "
                "nowhere else on the record nor in the order.",
                "Please confirm that it belongs to this record, or correct the spine.",
                source=_SOURCE,
                measured=shown,
                required="a title, artist or name that another part carries",
                subject=place.piece.name,
                parts=(place.piece.name,),
                marks=(Mark(line.box, "the spine", part=place.piece.name, page=line.page),),
            )


def _strange(text: str, known: Sequence[str]) -> bool:
    key = compact(text)
    if sum(c.isalpha() for c in key) < SHORTEST:
        return False
    if any(key in whole for whole in known):
        return False
    # Words that all stand elsewhere, in another order or with others between, are no stranger.
    words = [compact(word) for word in text.split()]
    return not all(any(word in whole for whole in known) for word in words)


def _near(line: Line, other: Place) -> bool:
    """Say whether a line is nearly one of another place, which is told as a spelling."""
    room = max(1, len(line.key) // A_SLIP_IN)
    return any(0 < slips(line.key, b.key) <= room for b in other.lines if _counts(b))
