"""Settles advice that contradicts itself: what several findings ask of one object is said once.

Each check knows its own remedy alone, so that one may ask for larger type where another has no
room for it. Here findings of one page that meet at one place are held against each other by what
they ask for; those that do not agree get one remedy between them, which says what can be done. A
letter tells findings with one remedy together. Nothing is left out, and no severity changes.

The rules go by what is asked of what, never by single checks that happen to meet: see `_ASKS`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from enum import StrEnum

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.sheets.paid import ink_key
from prepcheck.spec.model import Spec
from prepcheck.units import MM_PER_INCH

_TOUCH_MM = 0.2
"""Places this near to each other are one place."""
_LINE_MM = 1.5
"""A place no wider than this may be a piece of a line."""
CAP_HEIGHT = 0.7
"""Height of capitals as a share of the type size (common practice, no source)."""


_SPELLINGS = (
    "If this ink is added to the order, please merge its spellings into one swatch; otherwise "
    "convert them all to the inks that are printed."
)


class Ask(StrEnum):
    """What a finding asks of the object it is about."""

    LARGER_TYPE = "type larger, or in fewer inks"
    SMALLER_TYPE = "type smaller"
    OTHER_PICTURE = "another copy of a picture"
    OTHER_BARS = "the barcode drawn otherwise"
    REMOVE = "taken out"
    OTHER_INK = "in another ink"
    MEND = "mended where it stands"


_ASKS: dict[tuple[str, str], Ask] = {
    ("text.small", ""): Ask.LARGER_TYPE,
    ("ink.small-type", ""): Ask.LARGER_TYPE,
    ("spine.too-narrow", "type-tall"): Ask.SMALLER_TYPE,
    ("image.resolution", ""): Ask.OTHER_PICTURE,
    ("image.enlarged", ""): Ask.OTHER_PICTURE,
    ("image.compression", ""): Ask.OTHER_PICTURE,
    ("barcode.size", ""): Ask.OTHER_BARS,
    ("barcode.truncated", ""): Ask.OTHER_BARS,
    ("barcode.contrast", ""): Ask.OTHER_BARS,
    ("barcode.resolution", ""): Ask.OTHER_BARS,
    ("barcode.quiet-zone", ""): Ask.OTHER_BARS,
    ("barcode.unreadable", ""): Ask.OTHER_BARS,
    ("guide.printing", ""): Ask.REMOVE,
    ("colour.inks", "beyond"): Ask.OTHER_INK,
    ("colour.inks", "picture"): Ask.OTHER_INK,
    ("colour.inks", "too-many-spots"): Ask.OTHER_INK,
    ("colour.inks", "spellings"): Ask.OTHER_INK,
    ("ink.plates", "unpaid"): Ask.OTHER_INK,
    ("ink.plates", "slip"): Ask.OTHER_INK,
    ("colour.space", ""): Ask.OTHER_INK,
    ("colour.registration", ""): Ask.OTHER_INK,
    ("line.thin", ""): Ask.MEND,
    ("trim.clearance", ""): Ask.MEND,
    ("fold.clearance", "edge"): Ask.MEND,
    ("hole.clearance", "edge"): Ask.MEND,
    ("hole.drawn", ""): Ask.MEND,
    ("ink.faint", ""): Ask.MEND,
}
"""What each kind of finding asks for; '' stands for every code of a check."""

_Joint = Callable[[Sequence[Finding], Spec], str]
_Meet = Callable[[Mark, Mark], bool]


def settled(
    findings: Sequence[Finding], spec: Spec, one_picture: bool = False
) -> tuple[Finding, ...]:
    """Return findings whose remedies agree wherever they meet, in the order given; `one_picture`
    says that the art is a picture and nothing else, which nobody can place anew on its page."""
    kept = list(findings)
    for rule in (_guides, _spines, _art if one_picture else _pictures, _bars, _inks):
        rule(kept, spec)
    return tuple(kept)


def ask_of(finding: Finding) -> Ask | None:
    """Return what a finding asks for; None where it contradicts nothing."""
    if finding.check == "ink.small-type" and finding.unit == "mm":  # a line, not type
        return Ask.MEND
    return _ASKS.get((finding.check, finding.code)) or _ASKS.get((finding.check, ""))


def _guides(kept: list[Finding], spec: Spec) -> None:
    """What is drawn along a template's guide is taken out; nothing else need be done to it."""
    removers = [one for one in kept if ask_of(one) is Ask.REMOVE]
    for index, finding in enumerate(kept):
        if ask_of(finding) not in (Ask.OTHER_INK, Ask.MEND) or not finding.where:
            continue
        for remover in removers:
            if remover.page == finding.page and all(
                any(_along(mark, guide) for guide in remover.where) for mark in finding.where
            ):
                kept[index] = replace(finding, fix=remover.fix)


