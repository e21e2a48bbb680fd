"""What all tables of a spec are made of."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

PositiveMm = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegativeMm = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class Frozen(BaseModel):
    """A table whose keys are all known and whose values never change."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False)
