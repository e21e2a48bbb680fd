"""Reads and measures every barcode on a sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine, Box, FloatArray, Quad
from prepcheck.measure.barcode.add_on import add_on_in, beside
from prepcheck.measure.barcode.fit import Fit, blur_at, fitted
from prepcheck.measure.barcode.others import fits_a_symbology, symbology_of
from prepcheck.measure.barcode.quiet import Light, free_room, reflectance
from prepcheck.measure.barcode.seek import LEAST_BARS, BarcodeSighting, decoded, patterns
from prepcheck.measure.barcode.symbol import Symbol
from prepcheck.measure.barcode.symbology import Kind, Reading, decode
from prepcheck.measure.barcode.upright import (
    QUIET_LOOK,
    Separate,
    Upright,
    turned_upright,
)
from prepcheck.press.show.condition import PrintCondition
from prepcheck.press.view import View

INK_LEAST = 0.02
MOST_LEAN_PX = 0.3
"""How far bars may lean over their height before the symbol is turned once more."""
ASTRAY = 0.15
"""How far outside a symbol, of its width or height, the middle of its own pattern may lie."""
MOST_ASTRAY = 1.0
"""Modules that an edge may lie off its place: stripes in a rhythm may read as digits one by one,
and a check digit fits by chance one time in ten, but such digits are of different widths."""
ADD_ON_REACH = 12 + 47 + 5
"""Modules from a symbol's last bar to the end of an add-on's quiet zone."""
LEAST_SAME = 0.7
MOST_LEAN = 0.03
"""How far patterns may lean for each mm of height: their direction is known to a degree or two."""
LEAST_VARIETY = 1.5
EXACT_PX = 3.0
"""Narrowest bars, in pixels, from which widths are exact enough to fit a symbology or not."""


class BarPattern(NamedTuple):
    """Something that looks like a barcode and cannot be read as an EAN or a UPC."""

    quad: Quad
    bars: int
    other: str = ""
    """The symbology that it is, where another one reads."""


@dataclass(frozen=True, slots=True)
class Barcodes:
    """What was found on a sheet."""

    symbols: tuple[Symbol, ...] = ()
    unread: tuple[BarPattern, ...] = ()


def barcodes_on(
    view: View,
    separate: Separate,
    to_piece: Affine,
    condition: PrintCondition,
    drawn: Sequence[BarcodeSighting] = (),
    *,
    search: bool = True,
) -> Barcodes:
    """Return the barcodes of a sheet, measured on plates that are made for each.

    `view` is in the piece's frame; `separate` makes plates from the page's frame, and `to_piece`
    leads from that to the piece's. `drawn` are blocks of bars that the page draws one by one. With
    `search`, patterns of bars that hold no symbol decoded so far are looked at too.

    Beside a symbol that reads, bars that nothing reads are an ornament.
    """
    symbols: list[Symbol] = []
    unread: list[BarPattern] = []
    for sighting in decoded(view):
        symbol = _measured(sighting, separate, to_piece, condition)
        if symbol is not None:
            symbols.append(symbol)
    for sighting in (*drawn, *(patterns(view) if search else ())):
        if any(_belongs(sighting, symbol) for symbol in symbols):
            continue
        if any(_covers(pattern, sighting) for pattern in unread):
            continue
        upright = turned_upright(sighting, separate, to_piece)
        symbol = _measured(sighting, separate, to_piece, condition, upright)
        if symbol is not None:
            symbols.append(symbol)
        elif search and (bars := _bars_alike(upright, sighting)) is not None:
            unread.append(BarPattern(_quad(upright, sighting), bars, symbology_of(upright.bar)))
    if symbols:
        unread = [pattern for pattern in unread if pattern.other]
    return Barcodes(tuple(symbols), tuple(unread))


def _covers(pattern: BarPattern, sighting: BarcodeSighting) -> bool:
    """Say whether a sighting is of a pattern that was looked at."""
    box = pattern.quad.box
    x, y = sighting.centre
    return box.x0 <= x <= box.x1 and box.y0 <= y <= box.y1


def _belongs(sighting: BarcodeSighting, symbol: Symbol) -> bool:
    """Say whether a pattern of bars is part of a symbol, or of the add-on beside it."""
    (ax, ay), (bx, by), _, (dx, dy) = symbol.quad
    to_symbol = Affine(bx - ax, by - ay, dx - ax, dy - ay, ax, ay).inverse()
    along, up = to_symbol.at(*sighting.centre)
    beyond = ADD_ON_REACH / symbol.kind.modules if symbol.add_on else ASTRAY
    return -ASTRAY <= along <= 1 + beyond and -ASTRAY <= up <= 1 + ASTRAY


class _Read(NamedTuple):
    upright: Upright
    reading: Reading
    edges: FloatArray


def _measured(
    sighting: BarcodeSighting,
    separate: Separate,
    to_piece: Affine,
    condition: PrintCondition,
    upright: Upright | None = None,
) -> Symbol | None:
    upright = upright or turned_upright(sighting, separate, to_piece)
    read = _read(upright, sighting)
    if read is None:
        return None
    lean = _lean(read)
    height = sighting.length_mm * 0.7
    if read.reading.backwards or abs(lean) * height > MOST_LEAN_PX * upright.grid.pitch:
        turn = sighting.turn - math.degrees(math.atan(lean))
        turn += 180.0 if read.reading.backwards else 0.0
        again = sighting._replace(turn=turn)
        turned = turned_upright(again, separate, to_piece)
        better = _read(turned, again)
        if better is not None and not better.reading.backwards:
            read = better
    fit = fitted(read.upright, read.reading, read.edges)
    if fit.distortion_mm > MOST_ASTRAY * fit.x_mm:
        return None
    symbol, light = _symbol(read.upright, read.reading, fit, condition)
    if symbol.kind is Kind.EAN_8 or symbol.quiet_mm[1] >= QUIET_LOOK * fit.x_mm:
        return symbol
    (ax, ay), (bx, by), *_ = symbol.quad
    turn = math.degrees(math.atan2(by - ay, bx - ax))
    place = beside(read.upright, fit.ends, fit.heights, fit.x_mm, turn)
    around = turned_upright(place, separate, to_piece)
    return replace(symbol, add_on=add_on_in(around, fit.x_mm, light))


def _read(upright: Upright, sighting: BarcodeSighting) -> _Read | None:
    """Return the symbol that the edges in the middle read as, dark on light or light on dark."""
    best: _Read | None = None
    least = (0.5 if sighting.add_on else 0.8) * (sighting.length_mm - sighting.coarse_mm)
    for way in (upright, upright.negative()):
        edges, begins = way.edges()
        for kind in (Kind.EAN_13, Kind.EAN_8, Kind.UPC_E):
            count = kind.elements + 1
            for first in range(0 if begins else 1, len(edges) - count + 1, 2):
                chosen = edges[first : first + count]
                if not least < chosen[-1] - chosen[0] < 1.25 * sighting.length_mm:
                    continue
                if _runs_on(edges, first, count, kind):
                    continue
                reading = decode(np.diff(chosen))
                if reading is not None and (best is None or reading.misfit < best.reading.misfit):
                    best = _Read(way, reading, chosen)
            # A long symbol is none by chance, but may hold what looks like a short one.
            if best is not None:
                break
        if best is not None:
            break
    return best


def _runs_on(edges: FloatArray, first: int, count: int, kind: Kind) -> bool:
    """Say whether bars follow within two modules, so that the symbol would be part of another."""
    module = (edges[first + count - 1] - edges[first]) / kind.modules
    before = edges[first] - edges[first - 1] if first else np.inf
    last = first + count - 1
    after = edges[last + 1] - edges[last] if last + 1 < len(edges) else np.inf
    return bool(kind is not Kind.EAN_13 and min(before, after) < 2 * module)


def _lean(read: _Read) -> float:
    """Return how far the bars lean to the right for each mm upwards."""
    places = []
    for y in (-1.5, 1.5):
        edges, _ = read.upright.edges(y, 0.5)
        apart = np.abs(edges[:, None] - read.edges[None, :])
        if not len(edges):
            return 0.0
        near = apart.argmin(axis=0)
        places.append(edges[near] - read.edges)
    return float(np.median(places[1] - places[0])) / 3.0


def _symbol(
    upright: Upright, reading: Reading, fit: Fit, condition: PrintCondition
) -> tuple[Symbol, Light]:
    """Return a symbol, so far without its add-on, and how it reflects red light."""
    low, high = fit.heights
    first, last = fit.ends
    amounts = _elements(upright, fit)
    red = reflectance(upright, condition, amounts)
    light = Light(condition, float(np.median(red[2:-1:2])), float(np.median(red[1::2])))
    bars, spaces = amounts[1::2].mean(axis=0), amounts[2:-1:2].mean(axis=0)
    names = upright.plates.inks
    quad = upright.to_piece.quad(Box(first, low, last, high))
    symbol = Symbol(
        kind=reading.kind,
        digits=reading.digits,
        add_on=None,
        quad=quad,
        x_mm=fit.x_mm,
        height_mm=high - low,
        quiet_mm=_quiet(upright, fit, light),
        gain_mm=fit.gain_mm,
        distortion_mm=fit.distortion_mm,
        blur_mm=fit.blur_mm,
        reflectance=red,
        bar_inks=_inks(names, bars),
        space_inks=_inks(names, spaces),
        not_in_inks=bool(amounts[:, len(names) :].max(initial=0.0) > INK_LEAST),
    )
    return symbol, light


def _inks(names: tuple[str, ...], amounts: NDArray[np.float32]) -> dict[str, float]:
    pairs = zip(names, amounts.tolist(), strict=False)
    return {name: round(amount, 3) for name, amount in pairs if amount >= INK_LEAST}


def _elements(upright: Upright, fit: Fit) -> NDArray[np.float32]:
    """Return what the middle of each bar and space carries (elements + 2, channels), the quiet
    zones at both ends included."""
    low, high = fit.heights
    rows = upright.band((low + high) / 2, (high - low) / 4)
    line = upright.amounts[rows].mean(axis=0)
    x, _ = upright.grid.centres()
    edges = np.concatenate(
        ([fit.edges[0] - 2 * fit.x_mm], fit.edges, [fit.edges[-1] + 2 * fit.x_mm])
    )
    found = []
    for start, end in pairwise(edges.tolist()):
        inset = min((end - start) * 0.3, fit.x_mm * 0.45)
        inside = (x >= start + inset) & (x <= end - inset)
        if not inside.any():
            inside[np.abs(x - (start + end) / 2).argmin()] = True
        found.append(line[inside].mean(axis=0))
    return np.array(found, np.float32)


def _quiet(upright: Upright, fit: Fit, light: Light) -> tuple[float, float]:
    """Return the free room in mm left and right of the bars."""
    x, _ = upright.grid.centres()
    first, last = fit.ends
    left, right = (
        free_room(upright, beyond, fit.heights, fit.x_mm, light) for beyond in (first - x, x - last)
    )
    return left, right


def _quad(upright: Upright, sighting: BarcodeSighting) -> Quad:
    return upright.to_piece.quad(Box.centred(sighting.length_mm, sighting.height_mm))


def _bars_alike(upright: Upright, sighting: BarcodeSighting) -> int | None:
    """Return the number of bars when a pattern looks like a barcode: many bars of several widths,
    the same above as below."""
    reach = sighting.height_mm / 4
    above, below = (upright.bar[upright.band(y, reach / 2)].mean(axis=0) for y in (reach, -reach))
    _, columns = upright.grid.window(Box.centred(sighting.length_mm, 0.0))
    same = _best_fit(above[columns], below[columns], MOST_LEAN * 2 * reach / upright.grid.pitch)
    edges, _ = upright.edges()
    half = sighting.length_mm / 2 + 1.0
    edges = edges[np.abs(edges) <= half]
    widths = np.diff(edges)
    if same < LEAST_SAME or len(widths) < 2 * LEAST_BARS:
        return None
    narrow, wide = np.quantile(widths, (0.1, 0.9))
    if wide < LEAST_VARIETY * narrow:
        return None
    exact = narrow >= EXACT_PX * upright.grid.pitch and blur_at(upright, edges) <= narrow / 2
    if exact and not fits_a_symbology(widths):
        return None
    return len(edges) // 2


def _best_fit(one: NDArray[np.float32], other: NDArray[np.float32], most: float) -> float:
    """Return the correlation of two lines of pixels where one is moved by up to `most` so that
    they fit best; 0 where nothing varies."""
    reach = math.ceil(most)
    inner = slice(reach, len(one) - reach)
    if len(one) <= 2 * reach + 2:
        return 0.0
    shifted = (np.roll(other, by)[inner] for by in range(-reach, reach + 1))
    return max(
        float(np.corrcoef(one[inner], line)[0, 1]) if line.std() > 1e-3 < one[inner].std() else 0.0
        for line in shifted
    )
