"""How far type is from the proportions its face was drawn in."""

from __future__ import annotations


def stretched_percent(stretch: float) -> float:
    """Return by how many percent type is wider or narrower than drawn, from its width against its
    height (1: as drawn). Never negative: 12 for both 1.12 and 0.88."""
    return abs(100.0 * stretch - 100.0)
