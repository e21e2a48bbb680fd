"""Tells paths that may be rectangles by their operators (ISO 32000-2, 8.5.2) alone."""

from __future__ import annotations

import re
from functools import lru_cache

from prepcheck.errors import ObjectError

CORNER = re.compile(rb"\s*[0-9+\-.]+\s+[0-9+\-.]+")


@lru_cache(1000)
def points(code: bytes) -> int:
    """Return what operators, one letter each, add to a path; five or six make a rectangle."""
    curves = len(code.translate(None, b"mlhr"))
    return len(code) + 4 * code.count(b"r") + 98 * curves


def corner(path: bytes) -> bytes:
    """Return the first two operands of a path; raises ObjectError when it has none."""
    found = CORNER.match(path)
    if found is None:
        raise ObjectError("a path without its first point")
    return found[0]


def edged(corner: bytes) -> bytes:
    """Return what, put before the operator that ends a rectangle, keeps its edges from whole
    pixels in PDFium: a second subpath, of one point."""
    return b" %b m %b l h " % (corner, corner)
