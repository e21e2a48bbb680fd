"""Lines of live type put together from runs, by the place they stand in."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property

from prepcheck.findings import Mark
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box
from prepcheck.outline import Panel
from prepcheck.sheets.digest import LiveWords
from prepcheck.sheets.piece import Piece
from prepcheck.sheets.texts import compact, plain, side_in

_TRACK = re.compile(r"^\s*([A-F])\s?(\d{1,2})(?!\d)\s*[.):\-–]?\s*(?=\S)")
_NUMBERED = re.compile(r"^\s*(\d{1,2})\s*[.):]\s*(?=[^\W\d])")
_MARK = re.compile(r"[A-F]?\d{1,2}[.):]?")
_COUNTED = re.compile(r"^\s*(?:[A-Z]?\d{1,2}\s*[.):\-–]?\s+|[A-Z]\d{1,2}\s*[.):]?\s*)")
_TIME = re.compile(r"[\s.(\[]*\d{1,2}\s*[:'′.]\s*\d{2}[\"″)\]]*\s*$")
_PARTED = re.compile(
    r"\s*(?:\(p\)|[·•|/:;,()\[\]–—©℗]|\s-\s|(?<!\w)(?:19|20)\d\d(?!\w)"
    r"|(?-i:(?<!\w)[A-Z]{2,6}[ \-–.]?\d{3,5}(?!\w)))\s*",
    re.IGNORECASE,
)
"""What parts the things that a line says: signs, years, and catalogue numbers in capitals."""
_NARROW, _WIDE = 0.8, 6.0
"""Heights of type between two runs of a line, and between a track's number and its title."""
_WORD = re.compile(r"[^\W_]+")
_SAME = {
    "ft": "feat", "featuring": "feat", "rmx": "remix", "pt": "part", "vol": "volume",
    "no": "number", "nr": "number", "vs": "versus", "inst": "instrumental",
}  # fmt: skip
"""Words that are written short or long as the type is set: no two spellings."""
_JOINS = frozenset({"and", "und", "et", "och", "og", "en", "e", "y", "n"})
"""Words for which a sign such as '&' may stand."""


@dataclass(frozen=True)
class LiveLine:
    """A line of type: as written, its words in one form, and where it stands."""

    text: str
    words: tuple[str, ...]
    box: Box
    page: int

    @cached_property
    def key(self) -> str:
        """Its letters and digits, without the number and the time of a track."""
        return "".join(self.words)

    def mark(self, piece: Piece, label: str = "") -> Mark:
        """Return its place on a part; without a label, what it says."""
        return Mark(self.box, label or f"'{self.text}'", part=piece.name, page=self.page)

    def track_on(self, side: str | None) -> str | None:
        """Return its place in a list of tracks by side, such as 'A1', below the name of a side."""
        match = _TRACK.match(self.text)
        if match is not None:
            return f"{match[1]}{int(match[2])}"
        plain_number = _NUMBERED.match(self.text)
        return None if plain_number is None or side is None else f"{side}{int(plain_number[1])}"

    @cached_property
    def title(self) -> str:
        """What it says without the number and the time of a track, as written."""
        return _title(self.text)


@dataclass(frozen=True)
class OnPanel:
    """A panel of a part, its lines, and all its letters and digits in one."""

    piece: Piece
    panel: str
    kind: str
    lines: tuple[LiveLine, ...]
    whole: str

    @property
    def name(self) -> str:
        several = self.piece.spec is not None and len(self.piece.spec.outline_of().panels) > 1
        return f"{self.piece.name} ({self.panel})" if self.panel and several else self.piece.name

    @cached_property
    def phrases(self) -> tuple[LiveLine, ...]:
        """Its lines, what they say one after the other, and every two neighbours as one."""
        found = list(self.lines)
        for line in self.lines:
            parts = segments(line.text)
            if len(parts) > 1 or any(words_of(part) != line.words for part in parts):
                found += [LiveLine(p, words_of(p), line.box, line.page) for p in parts]
        return (*found, *self.joined)

    @cached_property
    def keys(self) -> frozenset[str]:
        """The keys of all its phrases."""
        return frozenset(phrase.key for phrase in self.phrases)

    @cached_property
    def joined(self) -> tuple[LiveLine, ...]:
        """Every line with the next one below it, for texts that are broken in two."""
        found = []
        for one, other in zip(self.lines, self.lines[1:], strict=False):
            tracks = other.track_on("A") is not None or one.page != other.page
            if not tracks and _below(one.box, other.box):
                text = f"{one.text} {other.text}"
                found.append(LiveLine(text, words_of(text), one.box.union(other.box), one.page))
        return tuple(found)

    @cached_property
    def spelt(self) -> str:
        """All its words in one form, in one."""
        return "".join(line.key for line in self.lines)

    def has(self, key: str, besides: LiveLine | None = None) -> bool:
        """Say whether it says something; besides a line that is left out, in a line of its own, or
        in letters set one by one, as type on a circle is."""
        if besides is None:
            return key in self.spelt or key in self.whole
        return key in self._by_letter or any(
            own == key and not _meet(line, besides) for own, line in self._said
        )

    @cached_property
    def _said(self) -> tuple[tuple[str, LiveLine], ...]:
        """What it says in lines and parts of them; a version in brackets is another title."""
        found = [(line.key, line) for line in self.phrases if line not in self.lines]
        found = [item for item in found if not _in_brackets(item[1], self.lines)]
        return (*((line.key, line) for line in self.lines), *found)

    @cached_property
    def _by_letter(self) -> str:
        return "".join(line.key for line in self.lines if len(line.key) == 1)


