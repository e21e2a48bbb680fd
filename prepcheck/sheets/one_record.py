"""Which files that came without an order belong to one record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from prepcheck.sheets.agreeing import SHORTEST
from prepcheck.sheets.catalogue_numbers import numbers_on
from prepcheck.sheets.piece import Piece
from prepcheck.sheets.type_lines import places_of


def records_of(pieces: Sequence[Piece]) -> list[tuple[Piece, ...]]:
    """Return the files by the records they are for.

    All are for one unless two are of a kind of which a record has one: two sleeves, two labels of
    one side. Then they go by their catalogue numbers; what has none goes where most of what it
    says is said.
    """
    if not _several(pieces):
        return [tuple(pieces)]
    numbers = {piece.name: frozenset(numbers_on(places_of(piece))) for piece in pieces}
    groups: list[tuple[set[str], list[Piece]]] = []
    for piece in pieces:
        own = numbers[piece.name]
        if not own:
            continue
        meeting = [group for group in groups if group[0] & own]
        groups = [group for group in groups if not group[0] & own]
        names = own.union(*(group[0] for group in meeting))
        groups.append((set(names), [*(p for group in meeting for p in group[1]), piece]))
    said = [frozenset(k for p in group for k in _keys(p)) for _, group in groups]
    for piece in pieces:
        if numbers[piece.name]:
            continue
        own_keys = frozenset(_keys(piece))
        shares = [len(own_keys & keys) for keys in said]
        most = max(shares, default=0)
        if most and shares.count(most) == 1:
            groups[shares.index(most)][1].append(piece)
    place = {piece.name: index for index, piece in enumerate(pieces)}
    return [tuple(sorted(group, key=lambda p: place[p.name])) for _, group in groups]


def _several(pieces: Sequence[Piece]) -> bool:
    """Say whether pieces cannot all be for one record."""
    kinds: list[tuple[str, str]] = []
    for piece in pieces:
        if piece.side is not None:
            kinds.append(("label", piece.side))
        elif piece.is_a("jacket", "gatefold"):
            kinds.append(("sleeve", piece.part.face or ""))
    return len(kinds) != len(set(kinds))


def _keys(piece: Piece) -> Iterator[str]:
    """Yield what a piece says in lines long enough to tell records apart."""
    for place in places_of(piece):
        yield from (line.key for line in place.phrases if len(line.key) >= SHORTEST)