def _spines(kept: list[Finding], spec: Spec) -> None:
    """Type that is too tall for its spine and too small or too fine to print."""
    _together(kept, spec, (Ask.LARGER_TYPE, Ask.SMALLER_TYPE), Ask.SMALLER_TYPE, _on_spine, _touch)


def _pictures(kept: list[Finding], spec: Spec) -> None:
    _together(
        kept, spec, (Ask.OTHER_PICTURE, Ask.OTHER_INK), Ask.OTHER_PICTURE, _of_picture, _one_picture
    )


def _art(kept: list[Finding], spec: Spec) -> None:
    _together(
        kept, spec, (Ask.OTHER_PICTURE, Ask.OTHER_INK), Ask.OTHER_PICTURE, _of_art, _one_picture
    )


def _bars(kept: list[Finding], spec: Spec) -> None:
    _together(kept, spec, (Ask.OTHER_BARS,), Ask.OTHER_BARS, _of_bars, _touch)


def _inks(kept: list[Finding], spec: Spec) -> None:
    """Spellings of an ink that nobody ordered are merged only where it is added to the order."""
    unpaid = {
        ink_key(name)
        for one in kept
        if (one.check, one.code) == ("colour.inks", "beyond")
        for name in re.split(", | and ", str(one.measured))
    }
    for index, finding in enumerate(kept):
        spelt = (finding.check, finding.code) == ("colour.inks", "spellings")
        if spelt and finding.subject in unpaid:
            kept[index] = replace(finding, fix=_SPELLINGS)


def _together(
    kept: list[Finding],
    spec: Spec,
    asks: tuple[Ask, ...],
    leading: Ask,
    joint: _Joint,
    meet: _Meet,
) -> None:
    """Give findings that ask for one of `asks` at one place, one of them for `leading`, one remedy.

    A finding that has other places as well keeps its own remedy for those, and says both.
    """
    for lead in [one for one in kept if ask_of(one) is leading]:
        group = [
            one
            for one in kept
            if ask_of(one) in asks and one.page == lead.page and _meets(one, lead, meet)
        ]
        fixes = {one.fix for one in group}
        if len(group) < 2 or len(fixes) < 2:
            continue
        words = joint(group, spec)
        for index, finding in enumerate(kept):
            if not any(finding is one for one in group):
                continue
            others = [mark for one in group if one is not finding for mark in one.where]
            whole = all(any(meet(mark, other) for other in others) for mark in finding.where)
            if whole:
                kept[index] = replace(finding, fix=words)
            elif _small(words) not in finding.fix:
                both = f"{finding.fix} Where both are found: {_small(words)}"
                kept[index] = replace(finding, fix=both)


def _on_spine(group: Sequence[Finding], spec: Spec) -> str:
    rooms = [one.required for one in group if ask_of(one) is Ask.SMALLER_TYPE]
    room = min(value for value in rooms if isinstance(value, int | float))
    least = spec.text.least_pt * MM_PER_INCH / 72 * CAP_HEIGHT
    if room < least:
        return (
            f"Please leave this type off: capitals of {spec.text.least_pt:g} pt, the smallest that "
            f"print, are {least:.1f} mm tall, and there is room for {room:.1f} mm."
        )
    return (
        "Please set this type in one dark ink on a light ground, where small type still prints: "
        f"{spec.text.least_pt:g} pt or more, but no taller than {room:.1f} mm from the top of the "
        "tallest letter to the foot of the lowest. If that cannot be, leave it off."
    )


