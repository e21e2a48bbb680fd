"""Paint without ink amounts turned into process inks, where an output profile says how."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from PIL import Image, ImageCms

from prepcheck.art.model import PROCESS_INKS, Space, SpaceFamily
from prepcheck.art.pdf.colour import (
    DEVICE_CMYK,
    ColourSpace,
    Indexed,
    Inks,
    PatternSpace,
    Rgb,
)
from prepcheck.errors import UsageError
from prepcheck.press.mix import Scope, scope_of
from prepcheck.press.view import ByteArray

_INTENTS = (
    ImageCms.Intent.PERCEPTUAL,
    ImageCms.Intent.RELATIVE_COLORIMETRIC,
    ImageCms.Intent.SATURATION,
)


class OutputProfile(NamedTuple):
    """An ICC output profile that turns colour without ink amounts into process inks."""

    data: bytes
    name: str
    """Whose it is, in words that fit into a sentence."""


class ToInks:
    """The way from sRGB to Cyan, Magenta, Yellow and Black by an ICC output profile.

    Relative colorimetric with black point compensation, as press work is converted by common
    practice. Raises UsageError when the profile cannot be used.
    """

    def __init__(self, profile: OutputProfile) -> None:
        self.name = profile.name
        try:
            self._profile = ImageCms.ImageCmsProfile(io.BytesIO(profile.data))
        except (ImageCms.PyCMSError, OSError, ValueError) as error:
            raise UsageError(f"{profile.name} cannot be used ({error})") from error
        facts = self._profile.profile
        # littleCMS takes the table of another intent where the one asked for is lacking.
        leads = any(facts.is_intent_supported(i, ImageCms.Direction.OUTPUT) for i in _INTENTS)
        if (facts.device_class, facts.xcolor_space) != ("prtr", "CMYK") or not leads:
            raise UsageError(f"{profile.name} cannot be used: it does not lead to inks")

    @cached_property
    def _transform(self) -> ImageCms.ImageCmsTransform:
        try:
            return ImageCms.buildTransform(
                ImageCms.createProfile("sRGB"),
                self._profile,
                "RGB",
                "CMYK",
                ImageCms.Intent.RELATIVE_COLORIMETRIC,
                ImageCms.Flags.BLACKPOINTCOMPENSATION,
            )
        except (ImageCms.PyCMSError, OSError, ValueError) as error:
            raise UsageError(f"{self.name} cannot be used ({error})") from error

    def colour(self, rgb: Rgb) -> Inks:
        """Return the inks 0..1 of one colour."""
        pixel = np.array([[[round(255 * channel) for channel in rgb]]], np.uint8)
        amounts = self.samples(pixel)[0, 0] / 255.0
        return tuple(zip(PROCESS_INKS, amounts.tolist(), strict=True))

    def samples(self, rgb: ByteArray) -> ByteArray:
        """Return inks (rows, columns, 4), 255 solid, of sRGB (rows, columns, 3)."""
        picture = Image.frombytes("RGB", rgb.shape[1::-1], np.ascontiguousarray(rgb).tobytes())
        converted = ImageCms.applyTransform(picture, self._transform)
        assert converted is not None
        return np.asarray(converted)


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

    @property
    def initial(self) -> tuple[float, ...]:
        return self.source.initial

    @property
    def decode(self) -> tuple[tuple[float, float], ...]:
        return self.source.decode

    def inks(self, components: Sequence[float]) -> Inks:
        return self.to_inks.colour(self.source.rgb(components))

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
    return ConvertedSpace(facts, space, to_inks)
