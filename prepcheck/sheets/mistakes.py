"""What went wrong with whole files of an order: labels exchanged, sent twice, or of another side.

One such mistake shows in many places: the side, the texts, the art. It is told once, by the check
it belongs to, and the others leave alone what it explains.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

from prepcheck.frozen import dataclass
from prepcheck.sheets.alike import Pair
from prepcheck.sheets.piece import Piece
from prepcheck.sheets.texts import compact, side_in


@dataclass(frozen=True, slots=True)
class Strange:
    """A label that shows another side than it was ordered as.

    `side` is the one it shows, `evidence` what says so, as it stands on the label. `word_only`
    where only the side's name is another, and the texts are its own; `text_only` where its own side
    is named, and the texts are another's.
    """

    piece: Piece
    side: str
    evidence: tuple[str, ...]
    by_eye: bool
    word_only: bool = False
    text_only: bool = False


@dataclass(frozen=True, slots=True)
class Mistakes:
    """`exchanged` are labels that carry each other's sides, `other` those that carry a side
    without giving their own to it; `copies` maps a label's name to the one whose art it has."""

    exchanged: tuple[Strange, ...] = ()
    other: tuple[Strange, ...] = ()
    copies: Mapping[str, str] = field(default_factory=dict)
    twice: tuple[Strange, ...] = ()
    """Of the copies those that name the other's side in type."""

    def carried(self, piece: Piece) -> str | None:
        """Return the side whose texts a label carries in place of its own."""
        both = (*self.exchanged, *(s for s in self.other if not s.word_only))
        return next((s.side for s in both if s.piece.name == piece.name), None)

    def keeps_its_name(self, piece: Piece) -> bool:
        """Say whether a label names its own side, though it carries another's texts."""
        return any(s.piece.name == piece.name for s in self.exchanged if s.text_only)

    def misnamed(self, piece: Piece) -> bool:
        """Say whether it is told already that a label names another side."""
        return any(s.piece.name == piece.name for s in (*self.exchanged, *self.other))


def mistakes_of(
    labels: Sequence[Piece], sides: Sequence[str], pairs: Sequence[Pair], number: str
) -> Mistakes:
    """Return what went wrong with whole files; `labels` may have ones without a side, `number` is
    the order's catalogue number."""
    sided = [piece for piece in labels if piece.side is not None]
    found = {
        piece.name: strange
        for piece in sided
        if (strange := _strange(piece, sided, frozenset(sides), number)) is not None
    }
    copies: dict[str, str] = {}
    for pair in pairs:
        if pair.same:
            # The copy is the one that shows the other's side; of two alike the later.
            one, other = pair.one, pair.other
            if one.name in found and found[one.name].side == other.side:
                one, other = other, one
            if other.name not in copies:
                copies[other.name] = copies.get(one.name, one.name)
    twice = tuple(found.pop(name) for name in copies if name in found)
    # The letter behind the number tells a side only where every label of a chain has another's.
    by_suffix = {
        piece.name: strange
        for piece in sided
        if piece.name not in found and piece.name not in copies
        if (strange := _by_suffix(piece, frozenset(sides), number)) is not None
    }
    shown = {
        s.piece.side: s.side for s in (*by_suffix.values(), *found.values()) if not s.word_only
    }
    exchanged = {side for side in shown if side is not None and _comes_back(side, shown)}
    found |= {name: s for name, s in by_suffix.items() if s.piece.side in exchanged}
    # Where a label that names its own side lacks its texts alone, that is told as what is missing.
    found = {name: s for name, s in found.items() if not s.text_only or s.piece.side in exchanged}
    return Mistakes(
        tuple(s for s in found.values() if s.piece.side in exchanged),
        tuple(s for s in found.values() if s.piece.side not in exchanged),
        copies,
        twice,
    )


def _comes_back(side: str, shown: Mapping[str | None, str]) -> bool:
    """Say whether a side is shown at the end of a chain that begins with it."""
    at: str | None = side
    for _ in range(len(shown)):
        at = shown.get(at)
        if at is None or at == side:
            break
    return at == side


def _strange(
    piece: Piece, labels: Sequence[Piece], sides: frozenset[str], number: str
) -> Strange | None:
    reading, by_eye = piece.read
    # What a label says in so many words counts more than the letters before its tracks.
    named = reading.sides_in_words() & sides or reading.sides() & sides
    foreign, own_found = _foreign(piece, labels, number)
    strange = sorted(named - {piece.side})
    own_named = piece.side in named
    if not (strange or foreign) or (own_named and (strange or not foreign)):
        return None
    own_found = own_found or piece.side in reading.sides()
    # Texts that name one side decide; several named sides alone say nothing certain.
    by_text = sorted({side for _, side in foreign})
    whose = [side for side in strange if side in by_text] or strange or by_text
    evidence = [f"'{reading.as_named(side)}'" for side in strange]
    evidence += [f"'{text}'" for text, _ in foreign]
    return Strange(piece, whose[0], tuple(evidence), by_eye, own_found and not own_named, own_named)


def _by_suffix(piece: Piece, sides: frozenset[str], number: str) -> Strange | None:
    """Return a label that names no side, has none of its texts, and whose number ends in the
    letter of another side."""
    reading, by_eye = piece.read
    if reading.sides() & sides or any(
        reading.has(text) for text in piece.part.expect if compact(text) != compact(number)
    ):
        return None
    named = reading.suffixes(number) & sides
    if len(named) != 1 or piece.side in named:
        return None
    (side,) = named
    return Strange(piece, side, (f"'{number}-{side}'",), by_eye)


def _foreign(
    piece: Piece, labels: Sequence[Piece], number: str
) -> tuple[list[tuple[str, str]], bool]:
    """Return texts expected on another side alone and found here, and whether its own are; the
    record's number is no side's own, though it be asked of one label alone."""
    reading, _ = piece.read
    own = {compact(text): text for text in piece.part.expect}
    others = {
        compact(text): (text, other.side or "")
        for other in labels
        if other is not piece
        for text in other.part.expect
    }
    shared = (own.keys() & others.keys()) | {compact(number)}
    mine = [t for key, t in own.items() if key not in shared and side_in(t) is None]
    theirs = [
        item
        for key, item in others.items()
        if key not in shared and len(key) > 3 and side_in(item[0]) is None
    ]
    if any(reading.has(text) for text in mine):
        return [], True
    best: list[tuple[str, str]] = []
    for side in sorted({side for _, side in theirs}):
        due = [item for item in theirs if item[1] == side]
        found = [item for item in due if reading.has(item[0])]
        if len(found) > len(due) / 2 and len(found) > len(best):
            best = found
    return best, False
