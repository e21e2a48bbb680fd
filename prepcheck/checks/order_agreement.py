"""Titles, artists, tracks and numbers that differ between the parts of one record."""

from collections.abc import Iterator, Sequence
from dataclasses import field
from itertools import combinations

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box
from prepcheck.order import OrderHead
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.agreeing import SHORTEST, alike, misspelt, nearly, slipped, two_titles
from prepcheck.sheets.catalogue_numbers import (
    Suffixed,
    barcodes_like,
    common_number,
    mistyped_barcodes,
    odd_numbers,
    odd_suffixes,
)
from prepcheck.sheets.expected import asked_of, shows
from prepcheck.sheets.one_record import records_of
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.texts import compact
from prepcheck.sheets.told import finding_of
from prepcheck.sheets.type_lines import LiveLine, OnPanel, places_of, segments, tracks_of, words_of
from prepcheck.words import clauses, count, listed

CHECK = "order.agreement"
ENOUGH_TRACKS = 2
"""Tracks that two lists must have in common, by number, to be held against each other."""
_SOURCE = "common practice, no source; limits from memory"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Spellings, tracks and numbers agree between parts",
        FoundAt.SALE,
        (Severity.QUERY,),
        "Label, spine, back and insert are often set by different hands. A title that is spelt in "
        "one way on the label and in another on the back, a track that only one of them lists, or "
        "the suffix of another side is noticed by whoever buys the record; only the client knows "
        "which is right.",
        _SOURCE,
        codes=(
            "barcode-digit",
            "barcode-text",
            "barcodes",
            "number",
            "spelling",
            "spine",
            "suffix",
            "track-missing",
            "track-order",
            "track-title",
        ),
    ),
)


@dataclass(frozen=True)
class _Known:
    """What is known of the record besides what stands on its parts."""

    head: OrderHead | None = None
    texts: tuple[LiveLine, ...] = ()
    told: tuple[tuple[str, str, str], ...] = ()
    """Part, what it should say and what it says nearly, where another check tells that."""
    misnamed: frozenset[str] = field(default_factory=frozenset)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    head = exam.order.order
    own = [head.title, head.client, *(t for part in exam.order.part for t in part.expect)]
    texts = [*own, *(part for text in own for part in segments(text))]
    known = _Known(
        head,
        tuple(_line(text) for text in dict.fromkeys(texts)),
        tuple(item for piece in exam.pieces for item in _told(piece, exam)),
        frozenset(piece.name for piece in exam.pieces if exam.mistakes.misnamed(piece)),
    )
    yield from _examined(exam.pieces, known)


def examine_loose(pieces: Sequence[Piece]) -> Iterator[OrderSaid]:
    """Hold files against each other that came without an order, those of one record."""
    groups = [group for group in records_of(pieces) if len(group) > 1]
    said = [item for group in groups for item in _examined(group, _Known())]
    found = [item for item in said if isinstance(item, Finding)]
    clear = [item for item in said if isinstance(item, Clear)]
    yield from found or clear[:1] or said[:1]
    if not said:
        yield NotApplicable(CHECK, "no two of the files belong to one record")


def _told(piece: Piece, exam: OrderExam) -> Iterator[tuple[str, str, str]]:
    """Yield what `order.text` says of a part: a text that it has not, and what is nearly it."""
    live = piece.live
    for text, grave in asked_of(piece.part, piece.spec, exam.order.order):
        if shows(live, text) or (grave is not Severity.STOP and slipped(text, live)):
            continue
        if (near := live.nearest(text)) is not None:
            yield piece.name, compact(text), compact(near)


def _examined(pieces: Sequence[Piece], known: _Known) -> Iterator[OrderSaid]:
    places = [place for piece in pieces for place in places_of(piece)]
    codes = {piece.name: code for piece in pieces if (code := _bars(piece))}
    if len(places) < 2 and len(codes) < 2:
        yield NotApplicable(CHECK, "live type stands in fewer than two places")
        return
    spelt = list(_spellings(places, known))
    said = [
        *spelt,
        *_tracks(places),
        *_spines(places, known, [mark for finding in spelt for mark in finding.where]),
        *_numbers(places, known),
        *_barcodes(pieces, places, codes, known),
    ]
    yield from said
    if not said:
        lines = sum(len(place.lines) for place in places)
        names = count(len(places), "place")
        yield Clear(CHECK, f"no two spellings among {count(lines, 'line')} in {names}")


