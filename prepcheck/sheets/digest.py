"""What is kept of an examined part for the checks of the order: its words and a small picture.

Plain data, light to import: it crosses from a worker to its parent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

import numpy as np

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, Grid

_PLAIN = 6
"""Of 255: colours this near to each other are one plain colour."""


@dataclass(frozen=True, slots=True)
class LiveWords:
    """A piece of live type: what it says, and the panel it stands on."""

    text: str
    panel: str
    box: Box


@dataclass(frozen=True, slots=True)
class Look:
    """How a page looks, small: sRGB bytes of each cell, and whether it lies on the piece."""

    grid: Grid
    rgb: bytes
    inside: bytes

    def pixels(self) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
        """Return the colours (rows, columns, 3)."""
        return np.frombuffer(self.rgb, np.uint8).reshape(self.grid.height, self.grid.width, 3)

    @property
    def plain(self) -> bool:
        """Whether nothing is drawn: all that lies on the piece is of one colour."""
        seen = self.pixels()[self.mask()]
        return not len(seen) or int(np.ptp(seen, axis=0).max()) <= _PLAIN

    def mask(self) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
        """Return which cells lie on the trimmed piece (rows, columns)."""
        cells = np.frombuffer(self.inside, np.uint8).reshape(self.grid.height, self.grid.width)
        mask: np.ndarray[tuple[int, int], np.dtype[np.bool_]] = cells > 0
        return mask


@dataclass(frozen=True, slots=True)
class PageDigest:
    """One page of a part. `outlined` counts shapes that may be letters, `pictures_mm2` is the
    area of pictures: where there is any of either, type may be there that cannot be read."""

    number: int
    words: tuple[LiveWords, ...]
    outlined: int
    pictures_mm2: float
    look: Look
    by_eye: tuple[LiveWords, ...] = ()
    """What an optical reader made of type that is not live; it may be wrong."""
    outlined_on: Mapping[str, int] = field(default_factory=dict)
    """How many of the shapes stand on each panel, by its name."""
    outlined_at: tuple[Box, ...] = ()
    """Where lines of outlined type stand, in mm."""
    pictured: tuple[str, ...] = ()
    """Spines that are part of a picture in which something is drawn, by their names."""
    bars_on: tuple[str, ...] = ()
    """The panel that each barcode stands on whose bars can be read."""
    unnamed: int = 0
    """How many of the shapes are signs of live type whose font does not say what they mean."""


@dataclass(frozen=True, slots=True)
class Digest:
    """What is kept of a part; `hole_mm` is the diameter of a hole drawn in the art."""

    pages: tuple[PageDigest, ...]
    hole_mm: float | None = None
    reader: bool | None = None
    """Whether type was read by eye; False where the reader is not installed, None where there
    was no need."""
    not_read: str = ""
    """Why not all of it was read by eye though the reader is there."""

    @property
    def words(self) -> tuple[LiveWords, ...]:
        return tuple(words for page in self.pages for words in page.words)

    @property
    def by_eye(self) -> tuple[LiveWords, ...]:
        return tuple(words for page in self.pages for words in page.by_eye)

    @property
    def blank(self) -> bool:
        """Whether every page is one plain colour."""
        return all(page.look.plain for page in self.pages)
