"""A part of an order as the checks of the order see it."""

from __future__ import annotations

from prepcheck.findings import PartResult
from prepcheck.frozen import dataclass
from prepcheck.order import OrderPart, loose_part
from prepcheck.sheets.digest import Digest
from prepcheck.sheets.texts import LiveTexts
from prepcheck.spec.model import PieceKind, Spec


def is_label(part: OrderPart, spec: Spec | None) -> bool:
    """Say whether a part is a label: it has a side, is of that kind, or is round and has a hole."""
    if part.side is not None or is_a(spec, "label"):
        return True
    return spec is not None and spec.outline.kind == "disc" and spec.hole is not None


def is_a(spec: Spec | None, *kinds: PieceKind) -> bool:
    """Say whether a spec is of a kind."""
    return spec is not None and spec.kind in kinds


def loose_piece(
    result: PartResult, spec: Spec | None, digest: Digest | None, page: int | None = None
) -> Piece:
    """Return a file that came without an order; a label has the one side that it names."""
    side = None
    if is_label(loose_part(result.name, result.file), spec) and digest is not None:
        named = LiveTexts(digest.words).sides()
        side = next(iter(named)) if len(named) == 1 else None
    part = loose_part(result.name, result.file, side=side, page=page)
    return Piece(part, result, spec, digest)


@dataclass(frozen=True)
class Piece:
    """One examined part; `digest` is None where the file could not be examined."""

    part: OrderPart
    result: PartResult
    spec: Spec | None
    digest: Digest | None

    @property
    def name(self) -> str:
        return self.part.name

    @property
    def side(self) -> str | None:
        return self.part.side

    @property
    def is_label(self) -> bool:
        return is_label(self.part, self.spec)

    def is_a(self, *kinds: PieceKind) -> bool:
        """Say whether it is of a kind."""
        return is_a(self.spec, *kinds)

    @property
    def live(self) -> LiveTexts:
        """Its live type."""
        return LiveTexts(self.digest.words if self.digest else ())

    @property
    def seen(self) -> LiveTexts:
        """What an optical reader made of type that is not live; it may be wrong."""
        return LiveTexts(self.digest.by_eye if self.digest else ())

    @property
    def read(self) -> tuple[LiveTexts, bool]:
        """Its type and whether it was read by eye: the live type where there is any."""
        live = self.live
        return (self.seen, True) if live.empty and not self.seen.empty else (live, False)