def _spellings(places: Sequence[OnPanel], known: _Known) -> Iterator[Finding]:
    """Yield pairs of texts that differ by little, each pair of spellings once."""
    found: dict[tuple[str, str], list[tuple[OnPanel, LiveLine]]] = {}
    for one, other in combinations(places, 2):
        for a, b in alike(one, other, places):
            kept = found.setdefault(_pair(a, b), [])
            kept += [item for item in ((one, a), (other, b)) if item not in kept]
    ordered: dict[tuple[str, str], LiveLine] = {}
    for place in places:
        for text, line in misspelt(known.texts, place, places):
            pair = _pair(text, line)
            ordered.setdefault(pair, text)
            kept = found.setdefault(pair, [])
            # Where it is spelt as ordered is shown as well.
            as_due = [(p, own) for p in places for own in p.phrases if own.key == text.key][:4]
            kept += [item for item in (*as_due, (place, line)) if item not in kept]
    hosts: dict[tuple[str, str], list[tuple[OnPanel, LiveLine]]] = {}
    for pair, carriers in sorted(found.items(), key=lambda item: (len(item[0][0]), item[0])):
        # What a line says comes before the line, and a line before it is joined to the next.
        host = next((own for own in hosts if _holds(pair, own)), pair)
        names = [place.name for place, _ in hosts.get(host, ())]
        hosts.setdefault(host, []).extend(c for c in carriers if c[0].name not in names)
        if host != pair and pair in ordered:
            ordered.setdefault(host, ordered[pair])
    for pair, carriers in sorted(hosts.items()):
        if not all(_is_told(c, pair, known) for c in carriers):
            yield _spelling(carriers, pair, ordered.get(pair))


def _holds(pair: tuple[str, str], own: tuple[str, str]) -> bool:
    """Say whether two longer texts differ by the same two spellings."""
    a, b = own
    return (a in pair[0] and b in pair[1]) or (b in pair[0] and a in pair[1])


def _pair(one: LiveLine, other: LiveLine) -> tuple[str, str]:
    return (one.key, other.key) if one.key < other.key else (other.key, one.key)


def _is_told(carrier: tuple[OnPanel, LiveLine], pair: tuple[str, str], known: _Known) -> bool:
    """Say whether another check tells of these two spellings that this place has one of them."""
    name, key = carrier[0].piece.name, carrier[1].key

    def wrong(said: str, due: str, near: str) -> bool:
        # A piece of what is due is right, unless it is all that stands there: 'Hour' for 'Hours'.
        return _meet(near, said) and (said not in due or said == near)

    return any(
        (part == name and wrong(key, due, near))
        or (_meet(due, key) and any(wrong(one, due, near) for one in pair))
        for part, due, near in known.told
    )


def _meet(one: str, other: str) -> bool:
    return one in other or other in one


def _exchanged(odd: Sequence[Suffixed]) -> bool:
    """Say whether labels have the letters behind the number that are due on each other."""
    return sorted(compact(one.shown)[-1] for one in odd) == sorted(one.due.lower() for one in odd)


def _spelling(
    carriers: Sequence[tuple[OnPanel, LiveLine]], pair: tuple[str, str], ordered: LiveLine | None
) -> Finding:
    each: dict[str, list[tuple[str, LiveLine]]] = {}
    for place, line in carriers:
        # A line may say more than what is spelt, such as all of a spine.
        key = max((key for key in pair if key in line.key), key=len, default=line.key)
        each.setdefault(key, []).append((place.name, line))
    due = each.setdefault(ordered.key, []) if ordered is not None else None
    words, shown = [], []
    for key, own in each.items():
        lines = [line for _, line in own] or ([] if ordered is None else [ordered])
        first, *rest = [line for line in lines if line.key == key] or lines
        text = first.text
        for line in rest:  # as it stands there; of several lines with one title, that
            text = text if text == line.text else line.title
        where = [f"on {listed(list(dict.fromkeys(name for name, _ in own)))}"] if own else []
        words.append(f"'{text}' {' and '.join([*where, *['in the order'] * (own is due)])}")
        shown.append(text)
    return finding_of(
        None,
        CHECK,
        "spelling",
        Severity.QUERY,
        f"Two spellings: {clauses(words)}.",
        "Please tell us which is right, and correct the other.",
        source=_SOURCE,
        measured=listed([f"'{text}'" for text in shown]),
        required="one spelling",
        subject=" / ".join(sorted(shown)),
        parts=tuple(dict.fromkeys(place.piece.name for place, _ in carriers)),
        marks=tuple(line.mark(place.piece, f"'{line.text}'") for place, line in carriers),
    )


