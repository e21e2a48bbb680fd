"""What a part's plates carry, as a press sheet needs to know it: plain data for messages."""

from __future__ import annotations

from prepcheck.art.model import PROCESS_INKS
from prepcheck.frozen import dataclass


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
