"""The lines of a drawing, whatever file they came in: mm, y up, with what names them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from prepcheck.geometry import Box, Circle, FloatArray

_ROUND = 0.002
"""Share of its radius by which a circle's corners may miss it."""
_UPRIGHT_MM = 0.02


@dataclass(frozen=True, eq=False)
class DrawnLine:
    """One drawn line: its corners (n, 2), without the first again where it is closed; the layer
    and the spot it is drawn in, and its processing step (ISO 19593-1) as (group, type)."""

    points: FloatArray
    closed: bool
    dashed: bool
    layer: str | None = None
    spot: str | None = None
    step: tuple[str, str | None] | None = None

    @cached_property
    def box(self) -> Box:
        return Box(*self.points.min(axis=0).tolist(), *self.points.max(axis=0).tolist())

    @cached_property
    def circle(self) -> Circle | None:
        """The circle that the line is, if it is one."""
        if len(self.points) < 8 or not self.closed:
            return None
        (x, y), radius = self.box.centre, (self.box.width + self.box.height) / 4
        away = np.hypot(self.points[:, 0] - x, self.points[:, 1] - y)
        off = float(np.abs(away - radius).max())
        return Circle(x, y, radius) if radius and off <= max(0.03, _ROUND * radius) else None

    @cached_property
    def corners(self) -> FloatArray:
        """The corners (k, 2) of a closed line with upright and level sides; empty for others."""
        if not self.closed or len(self.points) < 4:
            return np.empty((0, 2))
        into = self.points - np.roll(self.points, 1, axis=0)
        out = np.roll(self.points, -1, axis=0) - self.points
        if (np.abs(out).min(axis=1) > _UPRIGHT_MM).any():
            return np.empty((0, 2))
        turns = np.abs(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]) > 1e-6
        return self.points[turns]

    @property
    def is_box(self) -> bool:
        return len(self.corners) == 4

    @property
    def is_straight(self) -> bool:
        """Whether it is one upright or level stroke."""
        return (
            not self.closed
            and len(self.points) == 2
            and min(self.box.width, self.box.height) <= _UPRIGHT_MM
            and max(self.box.width, self.box.height) > 1.0
        )

    @property
    def named(self) -> str:
        """What names it, for a source: its layer, else its spot."""
        if self.layer:
            return f"layer '{self.layer}', "
        return f"spot '{self.spot}', " if self.spot else ""


@dataclass(frozen=True)
class DrawnPage:
    """A page of a drawing: its lines, and the trim and bleed that the page itself states."""

    lines: tuple[DrawnLine, ...]
    trim: Box | None = None
    bleed: Box | None = None
