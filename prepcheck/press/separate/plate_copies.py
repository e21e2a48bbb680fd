"""The two kinds of copies: for plates, three at a time, and in greys for soft masks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from prepcheck.art.limits import Limits
from prepcheck.art.model import PROCESS_INKS
from prepcheck.art.pdf.colour import ColourSpace
from prepcheck.art.pdf.content.mix import (
    EVERY,
    HUES,
    NON_SEPARABLE,
    NOT_WHITE_PRESERVING,
    NOTHING,
    SEEN_RGB,
    Mix,
    Plateset,
    Scope,
    scope_of,
)
from prepcheck.geometry import FloatArray
from prepcheck.press.separate.copies import Copy, Exact, Rgb
from prepcheck.press.separate.picture_copies import DecodedPicture
from prepcheck.press.separate.writer import PdfWriter
from prepcheck.press.view import ByteArray

CMY = ("Cyan", "Magenta", "Yellow")
MASK_WEIGHTS = {"Cyan": 0.3, "Magenta": 0.59, "Yellow": 0.11, "Black": 1.0}
"""What the process inks take from luminosity: grey is 1 less their sum (ISO 32000-2, 10.4,
conversion from DeviceCMYK to DeviceGray; clause from memory)."""


class PlateCopy(Copy):
    """A copy that carries up to three plates; one alone fills all three channels."""

    def __init__(
        self,
        plates: tuple[str, ...],
        writer: PdfWriter,
        exact: Exact,
        trouble: Callable[[str], None],
        limits: Limits,
    ) -> None:
        super().__init__(writer, exact, trouble, limits)
        self.plates = plates
        self._slots = plates * 3 if len(plates) == 1 else plates
        self._direct = [PROCESS_INKS.index(p) if p in PROCESS_INKS else -1 for p in self._slots]

    def channels(self, mix: Mix) -> Rgb:
        if mix.scope is Scope.DIRECT:
            inks = mix.inks
            c = [1.0 - inks[place][1] if place >= 0 else 1.0 for place in self._direct]
            return (c[0], c[1], c[2] if len(c) > 2 else 1.0)
        r, g, b = (*(1.0 - mix.amount(plate) for plate in self._slots), 1.0)[:3]
        return (r, g, b)

    def many(self, space: ColourSpace, components: FloatArray) -> FloatArray:
        if scope_of(space.facts) is not Scope.DIRECT or components.shape[1] < len(PROCESS_INKS):
            return super().many(space, components)
        amounts = components.clip(0.0, 1.0)
        found = np.ones((len(components), 3))
        for channel, place in enumerate(self._direct):
            if place >= 0:
                found[:, channel] = 1.0 - amounts[:, place]
        return found

    def samples(self, decoded: DecodedPicture) -> ByteArray:
        slots = self._slots if len(self.plates) > 1 else self.plates
        out = np.full((*decoded.data.shape[:2], 3 if len(slots) > 1 else 1), 255, np.uint8)
        for channel, plate in enumerate(slots):
            if not decoded.plates:
                if plate in SEEN_RGB:
                    out[:, :, channel] = decoded.data[:, :, SEEN_RGB.index(plate)]
                continue
            component = None if plate in SEEN_RGB else decoded.component(plate)
            if component is None:
                continue
            if decoded.light:
                out[:, :, channel] = component
            else:
                np.subtract(255, component, out=out[:, :, channel])
        return out

    def paints(self, changed: Plateset) -> bool:
        return changed == EVERY or any(changed.holds(plate) for plate in self.plates)

    def blend(self, mode: str) -> str:
        """Return the mode for these plates (11.3.5.3, 11.7.4.2).

        The modes that work on hue leave black as it is below, which is what Color does to grey.
        """
        if mode in NON_SEPARABLE:
            if self.plates == CMY:
                return mode
            return "Color" if mode in HUES and self.plates == ("Black",) else "Normal"
        if mode in NOT_WHITE_PRESERVING:
            return mode if self.plates[0] in (*CMY, "Black") else "Normal"
        return mode


class MaskCopy(Copy):
    """A copy in greys: the luminosity that a soft mask takes (11.5.3)."""

    def channels(self, mix: Mix) -> Rgb:
        if any(name in MASK_WEIGHTS for name, _ in mix.inks):
            dark = sum(amount * MASK_WEIGHTS.get(name, 0.0) for name, amount in mix.inks)
            grey = 1.0 - min(1.0, dark)
        else:
            r, g, b = mix.rgb
            grey = 0.3 * r + 0.59 * g + 0.11 * b
        return (grey, grey, grey)

    def samples(self, decoded: DecodedPicture) -> ByteArray:
        if not decoded.plates:
            return decoded.data
        dark = np.zeros(decoded.data.shape[:2], np.float32)
        for plate in dict.fromkeys(decoded.plates):
            ink = decoded.ink(plate) if plate else None
            if ink is not None:
                dark += ink * np.float32(MASK_WEIGHTS.get(plate, 1.0))
        grey = 255 - np.minimum(dark, 255).astype(np.uint8)
        return grey[:, :, None]

    def paints(self, changed: Plateset) -> bool:
        return changed != NOTHING

    def blend(self, mode: str) -> str:
        return mode
