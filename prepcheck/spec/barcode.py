"""What a spec says of the barcode of a sleeve."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from prepcheck.spec.base import NotNegativeMm, Positive, PositiveMm
from prepcheck.tables import Table

_Modules = Annotated[float, Meta(ge=0)]


class QuietZones(Table, frozen=True):
    """Free room left and right of the bars, in modules."""

    ean_13_modules: tuple[_Modules, _Modules]
    upc_a_modules: tuple[_Modules, _Modules]
    ean_8_modules: tuple[_Modules, _Modules]
    upc_e_modules: tuple[_Modules, _Modules]
    add_on_modules: _Modules
    """On the right of an add-on of two or five digits."""
    add_on_gap_most_modules: _Modules
    """Between a symbol and its add-on; the least is the symbol's own quiet zone."""

    def of(self, kind: str) -> tuple[float, float]:
        """Return the quiet zones of a symbology by its name in the trade, such as 'EAN-13'."""
        zones: tuple[float, float] = getattr(self, quiet_key(kind))
        return zones


def quiet_key(kind: str) -> str:
    """Return the key of a symbology's quiet zones."""
    return f"{kind.lower().replace('-', '_')}_modules"


class Barcode(Table, frozen=True):
    """The barcode at the till: whether the piece carries one, and the limits of any it carries.

    A `least` or a `most` broken is a stop, a `wanted` a query.
    """

    expected: bool
    """Whether the piece is what the shop scans."""
    x_least_mm: PositiveMm
    """Width of a module, the X-dimension."""
    x_wanted_most_mm: PositiveMm
    height_least_mm: PositiveMm
    """Of the shortest bar, whatever the width of a module."""
    height_wanted_modules: Positive
    """Of the shortest bar, in modules."""
    ean_8_height_least_mm: PositiveMm
    ean_8_height_wanted_modules: Positive
    add_on_height_wanted_modules: Positive
    quiet: QuietZones
    contrast_least_percent: Positive
    """Symbol contrast in red light."""
    contrast_wanted_percent: Positive
    edge_least_mm: NotNegativeMm
    """From the symbol with its quiet zones to the nearest fold or trim."""
    edge_wanted_mm: NotNegativeMm
    picture_wanted_ppi: Positive
    """Where the symbol is a picture."""

    def height_keys(self, kind: str) -> tuple[str, str]:
        """Return the keys of the least and the wanted height of a symbology."""
        prefix = "ean_8_" if kind == "EAN-8" else ""
        return f"{prefix}height_least_mm", f"{prefix}height_wanted_modules"

    def __post_init__(self) -> None:
        if self.x_wanted_most_mm < self.x_least_mm:
            raise ValueError("x_wanted_most_mm must not be smaller than x_least_mm")
        if self.contrast_wanted_percent < self.contrast_least_percent:
            raise ValueError("contrast_wanted_percent must not be smaller than the least")
        if self.edge_wanted_mm < self.edge_least_mm:
            raise ValueError("edge_wanted_mm must not be smaller than edge_least_mm")
