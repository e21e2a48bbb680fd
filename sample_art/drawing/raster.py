"""Art as a picture: shapes and type painted in CMYK samples, four times finer, then reduced."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFont

from drawing.brand import Ink
from drawing.page import FONTS, PT, REGULAR, Xy

FINER = 4


class RasterArt:
    """A CMYK picture of `side_mm` square at `ppi`, in mm round its centre."""

    def __init__(self, side_mm: float, ppi: float, ground: Ink) -> None:
        self.pixels = round(side_mm * ppi / 25.4)
        self.unit = self.pixels * FINER / side_mm
        self.ppi = ppi
        self.samples = np.empty((self.pixels, self.pixels, 4))
        self.samples[:] = ground

    def _mask(self) -> Image.Image:
        return Image.new("L", (self.pixels * FINER, self.pixels * FINER), 0)

    def _at(self, x: float, y: float) -> Xy:
        half = self.pixels * FINER / 2
        return half + x * self.unit, half - y * self.unit

    def _lay(self, mask: Image.Image, ink: Ink) -> None:
        small = mask.resize((self.pixels, self.pixels), Image.Resampling.BOX)
        share = np.asarray(small, np.float64)[..., None] / 255.0
        self.samples = self.samples * (1.0 - share) + np.array(ink) * share

    def shape(self, points: Iterable[Xy], ink: Ink, within: float | None = None) -> None:
        """Fill a closed line; `within` keeps it inside a circle of that radius."""
        mask = self._mask()
        ImageDraw.Draw(mask).polygon([self._at(*point) for point in points], fill=255)
        if within is not None:
            mask = ImageChops.multiply(mask, self._disc_mask(0, 0, within))
        self._lay(mask, ink)

    def disc(self, x: float, y: float, radius: float, ink: Ink) -> None:
        self._lay(self._disc_mask(x, y, radius), ink)

    def _disc_mask(self, x: float, y: float, radius: float) -> Image.Image:
        mask, (cx, cy), r = self._mask(), self._at(x, y), radius * self.unit
        ImageDraw.Draw(mask).ellipse((cx - r, cy - r, cx + r, cy + r), fill=255)
        return mask

    def _font(self, font: str, pt: float) -> ImageFont.FreeTypeFont:
        return ImageFont.truetype(
            str(FONTS / f"{font}.ttf"), pt / PT * self.unit, layout_engine=ImageFont.Layout.BASIC
        )

    def text(
        self, words: str, x: float, y: float, pt: float, ink: Ink, font: str = REGULAR,
        *, align: str = "left", track: float = 0.0,
    ) -> None:  # fmt: skip
        """Set one line on the baseline y."""
        face, gap = self._font(font, pt), track * pt / PT * self.unit
        width = sum(face.getlength(letter) + gap for letter in words) - gap
        px, py = self._at(x, y)
        px -= {"left": 0.0, "middle": width / 2, "right": width}[align]
        mask = self._mask()
        pen = ImageDraw.Draw(mask)
        for letter in words:
            pen.text((px, py), letter, font=face, fill=255, anchor="ls")
            px += face.getlength(letter) + gap
        self._lay(mask, ink)

    def circle_text(
        self, words: str, radius: float, pt: float, ink: Ink, font: str = REGULAR,
        *, middle: float = 90.0, track: float = 0.0, inward: bool = False,
    ) -> None:  # fmt: skip
        """Set type on a circle; arguments as for `Art.circle_text`."""
        face, gap = self._font(font, pt), track * pt / PT * self.unit
        r, side = radius * self.unit, round(pt / PT * self.unit * 3)
        advances = [face.getlength(letter) + gap for letter in words]
        turn = 1.0 if inward else -1.0
        at = math.radians(middle) - turn * (sum(advances) - gap) / r / 2
        mask = self._mask()
        for letter, advance in zip(words, advances, strict=True):
            centre = at + turn * (advance - gap) / r / 2
            glyph = Image.new("L", (side, side), 0)
            ImageDraw.Draw(glyph).text(
                (side / 2, side / 2), letter, font=face, fill=255, anchor="ms"
            )
            angle = math.degrees(centre) + (90.0 if inward else -90.0)
            glyph = glyph.rotate(angle, Image.Resampling.BICUBIC)
            px, py = self._at(radius * math.cos(centre), radius * math.sin(centre))
            corner = (round(px - side / 2), round(py - side / 2))
            box = (*corner, corner[0] + side, corner[1] + side)
            mask.paste(ImageChops.lighter(mask.crop(box), glyph), corner)
            at += turn * advance / r
        self._lay(mask, ink)

    def image(self) -> Image.Image:
        """Return the finished picture."""
        data = np.rint(self.samples * 255).astype(np.uint8)
        return Image.frombytes("CMYK", (self.pixels, self.pixels), data.tobytes())
