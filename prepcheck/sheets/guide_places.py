"""Where a template of a piece has its guides: those of our own, and those that others draw."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from prepcheck.geometry import FloatArray
from prepcheck.measure.guides import Guide, Offset, guides_of
from prepcheck.outline import Outline
from prepcheck.spec.model import Spec
from prepcheck.spec.places import places_of

_SAME_MM = 0.05


def guide_places(spec: Spec, outline: Outline) -> tuple[Guide, ...]:
    """Return each place once: what a template of the spec draws, then the spec's other limits."""
    own = (
        Guide(place.name, place.points, place.closed, place.circle)
        for place in places_of(spec, outline)
    )
    others = guides_of(outline, *_offsets(spec))
    return tuple(_each_once((*own, *others, *_squares(spec, outline))))


def _squares(spec: Spec, outline: Outline) -> Iterator[Guide]:
    """Yield the squares round a round piece, as a template that knows no circle draws them."""
    for name, off in (("trim", 0.0), ("bleed", spec.bleed.wanted_mm)):
        if all(contour.circle is not None for contour in outline.contour(off)):
            corners = np.array(outline.bounds.grown(off).corners, np.float64)
            yield Guide(f"square round the {name}", corners, True)


def _each_once(guides: tuple[Guide, ...]) -> Iterator[Guide]:
    kept: list[FloatArray] = []
    for guide in guides:
        corners = np.array(sorted(np.round(guide.points, 4).tolist()))
        if any(
            other.shape == corners.shape and np.abs(other - corners).max() <= _SAME_MM
            for other in kept
        ):
            continue
        kept.append(corners)
        yield guide


def _offsets(spec: Spec) -> tuple[list[Offset], list[Offset]]:
    trim, hole = spec.clearance.trim, spec.clearance.hole
    at_trim = [
        Offset("trim", 0.0),
        Offset("bleed", spec.bleed.wanted_mm),
        Offset("bleed", spec.bleed.least_mm),
        Offset("safe area", -trim.wanted_mm),
        Offset("safe area", -trim.least_mm),
        Offset("safe area", -trim.frame_wanted_mm),
    ]
    at_hole = [Offset("hole", 0.0)]
    if hole is not None:
        at_hole += [
            Offset("safe ring of the hole", hole.wanted_mm),
            Offset("safe ring of the hole", hole.least_mm),
        ]
    return [o for o in at_trim if o.mm or o.name == "trim"], at_hole
