"""What a label's plates carry, as a press sheet needs to know it: plain data for messages."""

from __future__ import annotations

from dataclasses import dataclass

from prepcheck.art.model import PROCESS_INKS
from prepcheck.outline import Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import reduced
from prepcheck.press.show.coverage import Extent, coverage
from prepcheck.run.settings import Settings
from prepcheck.units import mm_per_px


@dataclass(frozen=True, slots=True)
class PlateUse:
    """One plate: its solid ink on the finished face, and with bleed and hole; `shown` is what
    stands in for a spot in the process inks, empty for a process ink or where nothing is known."""

    ink: str
    solid_mm2: float
    sheet_mm2: float
    shown: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class PlatesUsed:
    """The plates of a page; `unknown` where it holds paint without ink amounts, which may come to
    stand in any process ink. `troubles` say what was left out, `failed` how prepcheck failed."""

    plates: tuple[PlateUse, ...]
    unknown: bool = False
    troubles: tuple[str, ...] = ()
    failed: str = ""

    @property
    def inks(self) -> tuple[str, ...]:
        """The plates with ink on them."""
        return tuple(
            use.ink
            for use in self.plates
            if use.sheet_mm2 > 0 or (self.unknown and use.ink in PROCESS_INKS)
        )


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
