"""How far type is from the proportions its face was drawn in."""

from __future__ import annotations

import numpy as np

from prepcheck.geometry import FloatArray


def stretched_percent(stretch: FloatArray) -> FloatArray:
    """Return by how many percent type is wider or narrower than drawn, from its widths against its
    heights (n,) (1: as drawn). Never negative: 12 for both 1.12 and 0.88."""
    return np.abs(100.0 * stretch - 100.0)
