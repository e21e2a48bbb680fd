"""Paint without ink amounts turned into process inks, where an output profile says how."""

from __future__ import annotations

import io
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from PIL import Image, ImageCms

from prepcheck.art.model import PROCESS_INKS, Space, SpaceFamily
from prepcheck.art.pdf.colour import (
    DEVICE_CMYK,
    ColourSpace,
    Indexed,
    Inks,
    Lab,
    PatternSpace,
    Rgb,
    RgbSpace,
)
from prepcheck.art.pdf.content.mix import Scope, scope_of
from prepcheck.errors import UsageError, said_by
from prepcheck.frozen import dataclass
from prepcheck.press.view import ByteArray

_INTENTS = (
    ImageCms.Intent.PERCEPTUAL,
    ImageCms.Intent.RELATIVE_COLORIMETRIC,
    ImageCms.Intent.SATURATION,
)


_SIGNS = np.array((0, 128, 128), np.uint8)


class OutputProfile(NamedTuple):
    """An ICC output profile that turns colour without ink amounts into process inks."""

    data: bytes
    name: str
    """Whose it is, in words that fit into a sentence."""


class ConversionWay(NamedTuple):
    """By what colours without ink amounts are told: Lab, an RGB profile, or (None) sRGB."""

    is_lab: bool = False
    profile: bytes | None = None


class ToInks:
    """The way from colours to Cyan, Magenta, Yellow and Black by an ICC output profile.

    Relative colorimetric with black point compensation, as press work is converted by common
    practice. Raises UsageError when the profile cannot be used.
    """

    def __init__(self, profile: OutputProfile) -> None:
        self.name = profile.name
        self._transforms: dict[ConversionWay, ImageCms.ImageCmsTransform] = {}
        try:
            self._profile = ImageCms.ImageCmsProfile(io.BytesIO(profile.data))
        except (ImageCms.PyCMSError, OSError, ValueError) as error:
            raise UsageError(f"{profile.name} cannot be used ({said_by(error)})") from error
        facts = self._profile.profile
        # littleCMS takes the table of another intent where the one asked for is lacking.
        leads = any(facts.is_intent_supported(i, ImageCms.Direction.OUTPUT) for i in _INTENTS)
        if (facts.device_class, facts.xcolor_space) != ("prtr", "CMYK") or not leads:
            raise UsageError(f"{profile.name} cannot be used: it does not lead to inks")

    def colour(self, components: Sequence[float], way: ConversionWay) -> Inks:
        """Return the inks 0..1 of one colour: red, green and blue 0..1, or L*, a* and b*."""
        if way.is_lab:
            lightness, a, b = components
            scaled = (2.55 * lightness, a + 128, b + 128)
        else:
            red, green, blue = components
            scaled = (255 * red, 255 * green, 255 * blue)
        pixel = np.rint(np.array([[scaled]])).clip(0, 255).astype(np.uint8)
        amounts = self.samples(pixel, way)[0, 0] / 255.0
        return tuple(zip(PROCESS_INKS, amounts.tolist(), strict=True))

    def samples(self, data: ByteArray, way: ConversionWay) -> ByteArray:
        """Return inks (rows, columns, 4), 255 solid, of samples (rows, columns, 3): RGB, or Lab
        as L* × 2.55, a* + 128, b* + 128."""
        # Pillow takes a* and b* as signed bytes.
        raw = data ^ _SIGNS if way.is_lab else data
        mode = "LAB" if way.is_lab else "RGB"
        picture = Image.frombytes(mode, raw.shape[1::-1], np.ascontiguousarray(raw).tobytes())
        converted = ImageCms.applyTransform(picture, self._transform(way))
        assert converted is not None
        return np.asarray(converted)

    def _transform(self, way: ConversionWay) -> ImageCms.ImageCmsTransform:
        found = self._transforms.get(way)
        if found is None:
            try:
                found = ImageCms.buildTransform(
                    _source(way),
                    self._profile,
                    "LAB" if way.is_lab else "RGB",
                    "CMYK",
                    ImageCms.Intent.RELATIVE_COLORIMETRIC,
                    ImageCms.Flags.BLACKPOINTCOMPENSATION,
                )
            except (ImageCms.PyCMSError, OSError, ValueError) as error:
                raise UsageError(f"{self.name} cannot be used ({said_by(error)})") from error
            self._transforms[way] = found
        return found


def _source(way: ConversionWay) -> ImageCms.ImageCmsProfile:
    """Return what colours are told by; a profile that is damaged or not of RGB counts as none."""
    if way.is_lab:
        return ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    if way.profile is not None:
        with suppress(ImageCms.PyCMSError, OSError, ValueError):
            own = ImageCms.ImageCmsProfile(io.BytesIO(way.profile))
            leads = own.profile.is_intent_supported(
                ImageCms.Intent.RELATIVE_COLORIMETRIC, ImageCms.Direction.INPUT
            )
            if own.profile.xcolor_space.strip() == "RGB" and leads:
                return own
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))


def leads_to_inks(profile: OutputProfile) -> bool:
    """Say whether colours can be turned into inks by a profile."""
    try:
        ToInks(profile)
    except UsageError:
        return False
    return True


@dataclass(frozen=True, eq=False)
class ConvertedSpace(ColourSpace):
    """A space without ink amounts, its colours converted."""

    source: ColourSpace
    to_inks: ToInks
    way: ConversionWay

    @property
    def initial(self) -> tuple[float, ...]:
        return self.source.initial

    @property
    def decode(self) -> tuple[tuple[float, float], ...]:
        return self.source.decode

    def inks(self, components: Sequence[float]) -> Inks:
        told = components if self.way.is_lab else self.source.rgb(components)
        return self.to_inks.colour(told, self.way)

    def rgb(self, components: Sequence[float]) -> Rgb:
        return self.source.rgb(components)


def converted(space: ColourSpace, to_inks: ToInks) -> ColourSpace:
    """Return a space whose colours have inks: itself where they have, else converted."""
    if isinstance(space, Indexed | PatternSpace) and space.base is not None:
        base = converted(space.base, to_inks)
        facts = space.facts._replace(base=base.facts)
        return space if base is space.base else replace(space, facts=facts, base=base)
    if scope_of(space.facts) is not Scope.SEEN or not space.facts.components:
        return space
    facts = Space(SpaceFamily.ICC, space.facts.components, DEVICE_CMYK.facts)
    profile = space.profile if isinstance(space, RgbSpace) else None
    return ConvertedSpace(facts, space, to_inks, ConversionWay(isinstance(space, Lab), profile))
