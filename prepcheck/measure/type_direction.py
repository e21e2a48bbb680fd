"""Which way up type reads."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray

WAYS = ("right", "up", "left", "down")
"""Where the top of type points, a quarter turn anticlockwise apart."""


def type_tops(corners: FloatArray) -> NDArray[np.int64]:
    """Return for each glyph (n, 4, 2) where its top points, as an index into WAYS."""
    if not len(corners):
        return np.zeros(0, np.int64)
    top = corners[:, 3] + corners[:, 2] - corners[:, 0] - corners[:, 1]
    quarters = np.rint(np.arctan2(top[:, 1], top[:, 0]) / (np.pi / 2))
    return np.asarray(quarters.astype(np.int64) % 4)


def shares_by_way(corners: FloatArray) -> dict[str, float]:
    """Return the share of the glyphs' area (n, 4, 2) that reads each way; empty without glyphs."""
    diagonals = corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1]
    area = np.abs(diagonals[0][:, 0] * diagonals[1][:, 1] - diagonals[0][:, 1] * diagonals[1][:, 0])
    total = float(area.sum())
    if not total:
        return {}
    by_way = np.bincount(type_tops(corners), weights=area, minlength=4) / total
    return {way: float(share) for way, share in zip(WAYS, by_way, strict=True) if share}


def opposite(way: str) -> str:
    """Return the way that stands on its head to `way`."""
    return WAYS[(WAYS.index(way) + 2) % 4]
