"""Faces of one piece that come as files of their own: what they share, and which are exchanged."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box
from prepcheck.sheets.piece import Piece
from prepcheck.sheets.texts import compact
from prepcheck.words import listed

_TELLING_MM = 0.3
"""By how much one size must fit better than another to tell two faces apart."""
_FITS_MM = 2.0


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


@dataclass(frozen=True, slots=True)
class Exchange:
    """Two faces of a piece of which each looks like the other, and what says so of each, in words.

    `certain` where the texts of both do, or the sizes of both.
    """

    one: Piece
    other: Piece
    signs: tuple[tuple[str, ...], tuple[str, ...]]
    certain: bool
    by_eye: bool


def exchanged_faces(pieces: Sequence[Piece]) -> tuple[Exchange, ...]:
    """Return faces of one piece that carry what belongs on each other, and nothing of their own:
    texts, sizes, the barcode, type on the spine."""
    found = (
        _exchange(one, other)
        for one, other in combinations(pieces, 2)
        if other in other_faces(one, pieces)
    )
    return tuple(exchange for exchange in found if exchange is not None)


def _exchange(one: Piece, other: Piece) -> Exchange | None:
    texts = _carries(one, other), _carries(other, one)
    sizes = _sized(one, other), _sized(other, one)
    lone = _lone_signs(one, other), _lone_signs(other, one)
    own = (
        any(_carries_own(a, b) for a, b in ((one, other), (other, one)))
        or any(size is False for size in sizes)
        or any(sign is not None and not sign[0] for each in lone for sign in each)
    )
    all_texts, all_sizes = all(texts), all(size is True for size in sizes)
    foreign = [[sign[1] for sign in each if sign is not None and sign[0]] for each in lone]
    if own or not (all_texts or all_sizes or any(foreign)):
        return None
    signs = []
    for at, (piece, of) in enumerate(((one, other), (other, one))):
        said = []
        if texts[at]:
            due = [t for t in own_texts(of, piece) if piece.read[0].has(t)]
            said.append(f"carries {listed([_quoted(t) for t in due])} of the {of.part.face}")
        if all_sizes and piece.result.trim_mm is not None:
            width, height = piece.result.trim_mm
            said.append(f"measures {width:.1f} × {height:.1f} mm like the {of.part.face}")
        signs.append((*said, *foreign[at]))
    return Exchange(
        one, other, (signs[0], signs[1]), all_texts or all_sizes, one.read[1] or other.read[1]
    )


def _quoted(text: str) -> str:
    return f"'{text}'"


def _bounds(piece: Piece, face: str | None) -> Box | None:
    index = None if piece.spec is None or face is None else piece.spec.page_index(face)
    return None if piece.spec is None or index is None else piece.spec.outline_of(index).bounds


def _sized(piece: Piece, other: Piece) -> bool | None:
    """Say whether a face has the other's size (True) or its own (False); None where sizes do not
    tell."""
    own, theirs = _bounds(piece, piece.part.face), _bounds(piece, other.part.face)
    if own is None or theirs is None or piece.result.trim_mm is None:
        return None
    width, height = piece.result.trim_mm
    mine, other_miss = (
        max(abs(width - box.width), abs(height - box.height)) for box in (own, theirs)
    )
    if abs(mine - other_miss) < _TELLING_MM or min(mine, other_miss) > _FITS_MM:
        return None
    return other_miss < mine


def _lone_signs(piece: Piece, other: Piece) -> tuple[tuple[bool, str] | None, ...]:
    """Return what only an outside carries, the barcode and type on the spine, as seen on a face
    and not on the other: whether it speaks for an exchange, and words for it."""
    spec = piece.spec
    if spec is None or piece.part.face is None:
        return ()
    outside = spec.page_index(piece.part.face) == 0
    over = spec.page_index(other.part.face or "") == 0
    if not (outside or over):
        return ()
    found: list[tuple[bool, str] | None] = []
    code, theirs = (p.result.measured.get("barcode") for p in (piece, other))
    if spec.barcode is not None and spec.barcode.expected and code and not theirs:
        found.append((not outside, f"carries the barcode {code} of the outside"))
    if _on_spine(piece) and not _on_spine(other):
        found.append((not outside, "has type on its spine, as the outside has"))
    return tuple(found)


def _on_spine(piece: Piece) -> bool:
    """Say whether live type stands on a face's spine."""
    if piece.spec is None or piece.digest is None:
        return False
    index = piece.spec.page_index(piece.part.face or "") or 0
    spines = {p.name for p in piece.spec.outline_of(index).panels if p.kind == "spine"}
    return any(word.panel in spines for word in piece.digest.words)


def own_texts(piece: Piece, other: Piece) -> list[str]:
    """Return the texts that one face must carry and the other need not."""
    shared = {compact(text) for text in other.part.expect}
    return [text for text in piece.part.expect if compact(text) not in shared]


def _carries(piece: Piece, other: Piece) -> bool:
    """Say whether a face carries most of the texts that only the other must carry."""
    reading = piece.read[0]
    due = own_texts(other, piece)
    return len([text for text in due if reading.has(text)]) > len(due) / 2


def _carries_own(piece: Piece, other: Piece) -> bool:
    return any(piece.read[0].has(text) for text in own_texts(piece, other))
