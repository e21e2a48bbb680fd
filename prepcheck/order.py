"""The order: what was ordered, its parts and sides, and what each part is expected to carry."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class OrderHead(_Frozen):
    """The `[order]` table."""

    number: str
    client: str
    title: str
    catalogue: str
    format: Literal["7-inch", "10-inch", "12-inch"]
    discs: Annotated[int, Field(ge=1)] = 1
    speed: Literal["33", "45", "78"] = "33"
    barcode: str | None = None
    quantity: Annotated[int, Field(ge=1)] | None = None


class OrderPart(_Frozen):
    """A `[[part]]` table: one piece with its file.

    `file` is relative to the order file; `page` (1-based) picks one page of a file that holds
    several parts; `inks` are those paid for; `expect` are texts the part must carry.
    """

    name: str
    file: str
    side: str | None = None
    page: Annotated[int, Field(ge=1)] | None = None
    spec: str | None = None
    inks: tuple[str, ...] | None = None
    expect: tuple[str, ...] = ()


class Order(_Frozen):
    """An order file as read."""

    order: OrderHead
    part: tuple[OrderPart, ...] = Field(min_length=1)
