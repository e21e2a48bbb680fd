"""Many decimal numbers at once, each to the float64 nearest to it, as `float` has it."""

from __future__ import annotations

import numpy as np

from prepcheck.geometry import FloatArray

MOST_DIGITS = 15
"""So many digits make an integer that float64 holds exactly, as it does the power of ten that it
is divided by; the quotient is then rounded once (Clinger, 1990, the simple case)."""
_TEN = 10.0 ** np.arange(MOST_DIGITS + 1)


def decimals(text: bytes) -> FloatArray:
    """Return the numbers in a text of signs, digits and points, parted by white space."""
    source = np.frombuffer(text + b" ", np.uint8)
    gap = source <= ord(" ")
    ends = np.flatnonzero(gap[1:] & ~gap[:-1]) + 1
    is_digit = source - np.uint8(ord("0")) < 10
    seen = np.cumsum(is_digit, dtype=np.int32)
    upto = seen[ends]
    count = np.diff(upto, prepend=0)
    if not len(ends) or count.max() > MOST_DIGITS or count.min() < 1:
        return np.fromiter(map(float, text.split()), np.float64)
    digits = source[is_digit] - np.uint8(ord("0"))
    power = np.repeat(upto, count) - np.arange(1, len(digits) + 1, dtype=np.int32)
    numbers = np.add.reduceat(digits * _TEN[power], upto - count)
    point = np.flatnonzero(source == ord("."))
    number = np.searchsorted(ends, point)
    numbers[number] /= _TEN[upto[number] - seen[point]]
    negative = np.searchsorted(ends, np.flatnonzero(source == ord("-")))
    numbers[negative] *= -1.0
    return np.asarray(numbers, np.float64)
