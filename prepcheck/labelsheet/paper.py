"""The press sheet: its size, and where on it nothing may be printed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from prepcheck.errors import UsageError
from prepcheck.geometry import Box

SIZES_MM = {
    "A2": (594.0, 420.0), "A3": (420.0, 297.0), "A4": (297.0, 210.0),
    "B2": (707.0, 500.0), "B3": (500.0, 353.0), "B4": (353.0, 250.0),
    "RA2": (610.0, 430.0), "RA3": (430.0, 305.0),
    "SRA2": (640.0, 450.0), "SRA3": (450.0, 320.0), "SRA4": (320.0, 225.0),
}  # fmt: skip
"""Long edge first. Sources: ISO 216:2007 (A and B), ISO 217:2013 (RA and SRA), from memory."""
LEAST_MM, MOST_MM = 60.0, 2000.0
LEAST_MARGIN_MM = 7.0
"""Side margins must hold register marks."""

_SIZE = re.compile(r"(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)(?:\s*mm)?", re.IGNORECASE)

Grain = Literal["long", "short"]


@dataclass(frozen=True)
class Paper:
    """A press sheet, mm, its origin the lower left corner. The gripper edge is the foot.

    Nothing is printed within `gripper_mm` of the foot, and labels keep `margin_mm` from the sides;
    marks stand in the margins. `grain` is the edge along which the paper's fibres lie.
    """

    width: float
    height: float
    name: str = ""
    gripper_mm: float = 10.0
    margin_mm: float = 8.0
    grain: Grain = "long"

    @property
    def box(self) -> Box:
        return Box(0.0, 0.0, self.width, self.height)

    @property
    def grain_is_level(self) -> bool:
        """Whether the fibres lie along the foot."""
        return (self.width >= self.height) == (self.grain == "long")

    @property
    def worded(self) -> str:
        size = f"{self.width:g} × {self.height:g} mm"
        return f"{self.name}, {size}" if self.name else size


def paper_of(
    size: str, *, gripper_mm: float = 10.0, margin_mm: float = 8.0, grain: Grain = "long"
) -> Paper:
    """Return the sheet of a size such as '450x320' (the foot first, mm) or 'SRA3' (the long edge
    is the foot); raises UsageError for any other, or for margins that marks do not fit into."""
    if margin_mm < LEAST_MARGIN_MM:
        raise UsageError(
            f"--margin {margin_mm:g}: register marks stand there and need {LEAST_MARGIN_MM:g} mm"
        )
    name = size.strip().upper()
    if name in SIZES_MM:
        return Paper(*SIZES_MM[name], name, gripper_mm, margin_mm, grain)
    match = _SIZE.fullmatch(size.strip())
    if match is None:
        raise UsageError(
            f"--sheet {size}: write it in mm, the gripper edge first, such as 450x320, or as one "
            f"of {', '.join(SIZES_MM)}"
        )
    width, height = float(match[1]), float(match[2])
    if not all(LEAST_MM <= side <= MOST_MM for side in (width, height)):
        raise UsageError(
            f"--sheet {size}: a sheet has {LEAST_MM:g} to {MOST_MM:g} mm on each side; the size "
            "is meant in mm"
        )
    return Paper(width, height, "", gripper_mm, margin_mm, grain)
