"""Lines of live type put together from runs, by the place they stand in."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from prepcheck.geometry import Box
from prepcheck.sheets.digest import Words
from prepcheck.sheets.piece import Piece
from prepcheck.sheets.texts import compact

_COUNTED = re.compile(r"^\s*(?:[A-Z]?\d{1,2}\s*[.):\-–]?\s+|[A-Z]\d{1,2}\s*[.):]?\s*)")
_TIME = re.compile(r"[\s.(\[]*\d{1,2}\s*[:'′.]\s*\d{2}[\"″)\]]*\s*$")
_PARTED = re.compile(r"\s*(?:[·•|/:;,()\[\]–—]|\s-\s)\s*")


@dataclass(frozen=True, slots=True)
class Line:
    """A line of type: as written, its letters and digits alone, and where it stands."""

    text: str
    key: str
    box: Box
    page: int


@dataclass(frozen=True)
class Place:
    """A panel of a part, its lines, and all its letters and digits in one."""

    piece: Piece
    panel: str
    kind: str
    lines: tuple[Line, ...]
    whole: str

    @property
    def name(self) -> str:
        several = self.piece.spec is not None and len(self.piece.spec.outline_of().panels) > 1
        return f"{self.piece.name}, {self.panel}" if self.panel and several else self.piece.name


def places_of(piece: Piece) -> list[Place]:
    """Return the panels of a part that carry live type, with their lines."""
    found = []
    pages = piece.digest.pages if piece.digest else ()
    kinds: dict[str, str] = {}
    if piece.spec is not None:
        for index in range(len(piece.spec.pages)):
            kinds |= {p.name: p.kind for p in piece.spec.outline_of(index).panels}
    for page in pages:
        panels: dict[str, list[Words]] = defaultdict(list)
        for word in page.words:
            panels[word.panel].append(word)
        for panel, words in panels.items():
            lines = tuple(_lines(words, page.number))
            whole = compact("".join(word.text for word in words)) if words else ""
            found.append(Place(piece, panel, kinds.get(panel, ""), lines, whole))
    return found


def _lines(words: Iterable[Words], page: int) -> Iterable[Line]:
    joined: list[tuple[str, Box]] = []
    for word in words:
        if joined and (gap := _gap(joined[-1][1], word.box)) is not None:
            text, box = joined[-1]
            joined[-1] = (f"{text}{' ' * (gap > 0.15)}{word.text}", box.union(word.box))
        else:
            joined.append((word.text, word.box))
    for text, box in joined:
        yield Line(" ".join(text.split()), compact(_title(text)), box, page)


def _gap(one: Box, other: Box) -> float | None:
    """Return the gap between two runs of one upright line in heights; None for no line."""
    height = min(one.height, other.height)
    overlap = min(one.y1, other.y1) - max(one.y0, other.y0)
    gap = (other.x0 - one.x1) / height if height > 0 else 9.0
    return gap if overlap > 0.6 * height and -0.3 < gap < 0.8 else None


def _title(text: str) -> str:
    """Return a line of a track list without its number and its time."""
    bare = _TIME.sub("", _COUNTED.sub("", text))
    return bare if compact(bare) else text


def segments(text: str) -> list[str]:
    """Return what a line says one after the other, parted by dots, dashes and strokes."""
    return [part for part in _PARTED.split(_title(text)) if part]
