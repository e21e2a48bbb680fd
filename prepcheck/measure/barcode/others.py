"""Bars that are no EAN and no UPC: another symbology, or an ornament."""

from __future__ import annotations

import numpy as np
import zxingcpp
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray

_LINEAR = zxingcpp.BarcodeFormats(
    [
        zxingcpp.BarcodeFormat.Code128,
        zxingcpp.BarcodeFormat.Code39,
        zxingcpp.BarcodeFormat.Code93,
        zxingcpp.BarcodeFormat.Codabar,
        zxingcpp.BarcodeFormat.ITF,
    ]
)
MOST_MODULES = 4
"""Widest element of EAN, UPC, Code 128 and Code 93 (ISO/IEC 15420, 15417, from memory)."""
OFF_MODULE, OFF_WIDTH = 0.2, 0.12
"""How far a width may lie from a whole number of modules, and from one of two widths."""
LEAST_FITTING = 0.85
"""Share of the elements that must fit; some at the ends may belong to what stands beside."""
LONGEST_PERIOD, MOST_REPEATED = 12, 0.85
"""Elements after which an ornament repeats, and the share that do so."""


def symbology_of(bar: NDArray[np.float32]) -> str:
    """Return the symbology that bars (rows, columns), 0 space to 1 bar, read as; '' for none."""
    plane = np.round(255 * np.clip(1.0 - bar, 0.0, 1.0)).astype(np.uint8)
    for one in (plane, 255 - plane):
        codes = zxingcpp.read_barcodes(one, formats=_LINEAR)
        named = [str(code.format).rpartition(".")[2] for code in codes if code.valid]
        if named:
            return named[0]
    return ""


def fits_a_symbology(widths: FloatArray) -> bool:
    """Say whether the widths of bars and spaces in turn (n,), whatever the ink gain, are those
    of some symbology: whole modules, or narrow and wide ones, in no even rhythm."""
    return _in_modules(widths) or _in_two_widths(widths)


def _in_modules(widths: FloatArray) -> bool:
    # From one edge to the next of its kind ink gain makes no difference (ISO/IEC 15420).
    pairs = widths[:-1] + widths[1:]
    narrow = float(np.quantile(pairs, 0.05))
    modules = narrow / np.linspace(1.5, 4.5, 241)
    counts = pairs / modules[:, None]
    near = np.abs(counts - np.round(counts)) <= OFF_MODULE
    fitting = (near & (counts <= 2 * MOST_MODULES + OFF_MODULE)).mean(axis=1)
    # A finer module fits anything: its widest pair would be of more modules than there are.
    sound = np.flatnonzero(fitting >= LEAST_FITTING)
    for at in sound.tolist():
        whole = np.round(counts[at])
        alone = np.abs(widths / modules[at] - np.round(widths / modules[at])).mean()
        if alone <= OFF_MODULE and not _repeats(whole):
            return True
    return False


def _in_two_widths(widths: FloatArray) -> bool:
    for own in (widths[::2], widths[1::2]):
        middle = (float(own.min()) + float(own.max())) / 2
        low, high = own[own <= middle], own[own > middle]
        if len(low) < 3 or len(high) < 3:
            return False
        near = [np.abs(part / np.median(part) - 1) <= OFF_WIDTH for part in (low, high)]
        if np.concatenate(near).mean() < LEAST_FITTING:
            return False
        if not 1.7 <= float(np.median(high) / np.median(low)) <= 3.5:
            return False
    kinds = (widths > np.median(widths)).astype(np.float64)
    return not _repeats(kinds)


def _repeats(kinds: FloatArray) -> bool:
    """Say whether a row of kinds of element (n,) repeats itself evenly."""
    return any(
        float((kinds[period:] == kinds[:-period]).mean()) >= MOST_REPEATED
        for period in range(1, min(LONGEST_PERIOD, len(kinds) - 1) + 1)
    )
