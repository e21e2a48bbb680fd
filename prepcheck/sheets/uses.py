"""Every use of a colour space on a page, whatever kind of object it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import PROCESS_INKS, Content, ImageItem, Paint, Space, TypeStyle
from prepcheck.geometry import Box, FloatArray

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
    yield from _pictures_and_type(content, wanted)
    rows, numbers = _painted_paths(content, wanted)
    paints = content.path_traits.paints
    boxes = content.path_boxes[rows].tolist()
    for corners, number in zip(boxes, numbers.tolist(), strict=True):
        yield Use("paths", Box(*corners), paints[number].space, paints[number])
    yield from _shadings(content, wanted)


def _pictures_and_type(content: Content, wanted: Callable[[UsedColour], bool]) -> Iterator[Use]:
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


def _shadings(content: Content, wanted: Callable[[UsedColour], bool]) -> Iterator[Use]:
    for shading in content.shadings:
        if wanted(UsedColour(shading.space)):
            yield Use("shadings", shading.box, shading.space, None)


def _painted_paths(
    content: Content, wanted: Callable[[UsedColour], bool]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the rows of paths in a wanted colour, in order, once for each of their paints that is
    one, and the number of that paint."""
    traits = content.path_traits
    # A path without a fill or a stroke has the number -1 there, which is the last.
    fits = np.array([*(wanted(UsedColour(p.space, p)) for p in traits.paints), False])
    rows = np.repeat(np.flatnonzero(fits[traits.fill] | fits[traits.stroke]), 2)
    numbers = np.where(np.arange(len(rows)) % 2, traits.stroke[rows], traits.fill[rows])
    found = fits[numbers]
    return rows[found], numbers[found]


class InkPlaces(NamedTuple):
    """Where inks are put down: boxes (n, 4), and the number of the ink of each (n,)."""

    boxes: FloatArray
    inks: NDArray[np.intp]


def places_of_inks(content: Content, inks: Sequence[str]) -> InkPlaces:
    """Return where inks are put down, in the order of `uses_of`, and of one use in their own."""

    def any_of(colour: UsedColour) -> bool:
        return any(marks_with(colour, ink) for ink in inks)

    def of_uses(uses: Iterator[Use]) -> InkPlaces:
        found = [(u.box, n) for u in uses for n, ink in enumerate(inks) if marks_with(u, ink)]
        boxes = np.array([box for box, _ in found], np.float64).reshape(-1, 4)
        return InkPlaces(boxes, np.array([number for _, number in found], np.intp))

    rows, numbers = _painted_paths(content, any_of)
    marked = np.array(
        [[marks_with(UsedColour(p.space, p), i) for i in inks] for p in content.path_traits.paints],
        np.bool_,
    ).reshape(len(content.path_traits.paints), len(inks))
    use, own = np.nonzero(marked[numbers])
    parts = (
        of_uses(_pictures_and_type(content, any_of)),
        InkPlaces(content.path_boxes[rows[use]], own),
        of_uses(_shadings(content, any_of)),
    )
    return InkPlaces(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


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
