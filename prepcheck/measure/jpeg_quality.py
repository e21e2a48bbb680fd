"""How hard a JPEG was compressed, from its quantisation tables."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

ANNEX_K_LUMINANCE = (
    16, 11, 10, 16, 24, 40, 51, 61,
    12, 12, 14, 19, 26, 58, 60, 55,
    14, 13, 16, 24, 40, 57, 69, 56,
    14, 17, 22, 29, 51, 87, 80, 62,
    18, 22, 37, 56, 68, 109, 103, 77,
    24, 35, 55, 64, 81, 104, 113, 92,
    49, 64, 78, 87, 103, 121, 120, 101,
    72, 92, 95, 98, 112, 100, 103, 99,
)  # fmt: skip
"""The example luminance table of ITU-T T.81, Annex K, Table K.1."""


def scale_percent(quality: int) -> int:
    """Return by how many percent libjpeg scales the Annex K tables at a quality of 1 to 100
    (`jpeg_quality_scaling` of the IJG library)."""
    return 5000 // quality if quality < 50 else 200 - 2 * quality


def quality_of(tables: Sequence[Sequence[int]]) -> int | None:
    """Return the quality 1 to 100 of the IJG scale that comes nearest to the finest table.

    Works on sums, so that the order of the entries does not matter and tables of other makers are
    ranked too. None without tables of 64 entries.
    """
    sums = [sum(table) for table in tables if len(table) == 64]
    if not sums:
        return None
    scale = np.array([scale_percent(quality) for quality in range(1, 101)])
    tables_at = ((np.outer(scale, ANNEX_K_LUMINANCE) + 50) // 100).clip(1, 255)
    return 1 + int(np.abs(tables_at.sum(axis=1) - min(sums)).argmin())
