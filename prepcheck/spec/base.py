"""What all tables of a spec are made of."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

MOST_MM = 2_000.0
"""Greatest length; the widest sleeve flat has 0.7 m. Beyond lies a slip of unit or point."""
MOST_ROOM_MM = 100.0
"""Greatest bleed or clearance: a label of the smallest kind has 88 mm in all."""

PositiveMm = Annotated[float, Meta(gt=0, le=MOST_MM)]
NotNegativeMm = Annotated[float, Meta(ge=0, le=MOST_MM)]
RoomMm = Annotated[float, Meta(ge=0, le=MOST_ROOM_MM)]
Positive = Annotated[float, Meta(gt=0, le=1e6)]
