"""Of many things of which many are alike, which differ: what is told of them is told once each."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray

Words = NDArray[np.uint64]
_SPREAD = 0x9E3779B97F4A7C15
"""Spreads whole numbers over all of 64 bits, as its multiples do (D. E. Knuth, The Art of Computer
Programming 3, 6.4)."""
_ROOM = 10, 18
"""The least and the greatest size of the table, in bits."""


class Alike(NamedTuple):
    """Some of n things, at least one of each kind: their places (k,), and which of those each of
    the n is like (n,)."""

    first: NDArray[np.intp]
    number: NDArray[np.intp]


def alike(*columns: Words) -> Alike:
    """Return which things differ, each given by whole numbers, a column (n,) each; now and then one
    is told more than once.

    Takes a tenth of the time of sorting them: of those that fall into one place of a table, the
    last stands for all that equal it.
    """
    count = len(columns[0])
    size = min(max(count.bit_length() + 1, _ROOM[0]), _ROOM[1])
    spread = columns[0] * np.uint64(_SPREAD)
    for column in columns[1:]:
        spread = (spread + column) * np.uint64(_SPREAD)
    place = (spread >> np.uint64(64 - size)).astype(np.intp)
    every = np.arange(count)
    table = np.empty(1 << size, np.intp)
    table[place] = every
    like = table[place]
    same = columns[0].take(like) == columns[0]
    for column in columns[1:]:
        same &= column.take(like) == column
    like = np.where(same, like, every)
    is_first = like == every
    return Alike(np.flatnonzero(is_first), (np.cumsum(is_first) - 1).take(like))


def alike_rows(rows: NDArray[np.float32]) -> Alike:
    """Return which rows (n, k) of numbers differ anywhere."""
    even = np.zeros((len(rows), rows.shape[1] + rows.shape[1] % 2), np.float32)
    even[:, : rows.shape[1]] = rows
    return alike(*np.ascontiguousarray(even.view(np.uint64).T))


def alike_colours(colours: NDArray[np.float32] | FloatArray) -> Alike:
    """Return which of many colours (n, 3) differ."""
    bits = np.ascontiguousarray(colours)
    if bits.dtype == np.float32:
        red, green, blue = bits.view(np.uint32).astype(np.uint64).T
        return alike(red << np.uint64(32) | green, blue)
    return alike(*bits.view(np.uint64).T)
