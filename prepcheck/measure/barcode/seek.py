"""Where barcodes lie on a sheet: those that decode, and patterns of bars that do not."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import zxingcpp
from numpy.typing import NDArray

from prepcheck.geometry import Affine, Box, FloatArray, Grid, Point, lengths_of
from prepcheck.measure.components import label
from prepcheck.measure.sampling import sample
from prepcheck.press.view import ByteArray, View

_FORMATS = zxingcpp.BarcodeFormats(
    [
        zxingcpp.BarcodeFormat.EAN13,
        zxingcpp.BarcodeFormat.EAN8,
        zxingcpp.BarcodeFormat.UPCA,
        zxingcpp.BarcodeFormat.UPCE,
    ]
)
ROUND_MM = 4.0
"""Half the side of the square in which the direction of bars is measured."""
BLOCK = 8
"""Places in a row and in a column looked at together for bars; every other pixel is one."""
LEAST_ALIKE = 0.8
"""How far the changes in a block must go one way: 1 for parallel bars, 0 for a photograph."""
LEAST_CHANGE = 6.0
"""Root mean square of the change from pixel to pixel, of 255, below which nothing is seen."""
LEAST_LENGTH_MM, LEAST_HEIGHT_MM = 9.0, 3.0
"""Smallest block of bars; the shortest symbol, a UPC-E at 80 %, is 13.5 mm long."""
MOST_LENGTH_MM = 90.0
"""Longest block of bars; an EAN-13 at 200 % is 62.7 mm long."""
MOST_PATTERNS = 12
LEAST_BARS = 15
LEAST_SAME = 0.6
"""Correlation of a line across the upper half with one across the lower half."""
SHIFT_PX = 4
"""How far the two may be shifted against each other: bars are found to a degree or two."""
_SAME_WAY = math.radians(12)


class BarcodeSighting(NamedTuple):
    """A place where a barcode seems to be.

    `turn` is the direction across the bars in degrees, anticlockwise from x; it may point from
    the end to the start. `digits` is None where nothing was decoded. With an add-on, the length
    may be that of both; of a pattern it may be up to `coarse_mm` too much.
    """

    centre: Point
    turn: float
    length_mm: float
    height_mm: float
    digits: str | None = None
    add_on: str | None = None
    coarse_mm: float = 0.0


def decoded(view: View) -> tuple[BarcodeSighting, ...]:
    """Return the symbols that decode on a sheet, those with a wrong check digit included."""
    found: list[BarcodeSighting] = []
    for plane in (view.lightness, 255 - view.ink):
        for code in _codes(plane):
            sighting = _placed(code, plane, view.grid)
            if sighting.length_mm < LEAST_LENGTH_MM / 2:
                continue
            same = next((i for i, one in enumerate(found) if _overlap(sighting, one)), None)
            if same is None:
                found.append(sighting)
            elif sighting.add_on:
                found[same] = found[same]._replace(add_on=sighting.add_on)
    return tuple(found)


def _codes(plane: ByteArray) -> list[zxingcpp.Barcode]:
    """Return what decodes: sound symbols, those with an add-on, those with a wrong check digit.

    Half an EAN-13 crossed aslant looks like a UPC-E with a wrong check digit, so those are left
    out.
    """
    codes = zxingcpp.read_barcodes(
        plane,
        formats=_FORMATS,
        ean_add_on_symbol=zxingcpp.EanAddOnSymbol.Read,
        return_errors=True,
    )
    wrong = [
        code
        for code in codes
        if code.error is not None
        and code.error.type is zxingcpp.ErrorType.Checksum
        and code.format is not zxingcpp.BarcodeFormat.UPCE
    ]
    sound = sorted((code for code in codes if code.valid), key=lambda one: _add_on(one) or "")
    return [*sound, *wrong]


def _add_on(code: zxingcpp.Barcode) -> str | None:
    extra = code.extra
    return str(extra["EanAddOn"]) if isinstance(extra, dict) and "EanAddOn" in extra else None


def contrast_plane(view: View) -> ByteArray:
    """Return a plane (rows, columns) in which bars of any ink are dark, yellow ones included."""
    plane = np.subtract(255, view.ink)
    plane >>= 1
    plane += view.lightness >> 1
    return plane


def _placed(code: zxingcpp.Barcode, plane: ByteArray, grid: Grid) -> BarcodeSighting:
    at = code.position
    corners = np.array(
        [(p.x, p.y) for p in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)],
        np.float64,
    )
    places = grid.places(corners + 0.5)
    centre = Point(*(float(v) for v in places.mean(axis=0)))
    along = places[1] - places[0]
    turn = math.degrees(math.atan2(along[1], along[0]))
    exact = bar_turn(plane, grid, centre)
    if exact is not None:
        # The direction of bars has no sign of its own.
        turn = exact + 180.0 * round((turn - exact) / 180.0)
    lean = math.cos(math.radians(turn) - math.atan2(along[1], along[0]))
    add_on = _add_on(code)
    return BarcodeSighting(
        centre,
        turn,
        float(np.hypot(*along)) * abs(lean),
        float(np.hypot(*(places[3] - places[0]))),
        code.text.removesuffix(add_on or ""),
        add_on,
    )


def _overlap(one: BarcodeSighting, other: BarcodeSighting) -> bool:
    apart = math.hypot(one.centre.x - other.centre.x, one.centre.y - other.centre.y)
    return apart < max(one.length_mm, other.length_mm) / 2


def bar_turn(plane: ByteArray, grid: Grid, centre: Point) -> float | None:
    """Return the direction across the bars round a place in degrees; None where there are none."""
    rows, columns = grid.window(Box(*centre, *centre).grown(ROUND_MM))
    patch = plane[rows, columns].astype(np.float64)
    if min(patch.shape) < 12:
        return None
    # Differences of neighbours turn with fine detail, so that is smoothed away first.
    for _ in range(3):
        patch = patch[:, :-2] + 2 * patch[:, 1:-1] + patch[:, 2:]
        patch = patch[:-2] + 2 * patch[1:-1] + patch[2:]
    across = patch[1:-1, 2:] - patch[1:-1, :-2]
    down = patch[2:, 1:-1] - patch[:-2, 1:-1]
    xx, yy, xy = float((across**2).sum()), float((down**2).sum()), float((across * down).sum())
    if math.hypot(xx - yy, 2 * xy) < LEAST_ALIKE * (xx + yy) or xx + yy <= 0:
        return None
    # Rows count downwards, y upwards.
    return -math.degrees(math.atan2(2 * xy, xx - yy) / 2)


def patterns(view: View) -> tuple[BarcodeSighting, ...]:
    """Return blocks of parallel bars on a sheet, the largest first."""
    plane = contrast_plane(view)
    pitch = 2 * BLOCK * view.grid.pitch
    xx, yy, xy = _changes(plane)
    energy = xx + yy
    alike = np.hypot(xx - yy, 2 * xy)
    barred = (alike > LEAST_ALIKE * energy) & (energy > BLOCK**2 * LEAST_CHANGE**2)
    turn = np.arctan2(2 * xy, xx - yy) / 2
    found = []
    for sector in range(4):
        # Blocks are taken together by direction; sectors overlap so that none is split.
        middle = sector * math.pi / 4
        apart = np.abs((turn - middle + math.pi / 2) % math.pi - math.pi / 2)
        mask = barred & (apart < math.pi / 8 + _SAME_WAY / 2)
        found += _blocks(mask, (xx, yy, xy), pitch, view.grid)
    found.sort(key=lambda one: -one.length_mm * one.height_mm)
    places = np.array([one.centre for one in found]).reshape(-1, 2)
    long = np.array([one.length_mm for one in found])
    free = np.ones(len(found), np.bool_)
    kept: list[BarcodeSighting] = []
    for at, sighting in enumerate(found):
        if free[at]:
            kept.append(sighting)
            free &= lengths_of(places - places[at]) >= np.maximum(long, long[at]) / 2
    exact = ((one, bar_turn(plane, view.grid, one.centre)) for one in kept[:MOST_PATTERNS])
    straight = (one if turn is None else one._replace(turn=turn) for one, turn in exact)
    return tuple(one for one in straight if _runs_through(plane, view.grid, one))


def _runs_through(plane: ByteArray, grid: Grid, sighting: BarcodeSighting) -> bool:
    """Say whether many bars run through from above the middle to below it, as bars do and a wall
    of bricks does not; spares rendering what is no barcode."""
    across = np.arange(-sighting.length_mm / 2, sighting.length_mm / 2, grid.pitch)
    to_frame = Affine.turn(sighting.turn).then(Affine.move(*sighting.centre))
    bands = []
    for middle in (-sighting.height_mm / 6, sighting.height_mm / 6):
        up = middle + np.linspace(-0.5, 0.5, 5)
        points = np.stack(np.meshgrid(across, up), axis=-1)
        lines = sample(plane, grid, to_frame.array(points)).astype(np.float64)
        bands.append(lines.mean(axis=0) - lines.mean())
    above, below = bands
    steps = np.count_nonzero(np.diff(np.sign(above)))
    inner = slice(SHIFT_PX, -SHIFT_PX)
    if steps < 2 * LEAST_BARS or not above[inner].std():
        return False
    shifted = [np.roll(below, by)[inner] for by in range(-SHIFT_PX, SHIFT_PX + 1)]
    return any(
        line.std() > 0 and np.corrcoef(above[inner], line)[0, 1] >= LEAST_SAME for line in shifted
    )


def _changes(plane: ByteArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return sums over blocks of the squared change across, down, and of the product."""
    rows, columns = (length // (2 * BLOCK) * 2 * BLOCK for length in plane.shape)
    a, b = (plane[0:rows:2, first:columns:2].astype(np.int16) for first in (0, 1))
    c, d = (plane[1:rows:2, first:columns:2].astype(np.int16) for first in (0, 1))
    rising, falling = (d - a) >> 1, (c - b) >> 1
    across, down = rising - falling, rising + falling

    def summed(one: NDArray[np.int16], other: NDArray[np.int16]) -> FloatArray:
        blocks = (rows // (2 * BLOCK), BLOCK, columns // (2 * BLOCK), BLOCK)
        product = (one.astype(np.float32) * other).reshape(blocks)
        total: FloatArray = product.sum(axis=1).sum(axis=2).astype(np.float64)
        return total

    return summed(across, across), summed(down, down), summed(across, down)


def _blocks(
    mask: NDArray[np.bool_],
    sums: tuple[FloatArray, FloatArray, FloatArray],
    pitch: float,
    grid: Grid,
) -> list[BarcodeSighting]:
    joined = np.ones(len(mask), bool)
    if not len(mask):
        return []
    joined[-1] = False
    rows, columns = np.nonzero(mask)
    labels = label(mask, joined)[rows, columns]
    order, counts = np.argsort(labels, kind="stable"), np.bincount(labels)
    large = counts >= LEAST_LENGTH_MM * LEAST_HEIGHT_MM / pitch**2 / 2
    order, counts = order[large[labels[order]]], counts[large]
    if not len(counts):
        return []
    row, column, first = rows[order], columns[order], np.cumsum(counts) - counts
    # Sums of whole numbers, and exact.
    xx, yy, xy = (np.add.reduceat(one[row, column], first) for one in sums)
    turns = [
        -math.atan2(*both) / 2 for both in zip((2 * xy).tolist(), (xx - yy).tolist(), strict=True)
    ]
    cosines, sines = (np.array([*map(of, turns)]) for of in (math.cos, math.sin))
    cosine, sine = np.repeat(cosines, counts), np.repeat(sines, counts)
    x = grid.left + (column + 0.5) * pitch
    y = grid.top - (row + 0.5) * pitch
    along, up = x * cosine + y * sine, y * cosine - x * sine
    (left, right), (low, high) = (
        [of.reduceat(places, first) for of in (np.minimum, np.maximum)] for places in (along, up)
    )
    lengths, heights = right - left + pitch, high - low + pitch
    fits = (lengths >= LEAST_LENGTH_MM) & (lengths <= MOST_LENGTH_MM) & (heights >= LEAST_HEIGHT_MM)
    found = []
    for n in np.flatnonzero(fits).tolist():
        s, t = float(right[n] + left[n]) / 2, float(high[n] + low[n]) / 2
        cos, sin = float(cosines[n]), float(sines[n])
        found.append(
            BarcodeSighting(
                Point(s * cos - t * sin, s * sin + t * cos), math.degrees(turns[n]),
                float(lengths[n]), float(heights[n]), coarse_mm=2 * pitch,
            )
        )  # fmt: skip
    return found