_Carrier = tuple[OnPanel, LiveLine]


def _tracks(places: Sequence[OnPanel]) -> Iterator[Finding]:
    """Yield lists of tracks that differ: in a title, in their order, or by a track; each once,
    however many places side with one or the other."""
    lists = [(place, tracks) for place in places if (tracks := tracks_of(place))]
    varied: dict[tuple[str, str], list[_Carrier]] = {}
    lacks: dict[tuple[str, tuple[str, ...]], list[_Carrier]] = {}
    for (one, mine), (other, theirs) in combinations(lists, 2):
        common = sorted(mine.keys() & theirs.keys())
        if len(common) < ENOUGH_TRACKS:
            continue
        differ = [t for t in common if two_titles(mine[t], theirs[t])]
        if 2 * len(differ) > len(common) and not any(
            other.has(mine[t].key) or one.has(theirs[t].key) for t in differ
        ):
            continue  # Tracks of another record, or counted in another way.
        for t in differ:
            moved = other.has(mine[t].key) and one.has(theirs[t].key)
            kept = varied.setdefault(("track-order" if moved else "track-title", t), [])
            kept += [c for c in ((one, mine[t]), (other, theirs[t])) if c not in kept]
        for place, own, lacking, rest in ((one, mine, other, theirs), (other, theirs, one, mine)):
            sides = {track[0] for track in common}
            extra = tuple(
                t
                for t in sorted(own.keys() - rest.keys())
                if t[0] in sides and not lacking.has(own[t].key)
                and not any(nearly(own[t], line) for line in lacking.phrases)
            )  # fmt: skip
            if extra and not differ:
                lacks.setdefault((lacking.name, extra), []).extend((place, own[t]) for t in extra)
    alike: dict[tuple[str, tuple[str, ...]], list[tuple[str, list[_Carrier]]]] = {}
    for (code, track), carriers in sorted(varied.items()):
        names = tuple(sorted({place.name for place, _ in carriers}))
        alike.setdefault((code, names), []).append((track, carriers))
    for (code, _), changed in alike.items():
        yield _lists(changed, code)
    for (name, extra), carriers in lacks.items():
        lacking = next(place for place in places if place.name == name)
        yield _not_listed(carriers, lacking, extra)


def _lists(tracks: Sequence[tuple[str, list[_Carrier]]], code: str) -> Finding:
    each, pairs = [], []
    for track, carriers in tracks:
        titles: dict[str, list[_Carrier]] = {}
        for place, line in carriers:
            titles.setdefault(line.key, []).append((place, line))
        shown = [f"'{own[0][1].title}'" for own in titles.values()]
        where = [listed([place.name for place, _ in own]) for own in titles.values()]
        said = [f"{title} on {names}" for title, names in zip(shown, where, strict=True)]
        each.append(f"{track} is {', '.join(said[:-1])}, but {said[-1]}")
        pairs.append(" / ".join(shown))
    places = list(dict.fromkeys(place.name for _, own in tracks for place, _ in own))
    what = "The order of the tracks differs: " if code == "track-order" else ""
    return finding_of(
        None,
        CHECK,
        code,
        Severity.QUERY,
        f"{what}{clauses(each)}.",
        "Please tell us which is right, and correct the other.",
        source=_SOURCE,
        measured=listed(pairs),
        required="in the same order" if code == "track-order" else "the same titles",
        subject=" / ".join(places),
        parts=tuple(dict.fromkeys(place.piece.name for _, own in tracks for place, _ in own)),
        marks=tuple(
            line.mark(place.piece, f"'{line.text}'") for _, own in tracks for place, line in own
        ),
    )


