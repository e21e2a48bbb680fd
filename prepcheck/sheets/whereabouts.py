"""Where on a piece a place lies, in words."""

from __future__ import annotations

from prepcheck.geometry import Box
from prepcheck.outline import Outline

_ALL = 0.8
"""Share of width and height from which a place is all of a face."""
_THIRD = 1 / 6
"""How far off the middle, of the whole width or height, a place is said to be at a side."""


def place_words(box: Box, outline: Outline) -> str:
    """Return where a place lies, as one looks at the piece: 'at the upper left of the front'."""
    panel = next((p for p in outline.panels if p.box.holds(box)), None)
    around = outline.bounds if panel is None else panel.box
    across = (box.centre.x - around.centre.x) / around.width if around.width else 0.0
    up = (box.centre.y - around.centre.y) / around.height if around.height else 0.0
    side = "left" if across < -_THIRD else "right" if across > _THIRD else ""
    height = "lower" if up < -_THIRD else "upper" if up > _THIRD else ""
    named = panel is not None and len(outline.panels) > 1
    of = f" of the {panel.name}" if panel is not None and named else ""
    if min(box.width - _ALL * around.width, box.height - _ALL * around.height) >= 0:
        return f"over all{of or ' of the piece'}"
    if side and height:
        return f"at the {height} {side}{of}"
    if height:
        return f"at the {'top' if height == 'upper' else 'foot'}{of}"
    return f"at the {side}{of}" if side else f"in the middle{of}"
