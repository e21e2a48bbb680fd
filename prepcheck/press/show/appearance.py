"""How plates look on the press sheet: process inks by a print condition or an output profile,
spots as filters of their stand-in colour over them."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import ImageCms

from prepcheck.art.model import PROCESS_INKS
from prepcheck.art.pdf.content.spots import SpotLook, at_all_tints
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.raster import lay_filter, lay_spots
from prepcheck.press.show.condition import PrintCondition
from prepcheck.press.show.icc import apply_transform, condition_profile, screen_transform
from prepcheck.press.view import ByteArray

UNKNOWN_SPOT = SpotLook(False, ((1.0, 1.0, 1.0), (0.5, 0.5, 0.5)))
"""A spot of which the file says nothing is shown as grey."""


def appearance(
    plates: Plates, condition: PrintCondition, profile: bytes | None = None
) -> ByteArray:
    """Return how plates look on the paper of a print condition, as sRGB (rows, columns, 3).

    Colours are absolute: the paper has its own tint. An output profile, where one is given or
    comes with the condition, stands for the process inks instead. Raises UsageError when it
    cannot be used.
    """
    transform = _transform(condition, profile)
    rgb = apply_transform(transform, plates.data[: len(PROCESS_INKS)])
    spots = [
        (plate, _tints(plates.looks.get(ink, UNKNOWN_SPOT), transform))
        for ink, plate in zip(plates.inks, plates.data, strict=True)
        if ink not in PROCESS_INKS
    ]
    lay_spots(rgb, spots)
    if plates.seen is not None:
        lay_filter(rgb, plates.seen)
    return rgb


def _transform(
    condition: PrintCondition, profile: bytes | None = None
) -> ImageCms.ImageCmsTransform:
    profile = condition.profile if profile is None else profile
    if profile is None:
        return _of_condition(condition)
    return screen_transform(profile, absolute=True)


@lru_cache(maxsize=4)
def _of_condition(condition: PrintCondition) -> ImageCms.ImageCmsTransform:
    return screen_transform(condition_profile(condition))


def _tints(look: SpotLook, transform: ImageCms.ImageCmsTransform) -> ByteArray:
    """Return the filter (256, 3) that each tint of a spot lays over what is below, 255 clear."""
    values = at_all_tints(np.array(look.steps)) * 255.0
    if look.in_inks:
        inks: ByteArray = np.rint(values.T).clip(0, 255).astype(np.uint8)
        seen: NDArray[np.floating] = apply_transform(transform, inks[:, None])[0].astype(float)
    else:
        seen = values
    relative = seen / np.maximum(seen[0], 1.0) * 255.0
    tints: ByteArray = np.rint(relative.clip(0.0, 255.0)).astype(np.uint8)
    return tints
