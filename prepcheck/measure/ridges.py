"""Thin lines as they are seen: ridges of the look along a place where a guide may lie.

What counts is the look, not lightness alone: a line stands out where one of red, green and blue
differs from the ground on both its sides, so that yellow on white and red on green count too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray
from prepcheck.measure.sampling import across_rays, medians, sample
from prepcheck.press.view import ByteArray, View

BoolArray = NDArray[np.bool_]

STANDS_OUT = 0.12 * 255
"""A line differs from the ground on both sides by this much of red, green or blue."""
FAINT = 0.04 * 255
"""A line whose place is known from the drawing is seen from this difference on."""
CLOSE_BY = 0.7
"""Share of the difference that must be reached close beside a line for it to be thin."""
WANDERS_MM = 0.1
"""How far a line is looked for beside its place."""
SOLID = 0.9
"""Share of a place along which an unbroken line is seen."""
DASHED = 0.22
"""Share along which dashes or dots are seen at least."""
STRETCHES = 12
"""Parts of a place that must all carry their share of the dashes."""
EVEN = 0.4
"""Share of the mean that each stretch carries at least."""
CONTROLS_MM = (0.6, 1.0, 1.4, 1.9, 2.6)
"""Where, on both sides, nothing alike may be seen: else it is a texture."""
ALIKE = 0.5
"""Share of what is seen at the place itself from which a line beside it is alike."""
MOST_ALIKE = 2
DARKER, LIGHTER = 0, 1
"""Whether a line is darker or lighter than the ground."""
BESIDE_MM = 2.0
"""How far beside dashes the ground may not come and go: else they are a row of a texture."""
_STEP_MM = 0.05


class LookPlanes:
    """The look of a view as three planes, each split off when it is first asked for."""

    def __init__(self, view: View) -> None:
        self.view = view

    @cached_property
    def channels(self) -> tuple[ByteArray, ...]:
        """Red, green and blue; one that is the same as red is that plane itself."""
        rgb = self.view.rgb
        red = np.ascontiguousarray(rgb[..., 0])
        rest = [np.ascontiguousarray(rgb[..., channel]) for channel in (1, 2)]
        return (red, *(red if np.array_equal(plane, red) else plane for plane in rest))

    @property
    def planes(self) -> tuple[ByteArray, ...]:
        """Red, green and blue; one plane where all three are the same."""
        red, *rest = self.channels
        return (red, *(plane for plane in rest if plane is not red))


Taken = Callable[[FloatArray], BoolArray]
"""Says at which offsets (mm) beside a line another guide is known to run."""


class Along:
    """How it looks across a line, walked from point to point.

    `points` and `normals` (n, 2); places beside the line are asked for by their offset in mm along
    the normal, at most `reach_mm` to either side.
    """

    def __init__(
        self, looks: LookPlanes, points: FloatArray, normals: FloatArray, reach_mm: float
    ) -> None:
        view = looks.view
        # A line is blurred by a pixel; the ground begins beyond.
        self.near = max(0.3, 0.16 + 1.1 * view.grid.pitch)
        self.far = self.near + 0.3
        out = reach_mm + self.far + WANDERS_MM + _STEP_MM
        steps = round(out / _STEP_MM)
        self.offsets = np.arange(-steps, steps + 1, dtype=np.float64) * _STEP_MM
        self._box = view.grid.box.grown(-view.grid.pitch)
        self._looks, self._points, self._normals = looks, points, normals
        self.inside = self._held(0.0)

    @cached_property
    def light(self) -> list[NDArray[np.float32]]:
        """Planes (m, n): a row an offset, a column a point inside the view."""
        own, grid = self.inside, self._looks.view.grid
        points, normals = self._points[own], self._normals[own]
        return across_rays(self._looks.planes, grid, points, normals, self.offsets)

    @cached_property
    def is_even(self) -> bool:
        """Whether it looks even about so many points that no line can be seen along the rest."""
        own = self._points[self.inside]
        even = self._looks.view.even(own, float(self.offsets[-1]))
        return not len(own) or float((~even).mean()) < DASHED

    @cached_property
    def is_calm(self) -> bool:
        """Whether it looks so alike across the line that none can be seen along enough of it."""
        if self.is_even:
            return True
        least = CLOSE_BY * STANDS_OUT - 0.1
        lively = [np.ptp(light, axis=0) >= least for light in self.light]
        return float(np.any(lively, axis=0).mean()) < DASHED

    def _held(self, offset: float) -> BoolArray:
        """Say which points have both their sides inside the view, moved by an offset."""
        room = self.far + WANDERS_MM
        held = np.ones(len(self._points), bool)
        for axis in (0, 1):
            for end in (offset - room, offset + room):
                place = self._points[:, axis] + end * self._normals[:, axis]
                held &= (place >= self._box[axis]) & (place <= self._box[axis + 2])
        return held

    def reaches(self, offset: float) -> bool:
        """Say whether the view reaches as far as an offset, nearly all along."""
        return bool(self._held(offset)[self.inside].mean() >= SOLID)

    def seen(self, offset: float) -> tuple[BoolArray, BoolArray]:
        """Say at each point inside the view whether a line darker, or lighter, than both its sides
        is seen at an offset."""
        return self.seen_as(offset, DARKER), self.seen_as(offset, LIGHTER)

    def seen_as(self, offset: float, kind: int, least: float = 0.0) -> BoolArray:
        """Say at each point inside the view whether a line that is DARKER, or LIGHTER, than both
        its sides is seen at an offset; nowhere, where fewer than a share `least` can show one."""
        found = np.zeros(int(self.inside.sum()), bool)
        if self.is_even:
            return found
        middle, near, ground = self._rows(offset)
        tried = []
        for light in self.light:
            if kind == DARKER:
                line = light[middle].min(axis=0)
                beside = np.minimum(*(light[rows].min(axis=0) for rows in near)) - line
            else:
                line = light[middle].max(axis=0)
                beside = line - np.maximum(*(light[rows].max(axis=0) for rows in near))
            # The ground is no less than what lies beside: few points need be asked for it.
            may = beside >= CLOSE_BY * STANDS_OUT - 0.1
            tried.append((light, line, beside, may))
            found |= may
        if not found.any() or found.mean() < least:
            return np.zeros_like(found)
        found[:] = False
        for light, line, beside, may in tried:
            at = np.flatnonzero(may)
            grounds = [medians(light[rows][:, at], 0) for rows in ground]
            if kind == DARKER:
                stands_out = np.minimum(*grounds) - line[at]
            else:
                stands_out = line[at] - np.maximum(*grounds)
            found[at] |= (stands_out >= STANDS_OUT) & (beside[at] >= CLOSE_BY * stands_out)
        return found

    def _rows(self, offset: float) -> tuple[slice, tuple[slice, slice], tuple[slice, slice]]:
        """Return the rows of a line at an offset, of what lies close by on its left and on its
        right, and of the ground there."""
        off = self.offsets - offset
        near, far, ground = self.near, self.far, self.far - 0.12
        first = off.searchsorted((-0.06, -far, near, -far, ground)).tolist()
        past = off.searchsorted((0.06, -near, far, -ground, far), "right").tolist()
        middle, *rest = map(slice, first, past)
        return middle, (rest[0], rest[1]), (rest[2], rest[3])

    def busy(self, offset: float, taken: Taken) -> float:
        """Return the share of the points beside which, on one side, the look comes and goes, as
        in a texture; not by the lines that `taken` knows."""
        found = []
        for way in (-1, 1):
            side = (self.offsets - offset) * way
            beside = (side >= self.far) & (side <= self.far + BESIDE_MM)
            beside[beside] = ~taken(self.offsets[beside])
            changes = [_comes_and_goes(light[beside]) for light in self.light]
            found.append(float(np.any(changes, axis=0).mean()) if len(changes[0]) else 0.0)
        return max(found)

    def best(self, offset: float) -> tuple[BoolArray, int]:
        """Return where a line is seen near an offset, at its best, and whether it is DARKER or
        LIGHTER than the ground.

        Each stretch is looked at where the line shows best in it: the sides of a frame that lies
        a hair to the right are off to different sides of their places.
        """
        if self.is_calm:
            return np.zeros(int(self.inside.sum()), bool), DARKER
        shifted = [self.seen(offset + shift) for shift in (0.0, -WANDERS_MM, WANDERS_MM)]
        tried = [
            (_best_in_parts(masks), kind) for kind, masks in enumerate(zip(*shifted, strict=True))
        ]
        return max(tried, key=lambda one: int(one[0].sum()))


def _best_in_parts(masks: Sequence[BoolArray]) -> BoolArray:
    """Return of each of STRETCHES stretches the mask that holds most there."""
    parts = zip(*(np.array_split(mask, STRETCHES) for mask in masks), strict=True)
    return np.concatenate([max(part, key=lambda own: int(own.sum())) for part in parts])


def _comes_and_goes(light: NDArray[np.float32]) -> BoolArray:
    """Say on which rays (columns) the look changes and changes back."""
    if len(light) < 2:
        return np.zeros(light.shape[1], bool)
    step = np.abs(light[-1] - light[0])
    return np.asarray(np.ptp(light, axis=0) - step >= STANDS_OUT)


def may_be_seen(along: Along, offset: float) -> bool:
    """Say whether a thin line is seen along an offset, whatever is seen beside it."""
    return bool(_share(along, along.best(offset)[0]))


def _share(along: Along, mask: BoolArray) -> float:
    """Return the share of a place along which a line is seen, 0 for too little or too uneven."""
    share = float(mask.mean()) if len(mask) >= STRETCHES else 0.0
    if share < DASHED or along.inside.mean() < 0.5:
        return 0.0
    return share if share >= SOLID or _is_even(mask, share) else 0.0


def line_seen(along: Along, offset: float, taken: Taken) -> str | None:
    """Return 'solid' or 'dashed' where a thin line is seen all along an offset, else None.

    `taken` says at which offsets another guide is known; where like lines are seen beside it at
    others, it is a texture.
    """
    mask, kind = along.best(offset)
    share = _share(along, mask)
    if not share:
        return None
    controls = offset + np.array([way * far for far in CONTROLS_MM for way in (-1, 1)])
    beside = [
        float(along.seen_as(control, kind).mean())
        for control in controls[~taken(controls)].tolist()
        if along.reaches(control)
    ]
    if share < SOLID and along.busy(offset, taken) >= ALIKE * share:
        return None
    alike = ALIKE if share >= SOLID else 0.8 * ALIKE
    if sum(own >= alike * share for own in beside) >= MOST_ALIKE:
        return None
    return "solid" if share >= SOLID else "dashed"


def _is_even(mask: BoolArray, share: float) -> bool:
    """Say whether dashes are spread along the whole of a place."""
    parts = np.array_split(mask, min(STRETCHES, len(mask) // 8))
    return len(parts) > 1 and all(float(part.mean()) >= EVEN * share for part in parts)


def seen_at(
    looks: LookPlanes, points: FloatArray, normals: FloatArray, half_mm: float
) -> BoolArray:
    """Say at each place of a line drawn there whether it is seen against its sides."""
    view = looks.view
    beside = half_mm + max(0.2, 1.5 * view.grid.pitch)
    found = np.zeros(len(points), bool)
    for plane in looks.planes:
        middle = sample(plane, view.grid, points)
        for way in (-beside, beside):
            found |= np.abs(sample(plane, view.grid, points + way * normals) - middle) >= FAINT
    box = view.grid.box.grown(-beside)
    x, y = points[:, 0], points[:, 1]
    return np.asarray(found & (x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1))
