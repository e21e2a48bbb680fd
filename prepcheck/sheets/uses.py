"""Every use of a colour space on a page, whatever kind of object it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import PROCESS_INKS, Content, ImageItem, Paint, Space, TypeStyle
from prepcheck.geometry import Box

KINDS = {
    "pictures": ("picture", "pictures"),
    "type": ("piece of type", "pieces of type"),
    "paths": ("drawn shape", "drawn shapes"),
    "shadings": ("blend", "blends"),
}
"""Kinds of object in the order findings name them, with the words for one and for several."""


_INKS_OF = {"cmyk": PROCESS_INKS, "grey": ("Black",)}
"""Inks of a picture or a blend whose space names none."""


class Use(NamedTuple):
    """Something painted: its kind (a key of KINDS), its place, its space, its paint if any."""

    kind: str
    box: Box
    space: Space
    paint: Paint | None


class UsedColour(NamedTuple):
    """What something is painted with: its space, and its paint if it has one."""

    space: Space
    paint: Paint | None = None


def uses_of(content: Content, wanted: Callable[[UsedColour], bool]) -> Iterator[Use]:
    """Yield every use of a wanted colour that is seen, in painting order within each kind.

    Of type and paths, which may be very many, each colour is asked for once.
    """
    for image in content.images:
        colour = _colour_of(image)
        if image.visible is not None and colour is not None and wanted(colour):
            yield Use("pictures", image.visible, *colour)
    runs = content.type_table
    own = [[*filter(wanted, _colours(style))] for style in runs.styles]
    some = np.array([bool(colours) for colours in own], np.bool_)[runs.style]
    for row in np.flatnonzero(some & runs.placed).tolist():
        box = runs.box(row)
        yield from (Use("type", box, *colour) for colour in own[runs.style[row]])
    traits = content.path_traits
    # A path without a fill or a stroke has the number -1 there, which is the last.
    fits = np.array([*(wanted(UsedColour(p.space, p)) for p in traits.paints), False])
    rows = np.flatnonzero(fits[traits.fill] | fits[traits.stroke])
    columns = (content.path_boxes[rows], traits.fill[rows], traits.stroke[rows])
    for corners, *numbers in zip(*(column.tolist() for column in columns), strict=True):
        for number in numbers:
            if fits[number]:
                paint = traits.paints[number]
                yield Use("paths", Box(*corners), paint.space, paint)
    for shading in content.shadings:
        if wanted(UsedColour(shading.space)):
            yield Use("shadings", shading.box, shading.space, None)


def colours_of(content: Content) -> Iterator[UsedColour]:
    """Yield every colour that something seen is painted with, those of type and paths once."""
    for image in content.images:
        colour = _colour_of(image)
        if image.visible is not None and colour is not None:
            yield colour
    runs = content.type_table
    for style in runs.taken(np.flatnonzero(runs.counts)).used_styles():
        yield from _colours(style)
    yield from (UsedColour(paint.space, paint) for paint in content.path_traits.paints)
    yield from (UsedColour(shading.space) for shading in content.shadings)


def _colours(style: TypeStyle) -> Iterator[UsedColour]:
    yield from (UsedColour(paint.space, paint) for paint in style.marks_with)


def _colour_of(image: ImageItem) -> UsedColour | None:
    if not image.is_mask:
        return UsedColour(image.space)
    return None if image.paint is None else UsedColour(image.paint.space, image.paint)


def colorants(space: Space) -> tuple[str, ...]:
    """Return the plates named by a space or the spaces under it."""
    if space.colorants or space.base is None:
        return space.colorants
    return colorants(space.base)


def marks_with(used: UsedColour | Use, ink: str) -> bool:
    """Say whether a colour puts down an ink; pictures and shadings do if their space names it, or
    is one of that process ink."""
    if used.paint is not None and used.paint.inks:
        return any(name == ink and amount > 0 for name, amount in used.paint.inks)
    if used.paint is not None and used.space.colorants == (ink,):
        return any(used.paint.components)
    named = colorants(used.space)
    return ink in (named or (_INKS_OF.get(used.space.kind, ()) if used.paint is None else ()))
