"""Every use of a colour space on a page, whatever kind of object it is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from prepcheck.art.model import Content, Paint, Space
from prepcheck.checks._art import paints_of
from prepcheck.geometry import Box

KINDS = {"pictures": "picture", "type": "text run", "paths": "path", "shadings": "shading"}
"""Kinds of object in the order findings name them, with the word for one."""


class Use(NamedTuple):
    """Something painted: its kind (a key of KINDS), its place, its space, its paint if any."""

    kind: str
    box: Box
    space: Space
    paint: Paint | None


def uses_of(content: Content) -> Iterator[Use]:
    """Yield every use of colour that is seen, in painting order within each kind."""
    for image in content.images:
        if image.visible is None:
            continue
        if image.is_mask:
            if image.paint is not None:
                yield Use("pictures", image.visible, image.paint.space, image.paint)
        else:
            yield Use("pictures", image.visible, image.space, None)
    for run in content.texts:
        if (box := run.box) is not None:
            yield from (Use("type", box, paint.space, paint) for paint in paints_of(run))
    for path in content.paths:
        for paint in (path.fill, path.stroke):
            if paint is not None:
                yield Use("paths", path.box, paint.space, paint)
    for shading in content.shadings:
        yield Use("shadings", shading.box, shading.space, None)


def colorants(space: Space) -> tuple[str, ...]:
    """Return the plates named by a space or the spaces under it."""
    if space.colorants or space.base is None:
        return space.colorants
    return colorants(space.base)


def marks_with(use: Use, ink: str) -> bool:
    """Say whether a use puts down an ink; pictures and shadings do if their space names it."""
    if use.paint is not None and use.paint.inks:
        return any(name == ink and amount > 0 for name, amount in use.paint.inks)
    if use.paint is not None and use.space.colorants == (ink,):
        return any(use.paint.components)
    return ink in colorants(use.space)
