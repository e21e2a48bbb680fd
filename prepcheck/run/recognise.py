"""Recognises by its size which piece an artwork is, when nobody says so."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, NamedTuple

import msgspec

from prepcheck.art.model import Artwork, Page
from prepcheck.errors import UsageError
from prepcheck.geometry import Box
from prepcheck.measure.trim import TrimRule, locate_trim
from prepcheck.spec.model import TOLERANCE_MM, Spec

_SAME_FIT_MM = 0.25
"""Specs that miss the size by amounts this near to each other fit equally well."""
_NEAREST = 3


class _Fit(NamedTuple):
    miss: float
    """By how many mm the size misses the spec's, on the worse axis."""
    spec: Spec


class PossiblePiece(NamedTuple):
    """A piece that a page may be by its size: the spec's name, the page of the spec (0-based)
    that it is nearest to, and by how many mm it misses that."""

    spec: str
    face: int
    miss: float


class _Evidence(NamedTuple):
    words: str
    fits: list[_Fit]


def recognise(
    artwork: Artwork, page: Page, specs: Sequence[Spec], order_format: str | None, file: str
) -> tuple[Spec, str]:
    """Return the spec that the page's size fits, and how it was recognised, in words.

    The TrimBox counts first, then the page with and without bleed, then cut lines and crop
    marks. `order_format` leaves out pieces of other records. Raises UsageError when no spec
    fits, or several do; its one line lists the nearest.
    """
    wanted = [s for s in specs if order_format is None or s.format in (None, order_format)]
    for evidence in _evidence(artwork, page, wanted):
        if not evidence.fits:
            continue
        best = min(fit.miss for fit in evidence.fits)
        equal = [fit.spec for fit in evidence.fits if fit.miss <= best + _SAME_FIT_MM]
        spec = _the_one(equal)
        if spec is None:
            names = " and ".join(s.name for s in equal)
            raise UsageError(
                f"{file}: {evidence.words} fits {names} alike; say which it is with --spec "
                "PART=NAME, or with a spec in the order file"
            )
        return spec, f"recognised by its size: {evidence.words}"
    raise UsageError(_none_fits(artwork, page, wanted, file))


def pieces_of(artwork: Artwork, page: Page, specs: Sequence[Spec]) -> tuple[PossiblePiece, ...]:
    """Return every piece that the page's size fits, nearest first; none where no spec fits."""
    for evidence in _evidence(artwork, page, specs):
        if evidence.fits:
            fits = sorted(evidence.fits, key=lambda fit: (fit.miss, fit.spec.name))
            return tuple(PossiblePiece(f.spec.name, face_of(f.spec, page), f.miss) for f in fits)
    return ()


def face_of(spec: Spec, page: Page) -> int:
    """Return the index (0-based) of the spec's page that a page is nearest to in size."""
    media = page.boxes.crop or page.boxes.media
    boxes = [(media, spec.bleed.wanted_mm), (media, 0.0)]
    if page.boxes.trim is not None:
        boxes.insert(0, (page.boxes.trim, 0.0))
    for box, bleed in boxes:
        misses = [_page_miss(spec, index, box, bleed) for index in range(len(spec.pages))]
        if min(misses) <= spec.outline.trim_tolerance_mm + TOLERANCE_MM:
            return misses.index(min(misses))
    return 0


def face_misses(spec: Spec, page: Page) -> tuple[float, ...]:
    """Return by how many mm the size of a page misses each page of a spec, by its TrimBox, else
    with the bleed or without, whichever misses least."""
    media = page.boxes.crop or page.boxes.media
    boxes = [(media, spec.bleed.wanted_mm), (media, 0.0)]
    if page.boxes.trim is not None:
        boxes = [(page.boxes.trim, 0.0)]
    return tuple(
        min(_page_miss(spec, index, box, bleed) for box, bleed in boxes)
        for index in range(len(spec.pages))
    )


