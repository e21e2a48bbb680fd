"""A page that is one picture: what TIFF, JPEG, PNG and PSD files are made of."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import NamedTuple

from prepcheck.art.facts import PageBoxes
from prepcheck.art.model import Content, ImageItem, Page, RasterFacts, Samples, Space
from prepcheck.art.samples import SampleArray
from prepcheck.errors import UnreadableError
from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box
from prepcheck.units import MM_PER_INCH, ppi

UNSTATED_PPI = 72.0
"""Resolution a page is laid out at where the file states none (RasterFacts.ppi is then None)."""
LEAST_PPI, MOST_PPI = 1.0, 100_000.0
"""Stated resolutions outside these count as not stated."""


class RasterFile(NamedTuple):
    """What is read from a raster file: its pages, damage or doubts, and damage that cost nothing
    to speak of, one sentence each."""

    pages: tuple[RasterPage, ...]
    troubles: tuple[str, ...] = ()
    mended: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stored:
    """A picture as its file holds it: uint8 or uint16 (rows, columns, components), upright, in the
    sense of `Samples` (the greatest number where those have 255), and not laid on paper.

    `alpha` (rows, columns) is its opacity, of the same depth. `matte` is the colour, as a share of
    the greatest number, that the samples were blended with beforehand; None where they were not.
    `most` is what the greatest number of L*, a* and b* stands for, where it is not 100, 127, 127.
    """

    data: SampleArray
    space: Space
    alpha: SampleArray | None = None
    matte: float | None = None
    most: tuple[float, ...] = ()


@dataclass(frozen=True)
class RasterPage(Page):
    """One picture that fills its page. `decode` returns its samples, upright, row 0 on top;
    `stored` the same in the file's own depth, its opacity apart, where a kind of file has more
    than `decode` gives."""

    name: str
    facts: RasterFacts
    decode: Callable[[], Samples]
    stored: Callable[[], Stored] | None = None

    @cached_property
    def samples(self) -> Samples:
        """The decoded picture, kept; raises UnreadableError where the file is damaged."""
        return self.decode()

    def content(self, to_frame: Affine) -> Content:
        """Return the one picture, in mm in the frame that `to_frame` leads to."""
        media, facts = self.boxes.media, self.facts
        quad = to_frame.quad(media)
        across, down = media.width * to_frame.x_scale, media.height * to_frame.y_scale
        picture = ImageItem(
            name=self.name,
            quad=quad,
            visible=quad.box,
            samples=facts.samples,
            bits=facts.bits,
            space=facts.space,
            filters=(facts.compression,),
            ppi=(ppi(facts.samples[0], across), ppi(facts.samples[1], down)),
            is_mask=False,
            paint=None,
            inline=False,
            layer=None,
        )
        return Content(
            images=(picture,), inks=facts.space.colorants, declared_inks=facts.space.colorants
        )

    def picture(self, key: int) -> Samples | None:
        """Return the samples, whatever the key; None where the file is damaged."""
        try:
            return self.samples
        except UnreadableError:
            return None


def raster_page(
    index: int,
    name: str,
    facts: RasterFacts,
    decode: Callable[[], Samples],
    stored: Callable[[], Stored] | None = None,
) -> RasterPage:
    """Return a page the size of its picture at the stated resolution."""
    across, down = facts.ppi or (UNSTATED_PPI, UNSTATED_PPI)
    width, height = facts.samples
    media = Box(0.0, 0.0, width * MM_PER_INCH / across, height * MM_PER_INCH / down)
    return RasterPage(
        index=index,
        boxes=PageBoxes(media),
        rotate=0,
        user_unit=1.0,
        annotations=(),
        fonts=(),
        name=name,
        facts=facts,
        decode=decode,
        stored=stored,
    )


def stated_ppi(
    across: object, down: object, sideways: bool = False, factor: float = 1.0
) -> tuple[float, float] | None:
    """Return a resolution, times `factor`, as upright (across, down) pixels per inch.

    None for what is no number or an impossible resolution.
    """
    try:
        pair = float(across) * factor, float(down) * factor  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not all(LEAST_PPI <= value <= MOST_PPI for value in pair):
        return None
    return (pair[1], pair[0]) if sideways else pair
