"""Faces of one piece that come as files of their own: what they share, and which are exchanged."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from prepcheck.sheets.piece import Piece
from prepcheck.sheets.texts import compact


def other_faces(piece: Piece, pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Return the other faces of the piece that a part is a face of.

    Nothing where a face comes twice: then there are several such pieces, and which faces belong
    together is not said.
    """
    if piece.part.face is None or piece.spec is None:
        return ()
    group = [
        p for p in pieces
        if p.part.face is not None and p.spec is not None and p.spec.name == piece.spec.name
    ]  # fmt: skip
    named = [(p.part.face or "").casefold() for p in group]
    if len(set(named)) < len(named):
        return ()
    return tuple(p for p in group if p.name != piece.name)


def exchanged_faces(pieces: Sequence[Piece]) -> tuple[tuple[Piece, Piece], ...]:
    """Return faces of which each carries the texts that only the other must carry, and none of its
    own."""
    return tuple(
        (one, other)
        for one, other in combinations(pieces, 2)
        if other in other_faces(one, pieces) and _carries(one, other) and _carries(other, one)
    )


def own_texts(piece: Piece, other: Piece) -> list[str]:
    """Return the texts that one face must carry and the other need not."""
    shared = {compact(text) for text in other.part.expect}
    return [text for text in piece.part.expect if compact(text) not in shared]


def _carries(piece: Piece, other: Piece) -> bool:
    reading = piece.read[0]
    due = own_texts(other, piece)
    found = [text for text in due if reading.has(text)]
    own = any(reading.has(text) for text in own_texts(piece, other))
    return len(found) > len(due) / 2 and not own
