"""The part of the graphics state (ISO 32000-2, 8.4) that plates depend on."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from typing import NamedTuple

from pypdf.generic import DictionaryObject

from prepcheck.art.pdf.colour import DEVICE_GREY, ColourSpace
from prepcheck.art.pdf.content.mix import BLACK, Mix
from prepcheck.art.pdf.content.record import SetColour
from prepcheck.geometry import Affine

FILL_BLACK, STROKE_BLACK = SetColour(False, BLACK), SetColour(True, BLACK)


class Type3(NamedTuple):
    """A Type 3 font as set: its resource name, its size, and the name it has in the copies."""

    label: str
    source: DictionaryObject
    size: float
    alias: str


@dataclass(slots=True)
class State:
    """The graphics state, as far as plates depend on it."""

    ctm: Affine
    fill: Mix = BLACK
    stroke: Mix = BLACK
    fill_space: ColourSpace = DEVICE_GREY
    stroke_space: ColourSpace = DEVICE_GREY
    fill_colour: SetColour = FILL_BLACK
    stroke_colour: SetColour = STROKE_BLACK
    fill_overprint: bool = False
    stroke_overprint: bool = False
    mode: int = 0
    blend: str = "Normal"
    text_mode: int = 0
    font: Type3 | None = None
    isolated: bool = False
    """Inside an isolated group, where a knocked-out shape still counts."""
    open_group: bool = False
    """Directly inside a transparency group that is not isolated."""
    rgb_group: bool = False
    """Inside a group that blends in RGB."""

    @property
    def inherited(self) -> tuple[object, ...]:
        """What a form drawn in this state depends on."""
        return (
            self.fill, self.stroke, self.fill_overprint, self.stroke_overprint, self.mode,
            self.blend, self.text_mode, self.isolated, self.open_group,
            self.rgb_group,
        )  # fmt: skip

    def inside(self) -> State:
        """Return the state that a form drawn in this one starts with."""
        inner = copy.copy(self)
        inner.ctm, inner.font = Affine.identity(), None
        inner.fill_colour = SetColour(False, inner.fill)
        inner.stroke_colour = SetColour(True, inner.stroke)
        return inner
