"""What all tables of a spec are made of."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

MOST_MM = 2_000.0
"""Greatest length; the widest sleeve flat has 0.7 m. Beyond lies a slip of unit or point."""
MOST_ROOM_MM = 100.0
"""Greatest bleed or clearance: a label of the smallest kind has 88 mm in all."""

PositiveMm = Annotated[float, Field(gt=0, le=MOST_MM, allow_inf_nan=False)]
NotNegativeMm = Annotated[float, Field(ge=0, le=MOST_MM, allow_inf_nan=False)]
RoomMm = Annotated[float, Field(ge=0, le=MOST_ROOM_MM, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, le=1e6, allow_inf_nan=False)]


class Frozen(BaseModel):
    """A table whose keys are all known and whose values never change."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False, defer_build=True)
