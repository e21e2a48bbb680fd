"""One small file a fault: a plain label, wrong in one way."""

from drawing.singles import (
    bleed,
    clearance,
    colour,
    document,
    ink,
    lines,
    overprint,
    pictures,
    size,
)
from drawing.singles.label import FAULTY, SOUND

__all__ = [
    "FAULTY",
    "SOUND",
    "bleed",
    "clearance",
    "colour",
    "document",
    "ink",
    "lines",
    "overprint",
    "pictures",
    "size",
]
