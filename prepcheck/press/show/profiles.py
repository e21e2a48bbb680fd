"""Output profiles: of the plant, or of the file; for the look of inks, and from colour to inks.

An output intent is what a PDF says its inks are meant for (ISO 32000-2, 14.11.5), and RGB or Lab
colour in it is meant to be turned into inks by that profile (ISO 15930-7, from memory). A picture's
own CMYK profile says the same of a raster file.
"""

from __future__ import annotations

import io
from dataclasses import replace
from typing import NamedTuple

from PIL import ImageCms

from prepcheck.art.facts import OutputIntent
from prepcheck.art.model import Artwork, RasterFacts
from prepcheck.errors import UsageError
from prepcheck.press.separate.conversion import OutputProfile, leads_to_inks
from prepcheck.press.show.condition import PrintCondition
from prepcheck.press.show.icc import screen_transform

_UNUSABLE = "it is no profile from CMYK that can be read"


class Intended(NamedTuple):
    """How inks look, and by which profile colour without ink amounts becomes inks (None: by
    none, and its ink is not known)."""

    condition: PrintCondition
    to_inks: OutputProfile | None


class _Own(NamedTuple):
    """A profile that a file says its inks are meant for: whose it is in words, its name, and
    itself, None where it is damaged."""

    whose: str
    name: str
    data: bytes | None


def intended(condition: PrintCondition, artwork: Artwork) -> Intended:
    """Return what a print condition and a file's own output profile come to.

    A profile that the condition names comes first; one that cannot be used is left out. Files are
    as a rule made for coated paper whatever the piece: for the look, a file's profile only counts
    where the condition is one of coated paper. Where it does not count or cannot be used, the
    condition stands, with a remark that says why. For ink amounts it always counts, since the
    file declares what its colours are to become.
    """
    return Intended(_shown(condition, _own_profile(artwork)), ink_profile(condition, artwork))


def _shown(condition: PrintCondition, own: _Own | None) -> PrintCondition:
    """Return the condition that inks are shown by."""
    if condition.profile is not None:
        try:
            _refuse_other_classes(condition.profile)
            screen_transform(condition.profile, absolute=True)
        except UsageError:
            bare = replace(condition, profile=None)
            return _standing(bare, "the output profile of the print condition", _UNUSABLE)
        return condition
    if own is None:
        return condition
    if own.data is None:
        return _standing(condition, own.whose, "it is damaged")
    if not condition.coated:
        return _standing(condition, own.whose, "the piece is not printed on coated paper")
    try:
        _refuse_other_classes(own.data)
        screen_transform(own.data, absolute=True)
        told = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(own.data)))
    except (UsageError, ImageCms.PyCMSError, OSError):
        return _standing(condition, own.whose, _UNUSABLE)
    return replace(
        condition,
        title="The file's own output profile",
        source=" ".join(told.split()) or own.name,
        profile=own.data,
    )


def _refuse_other_classes(profile: bytes) -> None:
    """Raise UsageError unless a profile is of an output device (ICC.1:2001-04, 6.1.4)."""
    if profile[12:16] != b"prtr":
        raise UsageError("the output profile cannot be used: it is not of an output device")


def ink_profile(condition: PrintCondition | None, artwork: Artwork) -> OutputProfile | None:
    """Return the profile that turns colour without ink amounts into inks: the condition's, else
    the file's own. One that only leads from inks to a look, as many do, is passed over."""
    found = []
    if condition is not None and condition.profile is not None:
        whose = f"the output profile of the print condition ({condition.title})"
        found.append(OutputProfile(condition.profile, whose))
    own = _own_profile(artwork)
    if own is not None and own.data is not None:
        found.append(OutputProfile(own.data, own.whose))
    return next((one for one in found if leads_to_inks(one)), None)


def _own_profile(artwork: Artwork) -> _Own | None:
    if artwork.raster is not None:
        return _of_picture(artwork.raster)
    for intent in artwork.document.output_intents:
        if intent.has_profile and _for_press(intent):
            name = intent.condition or intent.info or "unnamed"
            return _Own(f"the file's output profile ({name})", name, intent.profile)
    return None


def _of_picture(facts: RasterFacts) -> _Own | None:
    """Return the profile of a picture in CMYK; those of others say nothing of inks."""
    data, space = facts.profile_data, facts.space
    if not data or "cmyk" not in (space.kind, None if space.base is None else space.base.kind):
        return None
    name = facts.profile or "unnamed"
    return _Own(f"the picture's profile ({name})", name, data if data[36:40] == b"acsp" else None)


def _for_press(intent: OutputIntent) -> bool:
    """Say whether an intent is meant for a press, rather than a screen or an archive."""
    if intent.profile is None or intent.subtype == "GTS_PDFX":
        return intent.subtype == "GTS_PDFX"
    return intent.profile[16:20] == b"CMYK"


def _standing(condition: PrintCondition, whose: str, why: str) -> PrintCondition:
    said = f"{whose[:1].upper()}{whose[1:]} is not used for the colours shown: {why}"
    return replace(condition, remark=said)
