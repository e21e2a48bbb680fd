"""Which page of a file is which piece, where each of its pages is one complete piece."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from prepcheck.art.model import Artwork, Page
from prepcheck.errors import ArtworkError
from prepcheck.geometry import Affine, Box
from prepcheck.measure.assign import best_assignment
from prepcheck.order import Order, OrderPart, gtin_check_digit
from prepcheck.run.answer import FaceSeen, Sharing
from prepcheck.run.recognise import PossiblePiece, face_misses, pieces_of
from prepcheck.sheets.digest import LiveWords
from prepcheck.sheets.texts import LiveTexts
from prepcheck.spec.model import Spec
from prepcheck.units import MM_PER_INCH

if TYPE_CHECKING:
    from prepcheck.press.view import View

_MOST_PAGES = 40
_MOST_WORDS = 2_000
_BARS_PPI, _MOST_PIXELS = 300.0, 24e6
"""How finely barcodes are looked for: a module of 0.26 mm, the least there is, is three pixels."""
_ROUND_BARS_MM = 8.0
"""Drawn again round bars: the quiet zone of an EAN-13 at 200 % is 7.3 mm wide (GS1 General
Specifications)."""
_DIGITS = re.compile(r"(?<!\d)\d(?:[ -]?\d){11,12}(?!\d)")
ALIKE_MM = 0.25
"""Sizes that miss by amounts this near to each other fit equally well."""
_SIZE, _SIDE, _TEXT, _FACE, _PLACE = 3.0, 6.0, 4.0, 2.0, 0.5


class Chosen(NamedTuple):
    """The page (1-based) that a part is, why in words, and the pages that are no part at all."""

    page: int
    why: str
    left: tuple[int, ...] = ()


def words_of(page: Page) -> tuple[LiveWords, ...]:
    """Return the live type of a page, its places in the page's own frame; nothing where it cannot
    be read."""
    try:
        texts = page.content(Affine.identity()).texts
    except ArtworkError:
        return ()
    return tuple(
        LiveWords(run.text, "", run.box or Box(0.0, 0.0, 0.0, 0.0))
        for run in texts[:_MOST_WORDS]
        if run.paints and run.text.strip()
    )


def barcodes_of(page: Page) -> tuple[str, ...]:
    """Return the numbers of the barcodes that can be read on a page, looked at coarsely.

    The page is drawn with edges at whole pixels. Where that shows no symbol, what looks like bars
    is drawn again upright and with smooth ones, which for a whole page takes several times as long:
    the decoder walks rows and columns, which bars at 45 degrees cross too flatly.
    """
    from prepcheck.measure.barcode.seek import BarcodeSighting, decoded, patterns
    from prepcheck.press.render import OVERSAMPLE, render_view

    box = page.boxes.crop or page.boxes.media
    ppi = min(_BARS_PPI, (_MOST_PIXELS / max(box.area, 1.0)) ** 0.5 * MM_PER_INCH)
    found: list[BarcodeSighting] = []

    def read(to_frame: Affine, box: Box, step: int) -> View:
        view = render_view(page, to_frame, box, ppi, step)
        # Looked at coarsely a number may be read wrong; then its last digit does not fit.
        found.extend(one for one in decoded(view) if _is_sound(one.digits or ""))
        return view

    try:
        view = read(Affine.identity(), box, 1)
        # Beside a symbol that reads, bars that do not are an ornament.
        for bars in () if found else patterns(view):
            x, y = bars.centre
            upright = Affine.move(-x, -y).then(Affine.turn(-bars.turn))
            near = Box(0.0, 0.0, 0.0, 0.0).grown(bars.length_mm / 2 + _ROUND_BARS_MM)
            read(upright, near, OVERSAMPLE)
    except ArtworkError:
        return ()
    return tuple(dict.fromkeys(one.digits for one in found if one.digits))


def _is_sound(number: str) -> bool:
    return number != "" and int(number[-1]) == gtin_check_digit(number[:-1])


def pages_due(spec: Spec) -> int:
    """Return how many pages a piece must have."""
    return sum(1 for page in spec.pages if not page.optional) or 1


def pages_apart(artwork: Artwork, specs: Sequence[Spec]) -> tuple[int, ...]:
    """Return the pages of a file that is named for nothing, where each is a piece of its own.

    That is where each fits a piece of one page, or is the only page that is a certain face of a
    piece of several that is there as a whole, all together fit none of several, and no two name the
    same side. Nothing where the pages do not add up like this.
    """
    pages = artwork.pages
    if not 1 < len(pages) <= _MOST_PAGES:
        return ()
    by_name = {spec.name: spec for spec in specs}
    nearest = [pieces_of(artwork, page, specs) for page in pages]
    fits = [{piece.spec for piece in pieces} for pieces in nearest]
    together = set.intersection(*fits)
    if any(len(by_name[name].pages) >= len(pages) for name in together):
        return ()
    if not all(fits):
        return ()
    faces = [own[0] for own in nearest if _is_face(own, by_name)]
    if faces and not _whole(faces, by_name):
        return ()
    named = [side for page in pages for side in LiveTexts(words_of(page)).sides()]
    if len(named) != len(set(named)):
        return ()
    return tuple(page.index + 1 for page in pages)


def _is_face(pieces: Sequence[PossiblePiece], specs: Mapping[str, Spec]) -> bool:
    """Say whether what a page is nearest to in size is one of several faces of a piece."""
    near = (p for p in pieces if p.miss <= pieces[0].miss + ALIKE_MM)
    return all(pages_due(specs[piece.spec]) > 1 for piece in near)


def _whole(faces: Sequence[PossiblePiece], specs: Mapping[str, Spec]) -> bool:
    """Say whether faces make one piece, each of them once."""
    names = {face.spec for face in faces}
    each = {face.face for face in faces}
    return len(names) == 1 and len(each) == len(faces) == pages_due(specs[faces[0].spec])


def one_face(artwork: Artwork, specs: Sequence[Spec]) -> FaceSeen | None:
    """Return what is seen of a file whose one page is a face of a piece of several; else None."""
    if len(artwork.pages) != 1:
        return None
    page = artwork.pages[0]
    by_name = {spec.name: spec for spec in specs}
    fits = pieces_of(artwork, page, specs)
    if not fits or not _is_face(fits, by_name):
        return None
    spec = by_name[fits[0].spec]
    words = words_of(page)
    text = " ".join(word.text for word in words)
    numbers = [re.sub(r"\D", "", match) for match in _DIGITS.findall(text)]
    number = any(_is_sound(n) for n in numbers)
    return FaceSeen(spec.name, face_misses(spec, page), _on_spine(page, spec), number)


def _on_spine(page: Page, spec: Spec) -> bool:
    """Say whether live type stands on the spine of the piece's first face."""
    box = page.boxes.trim or page.boxes.crop or page.boxes.media
    centre = box.centre
    spines = [panel.box for panel in spec.outline_of(0).panels if panel.kind == "spine"]
    return any(
        spine.holds(Box(x, y, x, y))
        for word in words_of(page)
        for x, y in ((word.box.centre.x - centre.x, word.box.centre.y - centre.y),)
        for spine in spines
    )


