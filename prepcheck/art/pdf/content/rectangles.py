"""Tells paths that may be rectangles by their operators (ISO 32000-2, 8.5.2) alone."""

from __future__ import annotations

import re
from functools import lru_cache

from prepcheck.art.pdf.content.plain import letters

POINTS = {b"m": 1, b"l": 1, b"h": 1, b"re": 5, b"c": 99, b"v": 99, b"y": 99}
"""What an operator adds to a path; five or six make a rectangle."""
CORNER = re.compile(rb"\s*[0-9+\-.]+\s+[0-9+\-.]+")


def points(path: bytes) -> int:
    """Return what the operators of a path that holds numbers only add to it."""
    return _points(letters(path))


@lru_cache(1000)
def _points(code: bytes) -> int:
    curves = len(code.translate(None, b"mlhr"))
    return len(code) + 4 * code.count(b"r") + 98 * curves


def corner(path: bytes) -> bytes:
    """Return the first two operands of a path; raises TypeError when it has none."""
    return CORNER.match(path)[0]  # type: ignore[index]
