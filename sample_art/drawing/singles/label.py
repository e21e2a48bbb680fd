"""The plain label that every small file starts from, and the list of the files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from drawing.brand import ARTIST, BLACK, CATALOGUE, FIRM, SAND, TITLE, Ink
from drawing.clear import LABEL
from drawing.manifest import Fault, Sound
from drawing.motifs import byline, lantern
from drawing.page import STRONG, Art

HOLE = 3.62
"""Radius of the hole that will be drilled, in mm."""
RIM = 50.0
"""Radius of the trim, in mm."""

Draw = Callable[[Path], None]
FAULTY: dict[str, tuple[Draw, tuple[Fault, ...]]] = {}
"""Each small file with a fault: its name, how it is drawn, what was planted."""
SOUND: dict[str, tuple[Draw, Sound]] = {}
"""Each small file that looks suspicious and is not."""


def single(file: str, *faults: Fault) -> Callable[[Draw], Draw]:
    """Register a drawing with the faults planted in it."""

    def register(draw: Draw) -> Draw:
        FAULTY[file] = (draw, tuple(replace(fault, file=f"single/{file}") for fault in faults))
        return draw

    return register


def fault(check: str, severity: str, says: str, **facts: object) -> Fault:
    """Return a fault whose file is filled in when the drawing is registered."""
    return Fault("", check, severity, says, **facts)  # type: ignore[arg-type]


def sound(file: str, says: str, spec: str = "label-12in") -> Callable[[Draw], Draw]:
    """Register a drawing that nothing is wrong with."""

    def register(draw: Draw) -> Draw:
        SOUND[file] = (draw, Sound(f"single/{file}", spec, says))
        return draw

    return register


def words(art: Art, ink: Ink = BLACK) -> None:
    """Set a label's usual type, everything well clear of hole and trim."""
    art.circle_text(FIRM.upper(), 42.0, 9, ink, STRONG, track=0.12)
    lantern(art, 0, 34.0, 8.5, ink)
    art.outlined(TITLE.upper(), 0, 17.5, 19, ink, track=0.05)
    byline(art, ARTIST, 0, 12.3, 10, ink)
    art.text("Side A", -36.0, 0.8, 9, ink, STRONG)
    art.text(CATALOGUE, 36.0, 0.8, 9, ink, STRONG, align="right")


def label(path: Path, **options: object) -> Art:
    """Return a label with its ground and usual type, ready for more."""
    art = Art(path, LABEL, **options)  # type: ignore[arg-type]
    art.flood(SAND)
    words(art)
    return art