def _not_listed(carriers: Sequence[_Carrier], lacking: OnPanel, extra: Sequence[str]) -> Finding:
    lines = dict(zip(extra, (line for _, line in carriers), strict=False))
    titles = listed([f"{t} '{line.title}'" for t, line in lines.items()])
    places = listed(list(dict.fromkeys(place.name for place, _ in carriers)))
    verb = "stands" if len(extra) == 1 else "stand"
    parts = [*(place.piece.name for place, _ in carriers), lacking.piece.name]
    return finding_of(
        None,
        CHECK,
        "track-missing",
        Severity.QUERY,
        f"{titles} {verb} on {places}, and not on {lacking.name}, which lists the other "
        "tracks of that side.",
        "Please tell us which list is right, and correct the other.",
        source=_SOURCE,
        measured="not listed",
        required=titles,
        subject=f"{places} / {lacking.name}",
        parts=tuple(dict.fromkeys(parts)),
        marks=tuple(line.mark(place.piece, f"'{line.text}'") for place, line in carriers),
    )


def _spines(places: Sequence[OnPanel], known: _Known, told: Sequence[Mark]) -> Iterator[Finding]:
    """Yield what stands on a spine and nowhere else, nor in the order."""
    head = known.head
    facts = "" if head is None else " ".join(
        compact(text) for text in (head.title, head.client, head.catalogue)
    )  # fmt: skip
    facts += "".join(f" {compact(line.text)}" for line in known.texts)
    for place in places:
        others = [other.whole for other in places if other is not place and other.whole]
        if place.kind != "spine" or not others or (known.head is None and len(others) < 2):
            continue
        own = [mark.box for mark in told if mark.part == place.piece.name]
        for line in place.lines:
            if any(box.overlap(line.box) is not None for box in own):
                continue
            strange = [text for text in segments(line.text) if _strange(text, [facts, *others])]
            near = (*known.texts, *(p for o in places if o is not place for p in o.phrases))
            strange = [text for text in strange if not any(nearly(_line(text), p) for p in near)]
            if not strange or any(nearly(line, p) for p in near):
                continue
            shown = listed([f"'{text}'" for text in strange])
            order = "" if head is None else " nor in the order"
            yield finding_of(
                None,
                CHECK,
                "spine",
                Severity.QUERY,
                f"{place.name} says {shown}, which stands nowhere else on the record{order}.",
                "Please confirm that it belongs to this record, or correct the spine.",
                source=_SOURCE,
                measured=shown,
                required="a title, artist or name that another part carries",
                subject=place.piece.name,
                parts=(place.piece.name,),
                marks=(line.mark(place.piece, "the spine"),),
            )


def _line(text: str) -> LiveLine:
    return LiveLine(text, words_of(text), Box(0.0, 0.0, 0.0, 0.0), 0)


def _strange(text: str, known: Sequence[str]) -> bool:
    key = compact(text)
    if sum(c.isalpha() for c in key) < SHORTEST or any(key in whole for whole in known):
        return False
    # Words that all stand elsewhere, in another order or with others between, are no stranger.
    words = [compact(word) for word in text.split() if any(c.isalpha() for c in word)]
    return not all(any(word in whole for whole in known) for word in words)


