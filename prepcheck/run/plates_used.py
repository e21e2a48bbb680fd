"""Measures what a label's plates carry, as a press sheet needs to know it."""

from __future__ import annotations

from prepcheck.outline import Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import reduced
from prepcheck.press.show.coverage import Extent, coverage
from prepcheck.run.plate_use import PlatesUsed, PlateUse
from prepcheck.run.settings import Settings
from prepcheck.units import mm_per_px


def plates_used(
    plates: Plates, outline: Outline, bleed_mm: float, settings: Settings
) -> PlatesUsed:
    """Return what plates carry on a piece."""
    box = outline.bounds.grown(bleed_mm)
    small = reduced(plates, mm_per_px(settings.coverage.ppi(box)))
    found = coverage(small, Extent.of(outline, small.grid, bleed_mm))
    return PlatesUsed(
        tuple(
            PlateUse(one.ink, float(one.solid_mm2), float(one.sheet_mm2), _shown(plates, one.ink))
            for one in found
        ),
        plates.seen is not None,
        plates.troubles,
        plates.failed,
    )


def _shown(plates: Plates, ink: str) -> tuple[float, ...]:
    look = plates.looks.get(ink)
    if look is None:
        return ()
    solid = tuple(float(amount) for amount in look.steps[-1])
    return solid if look.in_inks else (*(1 - amount for amount in solid), 0.0)
