"""What a part must say, whether its type can be read, and catalogue numbers that differ."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from prepcheck.findings import Mark, Severity
from prepcheck.frozen import dataclass
from prepcheck.order import OrderHead, OrderPart
from prepcheck.sheets.digest import Digest, LiveWords, PageDigest
from prepcheck.sheets.piece import Piece, is_a, is_label
from prepcheck.sheets.texts import LiveTexts, side_in
from prepcheck.spec.model import Spec

SOME_GLYPHS = 12
"""Shapes like letters from which part of the type may be in outlines."""
SPINE_GLYPHS = 4
"""Shapes like letters on a spine without live type from which it may hold a title."""
OUTLINED = "turned into outlines"
UNNAMED = "set in a font that does not say which letters its shapes are"
SOME_PICTURE_MM2 = 100.0
"""Area of pictures that may hold type."""
_UNUSUAL = {"12-inch": ("45", "78"), "10-inch": ("45", "78"), "7-inch": ("33", "78")}
"""Speeds that a buyer must be told of, since another is usual for the format (common practice)."""


def asked_of(part: OrderPart, spec: Spec | None, head: OrderHead) -> list[tuple[str, Severity]]:
    """Return the texts a part must carry, each with how grave it is when it is not there.

    What the order names for the part comes first and is a stop; then what such a part usually
    says (common practice).
    """
    asked = [(text, Severity.STOP) for text in part.expect]
    label = is_label(part, spec)
    sides = {side for text in part.expect if (side := side_in(text)) is not None}
    if label or (is_a(spec, "jacket", "gatefold") and _outside(part, spec)):
        asked += [(head.catalogue, Severity.QUERY), (head.title, Severity.QUERY)]
    if label:
        if part.side is not None and part.side not in sides:
            asked.append((f"Side {part.side}", Severity.QUERY))
        if head.speed in _UNUSUAL[head.format]:
            asked.append((f"{head.speed} rpm", Severity.QUERY))
    once: dict[str, tuple[str, Severity]] = {}
    for text, severity in asked:
        once.setdefault(text.casefold(), (text, severity))
    return list(once.values())


def _outside(part: OrderPart, spec: Spec | None) -> bool:
    """Say whether a file shows the outside of a piece: the first of its faces, or all of them."""
    return part.face is None or spec is None or spec.page_index(part.face) in (None, 0)


def shows(reading: LiveTexts, text: str) -> bool:
    """Say whether a text is there; a side and a speed in any wording that means the same."""
    if reading.has(text):
        return True
    if speeds := LiveTexts.speeds_in(text):
        return bool(speeds & reading.speeds())
    side = side_in(text)
    return side is not None and side in reading.sides()


def hides(digest: Digest) -> str:
    """Return in words what may hold type that cannot be read; nothing where there is none.

    Where no type at all is live, anything that is drawn may be type.
    """
    ways = []
    shapes, unnamed = (
        sum(page.outlined for page in digest.pages),
        sum(page.unnamed for page in digest.pages),
    )
    if shapes - unnamed >= SOME_GLYPHS:
        ways.append(OUTLINED)
    if unnamed and shapes >= SOME_GLYPHS:
        ways.append(UNNAMED)
    if sum(page.pictures_mm2 for page in digest.pages) >= SOME_PICTURE_MM2:
        ways.append("part of a picture")
    if not ways and LiveTexts(digest.words).empty and not digest.blank:
        ways.append("drawn in a way that cannot be read")
    return " or ".join(ways)


def whole_marks(piece: Piece) -> tuple[Mark, ...]:
    """Return every page of a part as the places to look at."""
    digest = piece.digest
    if digest is None:
        return ()
    return tuple(
        Mark(
            page.look.grid.box if piece.spec is None else piece.spec.outline_of(i).bounds,
            "look here",
            part=piece.name,
            page=page.number,
        )
        for page in digest.pages
        for i in (page.number - 1 if piece.spec and page.number <= len(piece.spec.pages) else 0,)
    )


def lettered(digest: Digest, panel: str) -> int | None:
    """Return the page on which a panel has shapes like letters and no live type; None for none."""
    return next((p.number for p in _without_type(digest, panel) if _drawn(p, panel)), None)


def pictured(digest: Digest, panel: str) -> int | None:
    """Return the page on which a spine is part of a picture and has no live type; None for none,
    or where all was read by eye and no type was seen there."""
    pages = (
        p for p in _without_type(digest, panel) if panel in p.pictured and not _drawn(p, panel)
    )
    page = next(pages, None)
    whole = digest.reader is True and not digest.not_read
    if page is None or (whole and not any(word.panel == panel for word in page.by_eye)):
        return None
    return page.number


def _drawn(page: PageDigest, panel: str) -> bool:
    return page.outlined_on.get(panel, 0) >= SPINE_GLYPHS


def _without_type(digest: Digest, panel: str) -> Iterator[PageDigest]:
    return (p for p in digest.pages if not any(word.panel == panel for word in p.words))


@dataclass(frozen=True, slots=True)
class OtherNumber:
    """Catalogue numbers on one panel of a piece that are not the order's, as written."""

    panel: str
    numbers: tuple[str, ...]
    right: bool
    """Whether the order's own is there as well."""
    by_eye: bool = False


def other_numbers(piece: Piece, number: str) -> list[OtherNumber]:
    """Return what looks like a misspelling of the order's catalogue number, panel by panel."""
    found = []
    digest = piece.digest
    for words, by_eye in ((digest.words, False), (digest.by_eye, True)) if digest else ():
        for panel, own in _panels(words).items():
            reading = LiveTexts(own)
            numbers = reading.numbers_like(number)
            if numbers:
                found.append(OtherNumber(panel, numbers, reading.has(number), by_eye))
    return found


def panels_with(piece: Piece, number: str) -> list[str]:
    """Return the panels of a piece that carry a number in live type."""
    panels = _panels(piece.digest.words if piece.digest else ())
    return [panel for panel, own in panels.items() if LiveTexts(own).has(number)]


def _panels(words: tuple[LiveWords, ...]) -> dict[str, list[LiveWords]]:
    panels: dict[str, list[LiveWords]] = defaultdict(list)
    for word in words:
        panels[word.panel].append(word)
    return panels