def _evidence(artwork: Artwork, page: Page, specs: Sequence[Spec]) -> Iterator[_Evidence]:
    trim, media = page.boxes.trim, page.boxes.crop or page.boxes.media
    if trim is not None:
        yield _Evidence(f"TrimBox {_size(trim)}", _fits(specs, trim, lambda spec: 0.0))
    if artwork.raster is not None and artwork.raster.ppi is None:
        return
    with_bleed = _fits(specs, media, lambda spec: spec.bleed.wanted_mm)
    yield _Evidence(f"page {_size(media)} with bleed", with_bleed)
    yield _Evidence(f"page {_size(media)}", _fits(specs, media, lambda spec: 0.0))
    if trim is None:
        yield from _marked(artwork, page, specs)


def _marked(artwork: Artwork, page: Page, specs: Sequence[Spec]) -> Iterator[_Evidence]:
    found: dict[str, list[_Fit]] = {}
    for spec in specs:
        placement = locate_trim(
            page, spec.outline_of(), spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm,
            layers=artwork.document.layers,
        )  # fmt: skip
        if placement.factor == 1 and placement.found_by in (
            TrimRule.CUT_LINES,
            TrimRule.CROP_MARKS,
        ):
            words = f"{_size(placement.trim)} by {placement.found_by.value}"
            found.setdefault(words, []).extend(_fits([spec], placement.trim, lambda spec: 0.0))
    fits = [(words, fit) for words, group in found.items() for fit in group]
    if fits:
        words = min(fits, key=lambda item: item[1].miss)[0]
        yield _Evidence(words, [fit for _, fit in fits])


def _fits(specs: Sequence[Spec], box: Box, bleed: Callable[[Spec], float]) -> list[_Fit]:
    fits = [_Fit(_miss(spec, box, bleed(spec)), spec) for spec in specs]
    return [f for f in fits if f.miss <= f.spec.outline.trim_tolerance_mm + TOLERANCE_MM]


def _miss(spec: Spec, box: Box, bleed: float) -> float:
    """Return by how much a box misses the nearest of the spec's pages, upright or turned."""
    return min(_page_miss(spec, index, box, bleed) for index in range(len(spec.pages)))


def _page_miss(spec: Spec, index: int, box: Box, bleed: float) -> float:
    bounds = spec.outline_of(index).bounds.grown(bleed)
    return min(
        max(abs(width - bounds.width), abs(height - bounds.height))
        for width, height in ((box.width, box.height), (box.height, box.width))
    )


def _the_one(specs: Sequence[Spec]) -> Spec | None:
    """Return the spec; of several that ask for the same, the one that the others extend."""
    if len({_demands(spec) for spec in specs}) > 1:
        return None
    names = {spec.name for spec in specs}
    roots = [spec for spec in specs if spec.extends not in names]
    return roots[0] if len(roots) == 1 else None


def _demands(spec: Spec) -> bytes:
    bare = spec.replaced(name="", title="", extends=None, format=None, sources={})
    return msgspec.msgpack.encode(bare)


def _none_fits(artwork: Artwork, page: Page, specs: Sequence[Spec], file: str) -> str:
    box = page.boxes.trim or page.boxes.crop or page.boxes.media
    near: list[Any] = sorted(specs, key=lambda spec: (_miss(spec, box, 0.0), spec.name))[:_NEAREST]
    listed = "; ".join(f"{spec.name} ({_size(spec.outline_of().bounds)})" for spec in near)
    if artwork.raster is not None and artwork.raster.ppi is None:
        said = f"{file}: the file states no resolution, so the piece cannot be told by its size"
    else:
        said = f"{file}: {_size(box)} fits no spec"
    return f"{said}; nearest: {listed}; say which it is with --spec PART=NAME, or in the order file"


def _size(box: Box) -> str:
    return f"{box.width:.1f} × {box.height:.1f} mm"