def _numbers(places: Sequence[OnPanel], known: _Known) -> Iterator[Finding]:
    """Yield numbers with the suffix of another side, and numbers that differ by a digit."""
    if known.head is None:
        for one, others in odd_numbers(places):
            yield finding_of(
                None,
                CHECK,
                "number",
                Severity.QUERY,
                f"{one.place.name} carries the number '{one.shown}', and "
                f"{listed(list(dict.fromkeys(o.place.name for o in others)))} '{others[0].shown}'.",
                "Please tell us which is right, and correct the other.",
                source=_SOURCE,
                measured=one.shown,
                required=others[0].shown,
                subject=one.place.piece.name,
                parts=tuple(dict.fromkeys(n.place.piece.name for n in (one, *others))),
                marks=tuple(n.line.mark(n.place.piece, f"'{n.shown}'") for n in (one, *others)),
            )
    number = common_number(places) if known.head is None else known.head.catalogue
    odd_ones = [
        odd
        for odd in (odd_suffixes(places, number) if number else ())
        if odd.place.piece.name not in known.misnamed
    ]
    if len(odd_ones) > 1 and _exchanged(odd_ones):
        said = [f"{odd.place.name} carries the number '{odd.shown}'" for odd in odd_ones]
        yield finding_of(
            None,
            CHECK,
            "suffix",
            Severity.QUERY,
            f"{clauses(said)}: the letters after the number are exchanged.",
            "Please tell us which is right, and correct the numbers.",
            source=_SOURCE,
            measured=listed([odd.shown for odd in odd_ones]),
            required=listed([f"{number}-{odd.due}" for odd in odd_ones]),
            subject=listed(sorted(odd.place.piece.name for odd in odd_ones)),
            parts=tuple(odd.place.piece.name for odd in odd_ones),
            marks=tuple(odd.line.mark(odd.place.piece, f"'{odd.shown}'") for odd in odd_ones),
        )
        return
    for odd in odd_ones:
        yield finding_of(
            None,
            CHECK,
            "suffix",
            Severity.QUERY,
            f"{odd.place.name} carries the number '{odd.shown}'; by the numbers of the other "
            f"labels it should end in '{odd.due}'.",
            "Please tell us which is right, and correct the number.",
            source=_SOURCE,
            measured=odd.shown,
            required=f"{number}-{odd.due}",
            subject=odd.place.piece.name,
            parts=(odd.place.piece.name,),
            marks=(odd.line.mark(odd.place.piece, f"'{odd.shown}'"),),
        )


def _bars(piece: Piece) -> str:
    read = piece.result.measured.get("barcode")
    return read if isinstance(read, str) and read.isdigit() else ""


def _barcodes(
    pieces: Sequence[Piece], places: Sequence[OnPanel], codes: dict[str, str], known: _Known
) -> Iterator[Finding]:
    """Yield barcodes of two parts that differ, and numbers in type that are nearly one."""
    ordered = None if known.head is None else known.head.barcode
    each = {name: code.zfill(13) for name, code in codes.items()}
    if ordered is None and len(set(each.values())) > 1:
        told = [f"{code} on {listed([n for n in each if each[n] == code])}"
                for code in sorted(set(each.values()))]  # fmt: skip
        yield finding_of(
            None,
            CHECK,
            "barcodes",
            Severity.QUERY,
            f"The parts carry different barcodes: {listed(told)}.",
            "Please tell us which is the record's, and set the other anew.",
            source=_SOURCE,
            measured=listed(sorted(set(each.values()))),
            required="one number",
            parts=tuple(each),
        )
        return
    number = ordered or next(iter(each.values()), None)
    if number is None:
        yield from _typed(places)
        return
    for odd in barcodes_like(places, number):
        yield finding_of(
            None,
            CHECK,
            "barcode-text",
            Severity.QUERY,
            f"{odd.place.name} says '{odd.shown}'; the barcode's number is {number}.",
            "Please correct the number in the type, or tell us which is right.",
            source=_SOURCE,
            measured=odd.shown,
            required=number,
            subject=odd.place.piece.name,
            parts=(odd.place.piece.name,),
            marks=(odd.line.mark(odd.place.piece, f"'{odd.shown}'"),),
        )


def _typed(places: Sequence[OnPanel]) -> Iterator[Finding]:
    """Yield barcode numbers that stand in type alone, and cannot be right."""
    for odd in (number for place in places for number in mistyped_barcodes(place)):
        yield finding_of(
            None,
            CHECK,
            "barcode-digit",
            Severity.QUERY,
            f"{odd.place.name} says '{odd.shown}', which is no barcode's number: the last digit "
            "does not follow from the others.",
            "Please compare it with the number that you were given, and correct it there and in "
            "the bars.",
            source="GS1 General Specifications, section 7.9: check digit of a GTIN",
            measured=odd.shown,
            required="a check digit that fits",
            subject=odd.place.piece.name,
            parts=(odd.place.piece.name,),
            marks=(odd.line.mark(odd.place.piece, f"'{odd.shown}'"),),
        )