def page_of(artwork: Artwork, order: Order, part: OrderPart, sharing: Sharing) -> Chosen | None:
    """Return the page that a part is, of a file that the order names for several parts without
    saying which page is which; None where there is no page for it.

    By size, side, expected texts and, where those do not tell, the order of the pages: for all
    parts of the file at once. Parts for which nothing speaks get the pages that are left.
    """
    free = [p for p in artwork.pages[:_MOST_PAGES] if p.index + 1 not in sharing.taken]
    readings = [LiveTexts(words_of(page)) for page in free]
    said = [
        [
            _said(artwork, page, reading, order, one, specs, place == row)
            for place, (page, reading) in enumerate(zip(free, readings, strict=True))
        ]
        for row, (one, specs) in enumerate(zip(sharing.parts, sharing.specs, strict=True))
    ]
    values = [[sum(weight for weight, _ in cell) for cell in row] for row in said]
    found = best_assignment(values)
    left = [column for column in range(len(free)) if column not in found]
    settled = [left.pop(0) if column is None and left else column for column in found]
    row = next(i for i, one in enumerate(sharing.parts) if one.name == part.name)
    column = settled[row]
    if column is None:
        return None
    reasons = [why for weight, why in said[row][column] if weight > 0 and why]
    why = "; ".join(reasons[:2]) if found[row] is not None and reasons else "no other page is left"
    return Chosen(free[column].index + 1, why, tuple(free[i].index + 1 for i in left))


def _said(
    artwork: Artwork,
    page: Page,
    reading: LiveTexts,
    order: Order,
    part: OrderPart,
    specs: Sequence[Spec],
    in_place: bool,
) -> list[tuple[float, str]]:
    """Return what speaks for a page being a part, and against it."""
    fits = pieces_of(artwork, page, specs)
    said = [(_SIZE, "") if fits else (-2 * _SIZE, "")]
    if fits and part.face is not None:
        spec = next(spec for spec in specs if spec.name == fits[0].spec)
        if len({spec.outline_of(index).bounds for index in range(len(spec.pages))}) > 1:
            right = spec.page_index(part.face) == fits[0].face
            said.append((_FACE, f"its size is the {part.face}'s") if right else (-_FACE, ""))
    named = reading.sides() & set(order.order.sides)
    if part.side is not None and named:
        told = f"it says side {part.side}"
        said.append((_SIDE / len(named), told) if part.side in named else (-_SIDE, ""))
    due = [text for text in part.expect if reading.has(text)]
    if due:
        said.append((_TEXT * len(due) / len(part.expect), f"it carries '{due[0]}'"))
    if in_place:
        said.append((_PLACE, "by the order of the pages"))
    return said