def _of_picture(group: Sequence[Finding], spec: Spec) -> str:
    how, coarse, small = _other_copy(group)
    if coarse:
        rest = "If there is no larger one, please make the picture smaller on the page."
    elif small:
        rest = "If there is no larger one, please tell us that a slightly soft print is fine."
    else:
        rest = "Saving this one again at a higher quality does not help."
    return f"Please place the original picture, {', '.join(how)}. {rest}"


def _of_art(group: Sequence[Finding], spec: Spec) -> str:
    how, coarse, small = _other_copy(group)
    if coarse:
        rest = "If it never was larger, it has to be made anew: enlarging it does not help."
    elif small:
        rest = "If it never was larger, please tell us that a slightly soft print is fine."
    else:
        rest = "Saving this file again at a higher quality does not help."
    return f"Please send the art {', '.join(how)}. {rest}"


def _other_copy(group: Sequence[Finding]) -> tuple[list[str], bool, bool]:
    """Return how another copy of a picture must be, whether this one has too few pixels to be
    printed, and whether it is small at all."""
    checks = {one.check for one in group}
    small = bool(checks & {"image.resolution", "image.enlarged"})
    how = ["in its full size"] if small else []
    if "image.enlarged" in checks:
        how.append("not enlarged in a program")
    if "image.compression" in checks:
        how.append("as it was before it was saved for the web or a messenger")
    for one in group:
        if ask_of(one) is not Ask.OTHER_INK:
            continue
        # What is judged by the spec is to be in CMYK, by the order in its inks.
        if one.check == "colour.space" and one.limit:
            how.append("converted to CMYK")
            break
        if isinstance(one.required, str):
            how.append(f"in {one.required}")
            break
    coarse = any(o.check == "image.resolution" and o.severity is Severity.STOP for o in group)
    return how, coarse, small


def _of_bars(group: Sequence[Finding], spec: Spec) -> str:
    codes = {(one.check, one.code) for one in group}
    checks = {one.check for one in group}
    how = []
    if codes & {("barcode.resolution", "coarse"), ("barcode.size", "bars-grown")}:
        how.append("as drawn bars")
    if codes & {("barcode.size", "module-small"), ("barcode.size", "module-large")}:
        how.append("at 100 %")
    if "barcode.truncated" in checks or ("barcode.size", "height") in codes:
        how.append("with bars of full height")
    if "barcode.contrast" in checks or ("barcode.resolution", "inks") in codes:
        how.append("in black alone on white or a light warm ground")
    if "barcode.quiet-zone" in checks:
        how.append("with clear ground on both sides")
    return f"Please set the barcode anew from its number{_joined(how)}."


def _joined(how: Sequence[str]) -> str:
    return f", {', '.join(how)}" if how else ""


def _small(words: str) -> str:
    return words[:1].lower() + words[1:]


def _meets(finding: Finding, lead: Finding, meet: _Meet) -> bool:
    return any(meet(mark, other) for mark in finding.where for other in lead.where)


def _touch(mark: Mark, other: Mark) -> bool:
    return mark.box.grown(_TOUCH_MM).overlap(other.box) is not None


def _one_picture(mark: Mark, other: Mark) -> bool:
    """Say whether both are places of one picture, not of two that overlap."""
    return _same(mark.box, other.box) and "picture" in mark.subject


def _along(mark: Mark, guide: Mark) -> bool:
    """Say whether a drawn line, as it was named, is the guide or a piece of it."""
    if not mark.subject.startswith("the drawn line"):
        return False
    if _same(mark.box, guide.box):
        return True
    thin = min(mark.box.width, mark.box.height) <= _LINE_MM
    inside = guide.box.grown(_LINE_MM).holds(mark.box)
    return thin and inside and _near_path(mark, guide)


def _near_path(mark: Mark, guide: Mark) -> bool:
    centre = mark.box.centre
    return any(
        min(a.x, b.x) - _LINE_MM <= centre.x <= max(a.x, b.x) + _LINE_MM
        and min(a.y, b.y) - _LINE_MM <= centre.y <= max(a.y, b.y) + _LINE_MM
        for a, b in zip(guide.path, guide.path[1:], strict=False)
    )


def _same(one: Box, other: Box) -> bool:
    return all(abs(a - b) <= _LINE_MM for a, b in zip(one, other, strict=True))