def _in_brackets(part: LiveLine, lines: tuple[LiveLine, ...]) -> bool:
    """Say whether a part of a line is parted from the rest of it by brackets."""
    return any(
        line.box == part.box and line.page == part.page and set("()[]") & set(line.title)
        for line in lines
    )


def _meet(one: LiveLine, other: LiveLine) -> bool:
    return one.page == other.page and one.box.overlap(other.box) is not None


def _below(one: Box, other: Box) -> bool:
    """Say whether a line follows another directly, of about the same size."""
    tall = max(one.height, other.height)
    near = -0.5 * tall < one.y0 - other.y1 < 1.2 * tall
    return near and min(one.height, other.height) > 0.6 * tall


def panels_of(piece: Piece) -> list[Panel]:
    """Return the panels of all faces of a part."""
    spec = piece.spec
    if spec is None:
        return []
    return [panel for i in range(len(spec.pages)) for panel in spec.outline_of(i).panels]


def places_of(piece: Piece) -> list[OnPanel]:
    """Return the panels of a part that carry live type, with their lines."""
    found = []
    pages = piece.digest.pages if piece.digest else ()
    kinds = {panel.name: panel.kind for panel in panels_of(piece)}
    for page in pages:
        panels: dict[str, list[LiveWords]] = defaultdict(list)
        for word in page.words:
            panels[word.panel].append(word)
        for panel, words in panels.items():
            lines = tuple(_lines(words, page.number))
            whole = compact("".join(word.text for word in words)) if words else ""
            found.append(OnPanel(piece, panel, kinds.get(panel, ""), lines, whole))
    return found


def marks_of(piece: Piece, texts: Iterable[str], panel: str | None = None) -> tuple[Mark, ...]:
    """Return the lines of a piece, or of one panel of it, that say one of some texts, those that
    were read by eye last."""
    keys = [key for text in texts if (key := compact(text))]
    lines = [
        line
        for place in places_of(piece)
        for line in (place.lines if panel in (None, place.panel) else ())
    ]
    lines += [line for own, line in seen_lines(piece) if panel in (None, own)]
    return tuple(
        line.mark(piece) for line in lines if any(key in compact(line.text) for key in keys)
    )


def seen_lines(piece: Piece) -> Iterator[tuple[str, LiveLine]]:
    """Yield the lines of a piece that were read by eye, each with its panel."""
    for page in piece.digest.pages if piece.digest else ():
        for word in page.by_eye:
            yield word.panel, LiveLine(word.text, words_of(word.text), word.box, page.number)


def _lines(words: Iterable[LiveWords], page: int) -> Iterator[LiveLine]:
    joined: list[tuple[str, Box]] = []
    for word in words:
        wide = _WIDE if joined and _MARK.fullmatch(joined[-1][0].strip()) else _NARROW
        if joined and (gap := _gap(joined[-1][1], word.box)) is not None and gap < wide:
            text, box = joined[-1]
            joined[-1] = (f"{text}{' ' * (gap > 0.15)}{word.text}", box.union(word.box))
        else:
            joined.append((word.text, word.box))
    for text, box in joined:
        text = " ".join(text.split())
        yield LiveLine(text, words_of(text), box, page)


def _gap(one: Box, other: Box) -> float | None:
    """Return the gap between two runs of one line in heights of type; None for no line.

    The line may be upright, or turned either way where both runs are taller than wide.
    """
    if one.height > 1.5 * one.width and other.height > 1.5 * other.width:
        height = min(one.width, other.width)
        overlap = min(one.x1, other.x1) - max(one.x0, other.x0)
        room = max(one.y0 - other.y1, other.y0 - one.y1)
    else:
        height = min(one.height, other.height)
        overlap = min(one.y1, other.y1) - max(one.y0, other.y0)
        room = other.x0 - one.x1
    gap = room / height if height > 0 else 9.0
    return gap if overlap > 0.6 * height and gap > -0.3 else None


def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a line in one form, without the number and the time of a track.

    Case, signs, words for '&' and the ways to write 'featuring' or 'part' make no difference.
    """
    words = _WORD.findall(plain(_title(text)))
    kept = [_SAME.get(word, word) for word in words if word not in _JOINS]
    return tuple(kept or words) or (compact(text),)


def _title(text: str) -> str:
    """Return a line of a track list without its number and its time."""
    bare = _TIME.sub("", _COUNTED.sub("", text))
    return bare if compact(bare) else text


def segments(text: str) -> list[str]:
    """Return what a line says one after the other, parted by dots, dashes and strokes."""
    return [part for part in _PARTED.split(_title(text)) if part]


def tracks_of(place: OnPanel) -> dict[str, LiveLine]:
    """Return the tracks that a place lists, by side and number; one that comes twice is left out.

    Where only numbers are given, the side is the label's, or the one that is named above them.
    """
    found: dict[str, list[LiveLine]] = defaultdict(list)
    side = place.piece.side
    for line in place.lines:
        side = side_in(line.text) or side
        track = line.track_on(side)
        if track is not None and any(c.isalpha() for c in line.title):
            found[track].append(line)
    return {track: own[0] for track, own in found.items() if len(own) == 1}
