"""What things are painted with: colour spaces and paints."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

PROCESS_INKS = ("Cyan", "Magenta", "Yellow", "Black")
ALL_INKS = "All"
"""The Separation colorant that marks every plate (ISO 32000-2, 8.6.6.4)."""
NO_INK = "None"
"""The Separation colorant that never marks."""


class SpaceFamily(StrEnum):
    """Colour space families, by their names in ISO 32000-2, 8.6."""

    GREY = "DeviceGray"
    RGB = "DeviceRGB"
    CMYK = "DeviceCMYK"
    CAL_GREY = "CalGray"
    CAL_RGB = "CalRGB"
    LAB = "Lab"
    ICC = "ICCBased"
    INDEXED = "Indexed"
    SEPARATION = "Separation"
    DEVICE_N = "DeviceN"
    PATTERN = "Pattern"
    UNKNOWN = "unknown"


class Space(NamedTuple):
    """A colour space as far as judging needs it.

    `base` is the underlying space of Indexed, Pattern and ICCBased (by its number of
    components), and the alternate of Separation and DeviceN. `colorants` name the plates of
    Separation and DeviceN.
    """

    family: SpaceFamily
    components: int
    base: Space | None = None
    colorants: tuple[str, ...] = ()
    profile: str | None = None
    """Description of an ICC profile, where there is one."""
    solids: tuple[tuple[float, ...], ...] = ()
    """Separation and DeviceN: what stands in for each colorant in full, in the alternate."""

    @property
    def kind(self) -> str:
        """The kind a spec allows or not: 'cmyk', 'grey', 'spot', 'rgb', 'lab' or 'none'."""
        match self.family:
            case SpaceFamily.GREY | SpaceFamily.CAL_GREY:
                return "grey"
            case SpaceFamily.RGB | SpaceFamily.CAL_RGB:
                return "rgb"
            case SpaceFamily.CMYK:
                return "cmyk"
            case SpaceFamily.LAB:
                return "lab"
            case SpaceFamily.SEPARATION | SpaceFamily.DEVICE_N:
                return "cmyk" if set(self.colorants) <= {*PROCESS_INKS, NO_INK} else "spot"
            case SpaceFamily.ICC if self.base is None:
                return {1: "grey", 3: "rgb", 4: "cmyk"}.get(self.components, "none")
            case _:
                return "none" if self.base is None else self.base.kind


class Paint(NamedTuple):
    """The colour something is painted with.

    `inks` pairs each plate that gets ink with its amount 0..1 (empty for paint with no ink
    amounts, such as RGB); `rgb` is how it looks on screen, 0..1, for telling light from dark.
    """

    space: Space
    components: tuple[float, ...]
    inks: tuple[tuple[str, float], ...]
    rgb: tuple[float, float, float]
    overprint: bool = False
    opacity: float = 1.0
    pattern: str | None = None
    """'tiling' or 'shading' where the paint is a pattern."""
    overprint_mode: int = 0
    """OPM (ISO 32000-2, 8.6.7): 1 leaves the plates alone that DeviceCMYK gives no ink."""

    @property
    def lightness(self) -> float:
        """How light it looks, 0 (black) to 1 (white): Rec. 709 luma of `rgb`."""
        r, g, b = self.rgb
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    @property
    def ink_count(self) -> int:
        """Number of plates that get ink."""
        return sum(1 for _, amount in self.inks if amount > 0)
