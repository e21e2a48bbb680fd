"""How alike the labels of an order are."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from prepcheck.frozen import dataclass
from prepcheck.measure.likeness import Likeness, likeness
from prepcheck.sheets.piece import Piece


@dataclass(frozen=True)
class Pair:
    """Two labels and how alike they are."""

    one: Piece
    other: Piece
    found: Likeness

    @property
    def same(self) -> bool:
        """Whether they are one art, and more than a plain colour."""
        return self.found.share > 0 and not self.found.places and not self.found.plain


def pairs_of(labels: Sequence[Piece]) -> tuple[Pair, ...]:
    """Return every two labels that could be examined with how alike they are."""
    known = [piece for piece in labels if piece.digest is not None]
    return tuple(Pair(one, other, _alike(one, other)) for one, other in combinations(known, 2))


def _alike(one: Piece, other: Piece) -> Likeness:
    """Return how alike two labels are; unlike altogether where sizes or pages do not match."""
    different = Likeness(0.0, 0, 0.0, (), plain=False)
    if one.digest is None or other.digest is None:
        return different
    if not one.digest.pages or not other.digest.pages:
        return different
    a, b = one.digest.pages[0].look, other.digest.pages[0].look
    if (a.grid.width, a.grid.height, a.grid.pitch) != (b.grid.width, b.grid.height, b.grid.pitch):
        return different
    inside = a.mask() & b.mask()
    turns = (0, 90, 180, 270) if a.grid.width == a.grid.height else (0, 180)
    return likeness(a.pixels(), b.pixels(), inside, a.grid, turns) or different
