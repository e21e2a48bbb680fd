"""Where the trim lies on a page, and the map from the page's frame to the piece's."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from prepcheck.geometry import Affine, Box


class TrimRule(StrEnum):
    """The rule that found the trim, best evidence first."""

    TRIM_BOX = "TrimBox"
    CUT_LINES = "cut lines on a processing-steps layer"
    PAGE_AND_BLEED = "page size equal to trim and bleed"
    PAGE = "page size equal to trim"
    CROP_MARKS = "crop marks on the page"
    BEST_FIT = "best fit by the centre of the page"


@dataclass(frozen=True)
class TrimPlacement:
    """The trim found on a page.

    `trim` is in mm in the page's frame, as drawn. `factor` is what the art must be enlarged by
    to be of the spec's size (1 when it is drawn to size), `turned` by how many degrees
    anticlockwise it must be turned. `to_piece` maps the page's frame to the piece's, with both.
    """

    trim: Box
    found_by: TrimRule
    factor: float
    turned: int
    to_piece: Affine
