"""A barcode as measured."""

from __future__ import annotations

from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray, Quad
from prepcheck.measure.barcode.add_on import AddOn
from prepcheck.measure.barcode.symbology import Kind, gtin13


@dataclass(frozen=True, eq=False)
class Symbol:
    """A symbol whose bars were read, with its measures in mm on the plates.

    `quad` is the block of bars in the piece's frame, corners lower left, lower right, upper
    right, upper left as the digits are read. Its height is that of the shortest bar.
    """

    kind: Kind
    digits: str
    """With the check digit, which may be wrong."""
    add_on: AddOn | None
    """The add-on on the right of it."""
    quad: Quad
    x_mm: float
    """The X-dimension: width of one module."""
    height_mm: float
    quiet_mm: tuple[float, float]
    """Free room left and right of the bars, looked for as far as `QUIET_LOOK` modules."""
    gain_mm: float
    """By how much bars are wider than their modules; negative where they were made narrower."""
    distortion_mm: float
    """The furthest that an edge lies from where X and gain put it."""
    blur_mm: float
    """Width over which an edge goes from space to bar; 0 for a sharp one."""
    reflectance: FloatArray
    """Share of red light (elements + 2,) that quiet zone, bars and spaces in turn, and quiet zone
    give back."""
    bar_inks: dict[str, float]
    """Ink on the bars, 0..1, by plate; plates without any are left out."""
    space_inks: dict[str, float]
    not_in_inks: bool
    """Whether bars or spaces are painted in colours without ink amounts, such as RGB."""

    @property
    def gtin13(self) -> str:
        """The number as 13 digits."""
        return gtin13(self.kind, self.digits)

    @property
    def width_mm(self) -> float:
        """From the first bar to the last."""
        return self.kind.modules * self.x_mm
