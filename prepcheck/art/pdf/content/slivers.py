"""What a turned clip leaves of filled paths, where that is no more than a strip."""

from __future__ import annotations

from collections.abc import Sequence

from prepcheck.art.model import PathItem, Sliver
from prepcheck.art.pdf.content.clip import EVERYWHERE, STRIP_SHARES, Clip

MOST_SLIVERS = 2_000
"""So many are noted of a page; where a clip leaves more, it shades."""
_EVEN_ODD = (b"f*", b"B*", b"b*")
"""Operators that fill by the even-odd rule (ISO 32000-2, Table 59)."""


def note_sliver(
    slivers: list[Sliver],
    clip: Clip,
    path: PathItem,
    operator: bytes,
    runs: Sequence[Sequence[float]],
) -> None:
    """Add the strip that is left of a filled path, whose subpaths are flat coordinates in mm.

    Nothing is added where more is left, or where the path does not reach over all of the strip.
    """
    if path.fill is None or path.stroke is not None or not (path.clipped and clip.shapes):
        return
    strip = clip.strip
    if strip is None or len(slivers) >= MOST_SLIVERS:
        return
    area = Clip(EVERYWHERE).to_path(runs, operator in _EVEN_ODD)
    if all(area.has(strip.along(share)) for share in STRIP_SHARES):
        slivers.append(Sliver((*strip.start, *strip.end), strip.width, path.fill, path.layer))
