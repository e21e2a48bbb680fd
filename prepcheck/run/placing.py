"""Settles by which spec a file is judged, which of its pages is which face of the piece, and where
the trim lies on each: once, for checking, for comparing and for making plates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from prepcheck.art.model import Artwork, Page
from prepcheck.errors import UnreadableError
from prepcheck.geometry import Box
from prepcheck.measure.trim import TrimPlacement, locate_trim
from prepcheck.outline import Outline
from prepcheck.run.recognise import recognise
from prepcheck.run.settings import Settings
from prepcheck.spec.model import Spec


class Face(NamedTuple):
    """A page, which face of the piece it is (0-based), and where its trim lies on it."""

    face: int
    page: Page
    outline: Outline
    placement: TrimPlacement

    def looked_at(self, spec: Spec, settings: Settings) -> Box:
        """Return what is looked at of the page, in the piece's frame: trim, bleed and a margin."""
        return self.outline.bounds.grown(spec.bleed.wanted_mm + settings.margin_mm)


def settled(
    artwork: Artwork,
    page: Page,
    specs: Sequence[Spec],
    told: str | None,
    order_format: str | None,
    file: str,
) -> tuple[Spec, str]:
    """Return the spec of a page and how it was found: the only one, where somebody `told` it,
    else the one that its size fits. Raises UsageError where none fits."""
    if told is not None:
        return specs[0], told
    return recognise(artwork, page, specs, order_format, file)


def faces_of(
    artwork: Artwork, spec: Spec, number: int | None = None, face: int | None = None
) -> list[tuple[int, int]]:
    """Return the faces of a piece that a file holds, each with the index of its page.

    `number` is the page (1-based) that is asked for, `face` the face; without either, pages are
    faces in their order, and what is left over is none. Raises UnreadableError for a page that is
    not there.
    """
    if number is not None and number > len(artwork.pages):
        raise UnreadableError(
            f"{artwork.path.name}: page {number} is asked for, and the file has "
            f"{len(artwork.pages)}; name a page that is there"
        )
    if face is not None:
        return [(face, (number or 1) - 1)]
    if number is not None:
        return [(number - 1 if number <= len(spec.pages) else 0, number - 1)]
    return [(index, index) for index in range(min(len(artwork.pages), len(spec.pages)))]


def placed(artwork: Artwork, spec: Spec, face: int, page: Page) -> Face:
    """Return a page with its trim found, as the face that it is."""
    outline = spec.outline_of(face)
    sized = artwork.raster is None or artwork.raster.ppi is not None
    placement = locate_trim(
        page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm, sized,
        artwork.document.layers,
    )  # fmt: skip
    return Face(face, page, outline, placement)
