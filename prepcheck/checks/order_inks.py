"""Inks of parts that are printed together."""

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations

from prepcheck.art.model import PROCESS_INKS
from prepcheck.findings import Finding, Severity
from prepcheck.said import Clear, Declaration, Explained, FoundAt, NotApplicable, OrderSaid
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.paid import ink_key, one_ink
from prepcheck.words import listed

CHECK = "order.inks"
_SOURCE = "common practice: pieces of one kind are printed on one sheet, with the same plates"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Parts printed together use the same inks",
        FoundAt.PLATES,
        (Severity.QUERY,),
        "All labels of an order share a sheet and its plates. A spot colour that only one of "
        "them asks for is one more unit on the press for all; one ink spelt in two ways on two "
        "labels becomes two plates.",
        _SOURCE,
        codes=("spellings", "lacking", "not-on-all"),
    ),
)


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    groups = [group for group in _groups(exam).values() if len(group) > 1]
    said = [
        finding
        for group in groups
        for finding in (*_spellings(group, exam), *_lacking(group, exam), *_different(group, exam))
    ]
    yield from said
    for part in (part for finding in said if finding.code == "lacking" for part in finding.parts):
        yield Explained(part, "ink.plates", CHECK, "empty")
    if said:
        return
    converted = [piece.name for group in groups for piece in group if _converted(piece)]
    if converted:
        yield NotApplicable(CHECK, f"not in the inks ordered, as told there: {listed(converted)}")
    elif groups:
        names = [listed([piece.name for piece in group]) for group in groups]
        yield Clear(CHECK, f"agreed between {'; '.join(names)}")
    else:
        yield NotApplicable(CHECK, "no two parts are printed together")


def _groups(exam: OrderExam) -> dict[tuple[str, str], list[Piece]]:
    """Return the parts that share plates: of one spec, and of one face of it."""
    groups: dict[tuple[str, str], list[Piece]] = defaultdict(list)
    for piece in exam.pieces:
        if piece.spec is not None and piece.digest is not None:
            groups[piece.spec.name, (piece.part.face or "").casefold()].append(piece)
    return groups


def spots_of(piece: Piece) -> tuple[str, ...]:
    """Return the spot inks that a part prints."""
    inks = piece.result.measured.get("inks")
    return tuple(i for i in inks if i not in PROCESS_INKS) if isinstance(inks, tuple) else ()


def _spellings(group: list[Piece], exam: OrderExam) -> Iterator[Finding]:
    """Yield inks spelt differently on different parts; on one part that is `colour.inks`."""
    alike: dict[str, dict[str, list[str]]] = defaultdict(dict)
    for piece in group:
        told = {f.subject for f in piece.result.findings if f.code == "misspelt"}
        for spot in spots_of(piece):
            if spot in told:  # by colour.inks, against the order
                continue
            alike[ink_key(spot)].setdefault(spot, []).append(piece.name)
    for one, other in combinations(sorted(alike), 2):
        # A slip of the hand in a name makes another plate too; other digits are another ink.
        if one in alike and other in alike and one_ink(one, other):
            for spot, names in alike.pop(other).items():
                alike[one].setdefault(spot, []).extend(names)
    for spellings in alike.values():
        if len(spellings) < 2 or len({tuple(names) for names in spellings.values()}) < 2:
            continue
        each = [f"'{spot}' on {listed(names)}" for spot, names in spellings.items()]
        yield exam.finding(
            CHECK,
            "spellings",
            Severity.QUERY,
            f"{listed(each)} look like one ink; printed together, each would become a plate.",
            "Please spell the ink alike in all files, the way it is ordered.",
            source=_SOURCE,
            measured=float(len(spellings)),
            required=1.0,
            unit="spellings",
            subject=ink_key(next(iter(spellings))),
            parts=tuple(dict.fromkeys(n for names in spellings.values() for n in names)),
        )


def _lacking(group: list[Piece], exam: OrderExam) -> Iterator[Finding]:
    """Yield spots that the order quotes for a part whose file has none, while another's has."""
    have = {piece.name: {ink_key(spot): spot for spot in spots_of(piece)} for piece in group}
    for piece in group:
        own = have[piece.name]
        quoted = {ink_key(ink): ink for ink in piece.part.inks or ()}
        lacking = [
            ink
            for key, ink in quoted.items()
            if key not in own and any(key in spots for spots in have.values())
        ]
        # That a file was converted, and so has lost its spots, is told there.
        # Nor that an ink is there under another name.
        if lacking and own.keys() <= quoted.keys() and not _converted(piece):
            others = [p.name for p in group if any(ink_key(i) in have[p.name] for i in lacking)]
            yield exam.finding(
                CHECK,
                "lacking",
                Severity.QUERY,
                f"{piece.name} prints nothing in {listed(lacking)}, which the order quotes for it "
                f"and {listed(others)} {'uses' if len(others) == 1 else 'use'}.",
                "Please use the ink, or tell us that the part is printed without it.",
                source=_SOURCE,
                measured="not used",
                required=listed(lacking),
                subject=piece.name,
                parts=(piece.name,),
            )


def _converted(piece: Piece) -> bool:
    """Say whether it is told of a file that it is in other colours than the inks ordered."""
    found = {(finding.check, finding.code) for finding in piece.result.findings}
    return bool(found & {("colour.inks", "converted"), ("colour.space", "space")})


def _different(group: list[Piece], exam: OrderExam) -> Iterator[Finding]:
    """Yield spots that not all parts have, unless the order quotes the inks of each part."""
    open_to_ask = [piece for piece in group if piece.part.inks is None]
    if not open_to_ask:
        return
    quoted = {ink_key(ink) for piece in group for ink in piece.part.inks or ()}
    wanted = {piece.name: {ink_key(spot): spot for spot in spots_of(piece)} for piece in group}
    shared = set.intersection(*(set(spots) for spots in wanted.values()))
    extra = {
        piece.name: [s for key, s in wanted[piece.name].items() if key not in shared | quoted]
        for piece in open_to_ask
    }
    asking = {name: spots for name, spots in extra.items() if spots}
    if not asking:
        return
    every = sorted({spot for spots in asking.values() for spot in spots})
    each = [f"{name} asks for {listed(spots)}" for name, spots in asking.items()]
    rest = "the order quotes them for none" if quoted else "the others do not"
    yield exam.finding(
        CHECK,
        "not-on-all",
        Severity.QUERY,
        f"{listed(each)}, {rest}; {listed([p.name for p in group])} are printed together.",
        "Please use the same inks in all of them, or ask us to quote the further inks.",
        source=_SOURCE,
        measured=listed(every),
        required="the same spot colours on all, or as quoted",
        parts=tuple(asking),
    )
