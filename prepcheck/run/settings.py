"""What a run may use and how finely it looks."""

from __future__ import annotations

import math
from dataclasses import field

from prepcheck.art.limits import Limits
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box
from prepcheck.run.budget import WorkerLimits
from prepcheck.units import MM_PER_INCH


@dataclass(frozen=True, slots=True)
class Resolution:
    """How finely to render: `most_ppi`, or less so that no more than `most_pixels` come out."""

    most_ppi: float
    most_pixels: float

    def ppi(self, box: Box) -> float:
        """Return the resolution for a box in mm."""
        area_in2 = box.area / MM_PER_INCH**2
        return min(self.most_ppi, math.sqrt(self.most_pixels / area_in2))


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings of a run."""

    worker: WorkerLimits = field(default_factory=WorkerLimits)
    art: Limits = field(default_factory=Limits)
    """What one file may ask for."""
    view: Resolution = Resolution(600.0, 8e6)
    """For measuring: 600 ppi on a label, about 155 on a jacket."""
    picture: Resolution = Resolution(200.0, 5e6)
    """For the proof's pages: 200 ppi on a label, about 120 on a jacket, which is some 290 on the
    paper it is shown on."""
    inset: Resolution = Resolution(1200.0, 1e6)
    """For the proof's enlarged places: 300 ppi on paper at four times the size."""
    plate: Resolution = Resolution(150.0, 0.7e6)
    """For the proof's pictures of single plates, several on a page."""
    coverage: Resolution = Resolution(150.0, 2e6)
    """For what the plates carry, and the ink map in a file: 0.17 mm on a label, 0.3 on a jacket."""
    ink_map: Resolution = Resolution(150.0, 1e6)
    """For the proof's ink map: 0.17 mm on a label, 0.45 mm on a jacket."""
    compare: Resolution = Resolution(300.0, 8e6)
    """For laying two files over each other: 300 ppi on a label, about 160 on a jacket."""
    plate_file: Resolution = Resolution(300.0, 60e6)
    """For plates written as files."""
    margin_mm: float = 3.0
    """How far beyond the wanted bleed is looked and shown."""
    jpeg_quality: int = 90


DEFAULT = Settings()
