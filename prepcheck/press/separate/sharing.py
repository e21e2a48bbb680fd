"""Which plates share a copy, and how far pictures may be shrunk."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from prepcheck.art.pdf.content.mix import Plateset
from prepcheck.art.pdf.content.record import RecordedPicture, Recording
from prepcheck.art.pdf.objects import integer

PLATES_A_COPY = 3
MOST_SAMPLES, COARSEST = 40_000_000, 64
"""Samples of all pictures that copies hold: in two copies of three plates they take 240 MB, and as
much again while the file is written. A jacket has 8 million at the fineness of the view."""
NEARLY = 0.1
"""Pictures are shrunk to no less than about 0.9 samples a pixel."""


def partition(plates: Iterable[str], sets: Iterable[Plateset]) -> list[tuple[str, ...]]:
    """Return groups of up to three plates that may share a copy.

    In a copy an object is painted or left out as a whole, so two plates may share one only if
    every set of plates that something changes holds both or neither.
    """
    ordered = list(sets)
    alike: dict[tuple[bool, ...], list[str]] = {}
    for plate in plates:
        alike.setdefault(tuple(one.holds(plate) for one in ordered), []).append(plate)
    return [
        tuple(group[first : first + PLATES_A_COPY])
        for group in alike.values()
        for first in range(0, len(group), PLATES_A_COPY)
    ]


@dataclass
class Reach:
    """The pictures that a page reaches, and how many pixels one of their samples covers."""

    pixels: dict[int, float] = field(default_factory=dict)
    pictures: dict[int, RecordedPicture] = field(default_factory=dict)
    masked: dict[int, RecordedPicture] = field(default_factory=dict)
    """Pictures inside luminosity masks."""
    coarser: int = 1
    """By what more pictures are averaged, where they would take too much memory together."""
    _seen: dict[tuple[int, bool], float] = field(default_factory=dict)

    @classmethod
    def of(cls, page: Recording, pixels_a_unit: float) -> Reach:
        """Follow everything a page draws; its unit covers `pixels_a_unit` pixels."""
        reach = cls()
        reach._visit(page, pixels_a_unit, masked=False)
        while reach.samples > MOST_SAMPLES and reach.coarser < COARSEST:
            reach.coarser *= 2
        return reach

    def shrink(self, picture: RecordedPicture) -> int:
        """Return the whole factor by which a picture's samples may be averaged."""
        covered = max(self.pixels.get(id(picture), math.inf), 1e-3)
        return max(1, int(1.0 / covered + NEARLY)) * self.coarser

    @property
    def shrinks(self) -> tuple[int, ...]:
        """The factors of all pictures: copies made by the same ones are the same."""
        return tuple(map(self.shrink, (*self.pictures.values(), *self.masked.values())))

    @property
    def samples(self) -> int:
        """How many samples the pictures hold once they have been shrunk."""
        return sum(
            math.prod(max(1, side // self.shrink(picture)) for side in _size(picture))
            for picture in (*self.pictures.values(), *self.masked.values())
        )

    def _visit(self, recording: Recording, scale: float, masked: bool) -> None:
        key = (id(recording), masked)
        if scale <= self._seen.get(key, 0.0):
            return
        self._seen[key] = scale
        for what, x_scale, y_scale in recording.placed:
            if isinstance(what, RecordedPicture):
                self._add(what, scale * x_scale, scale * y_scale, masked)
            else:
                self._visit(what, scale * max(x_scale, y_scale), masked)
        # Cells, glyphs and masks are scaled in ways that are not followed.
        for use in recording.patterns.values():
            if use.cell is not None:
                self._visit(use.cell, math.inf, masked)
        for font in recording.glyph_fonts.values():
            for glyph in font.glyphs.values():
                self._visit(glyph, math.inf, masked)
        for state in recording.states.values():
            if state.mask is not None:
                self._visit(state.mask, math.inf, masked=True)

    def _add(self, picture: RecordedPicture, width: float, height: float, masked: bool) -> None:
        (self.masked if masked else self.pictures)[id(picture)] = picture
        columns, rows = _size(picture)
        covered = max(width / columns, height / rows)
        self.pixels[id(picture)] = max(self.pixels.get(id(picture), 0.0), covered)


def _size(picture: RecordedPicture) -> tuple[int, int]:
    """Return how many samples a picture has across and down, at least one."""
    source = picture.source
    return max(integer(source, "Width", "W") or 1, 1), max(integer(source, "Height", "H") or 1, 1)
