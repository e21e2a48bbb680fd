"""Output profiles in place of a print condition's figures: of the plant, or of the file."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import replace

from PIL import ImageCms

from prepcheck.art.model import OutputIntent
from prepcheck.errors import UsageError
from prepcheck.press.condition import PrintCondition
from prepcheck.press.icc import screen_transform

_UNUSABLE = "it is no profile from CMYK that can be read"


def as_intended(condition: PrintCondition, intents: Sequence[OutputIntent]) -> PrintCondition:
    """Return a print condition that shows inks by the CMYK output profile of a file, if any.

    A profile that the condition names comes first; one that cannot be used is left out.
    Files are as a rule made for coated paper whatever the piece: a profile only counts where the
    condition is one of coated paper. Where it does not count or cannot be used, the condition
    stands, with a remark that says why (ISO 32000-2, 14.11.5: DestOutputProfile).
    """
    if condition.profile is not None:
        try:
            screen_transform(condition.profile, absolute=True)
        except UsageError:
            bare = replace(condition, profile=None)
            return _standing(bare, "The output profile of the print condition", _UNUSABLE)
        return condition
    found = [(one, one.profile) for one in intents if one.has_profile and _for_press(one)]
    if not found:
        return condition
    intent, profile = found[0]
    name = intent.condition or intent.info or "unnamed"
    whose = f"The file's output profile ({name})"
    if not condition.coated:
        return _standing(condition, whose, "the piece is not printed on coated paper")
    if profile is None:
        return _standing(condition, whose, "it is damaged")
    try:
        screen_transform(profile, absolute=True)
        told = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(profile)))
    except (UsageError, ImageCms.PyCMSError, OSError):
        return _standing(condition, whose, _UNUSABLE)
    return replace(
        condition,
        title="The file's own output profile",
        source=" ".join(told.split()) or name,
        profile=profile,
    )


def _for_press(intent: OutputIntent) -> bool:
    """Say whether an intent is meant for a press, rather than a screen or an archive."""
    if intent.profile is None or intent.subtype == "GTS_PDFX":
        return intent.subtype == "GTS_PDFX"
    return intent.profile[16:20] == b"CMYK"


def _standing(condition: PrintCondition, whose: str, why: str) -> PrintCondition:
    return replace(condition, remark=f"{whose} is not used for the colours shown: {why}")
