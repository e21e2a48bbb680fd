"""Many decimal numbers at once, each to the float64 nearest to it, as `float` has it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.geometry import FloatArray

Bytes = NDArray[np.uint8]
Integers = NDArray[np.uint64]
Indices = NDArray[np.intp]

EXACT = 2**53
"""Below this float64 holds every integer, as it does the power of ten that one is divided by; the
quotient is then rounded once (Clinger, 1990, the simple case)."""
LONG = np.finfo(np.longdouble).nmant == 63 and np.dtype(np.longdouble).itemsize == 16
"""The machine divides with 64 bits (the extended format of x86), so that longer integers are
exact as well. That their quotient is rounded twice does harm only where it was halfway."""
_HALFWAY, _BELOW = 0x400, 0x7FF
"""The bits of a quotient that float64 has no room for, and those of one halfway."""
WHOLE, FRACTION, DIGITS = 8, 16, 18
"""Most digits before the point, behind it, and in all that are read eight at a time."""
PADDING = 8 + FRACTION
_TEN = 10.0 ** np.arange(DIGITS + 1)
_TENS = 10 ** np.arange(DIGITS + 1, dtype=np.uint64)
_LONG_TEN = np.cumprod([1, *[10] * DIGITS], dtype=np.longdouble)
_KEPT = np.array([0, *(2**64 - 2 ** (64 - 8 * n) for n in range(1, 9))], np.uint64)
"""Masks that keep the last of eight bytes, by how many."""


def decimals(text: bytes) -> FloatArray:
    """Return the numbers in a text of signs, digits and points, parted by white space."""
    return with_ends(text)[0]


def ends_alone(text: bytes) -> tuple[FloatArray, Indices]:
    """Return no numbers, and where each of a text ends in it; raises ValueError where a word has
    signs or points that no number has."""
    words = _Words.of(text)
    return np.empty(0), words.end - PADDING


class _Words(NamedTuple):
    """Words in a text behind white space: its bytes, where each word begins and has its point, or
    ends without one, where it ends, and which are negative."""

    source: Bytes
    begin: Indices
    point: Indices
    end: Indices
    negative: NDArray[np.bool_]

    @classmethod
    def of(cls, text: bytes) -> _Words:
        source = np.frombuffer(b"%b%b " % (b" " * PADDING, text), np.uint8)
        # Where numbers begin, end and have their points is told by bytes that are no digits alone.
        marks = np.flatnonzero(source < ord("0"))
        kind = source[marks]
        is_gap, is_point = kind <= ord(" "), kind == ord(".")
        last = np.flatnonzero(is_gap[1:] & ((np.diff(marks) > 1) | is_point[:-1])) + 1
        end, pointed = marks[last], is_point[last - 1]
        before = last - 1 - pointed
        first = kind[before]
        signed = first > ord(" ")
        leads = is_gap[before - 1] & (marks[before - 1] == marks[before] - 1) & ~is_point[before]
        inner = len(kind) - np.count_nonzero(is_gap)
        if (signed & ~leads).any() or inner != signed.sum() + pointed.sum():
            raise ValueError("a word is no number")
        point = np.where(pointed, marks[last - 1], end)
        return cls(source, marks[before] + 1, point, end, first == ord("-"))


def with_ends(text: bytes) -> tuple[FloatArray, Indices]:
    """Return the numbers in a text, as `decimals`, and where each ends in it.

    Raises ValueError where a word is no number.
    """
    source, begin, point, end, negative = _Words.of(text)
    whole, fraction = point - begin, end - point - (point < end)
    odd = (whole > WHOLE) | (fraction > FRACTION) | (whole + fraction > DIGITS)
    odd |= whole + fraction < 1
    if odd.any():
        whole[odd] = fraction[odd] = 0
    integer = _digits(source, point, whole)
    places = int(fraction.max(initial=0))
    if places > 8:
        first = np.maximum(fraction - 8, 0)
        integer = integer * _TENS[first] + _digits(source, end - 8, first)
    if places:
        rest = np.minimum(fraction, 8)
        integer = integer * _TENS[rest] + _digits(source, end, rest)
    numbers = integer / _TEN[fraction]
    if places > 8 or (len(integer) and integer.max() > EXACT):
        long = np.flatnonzero(integer > EXACT)
        numbers[long], sure = _divided(integer[long], fraction[long])
        odd[long[~sure]] = True
    numbers[negative] *= -1.0
    if odd.any():
        words = text.split()
        for at in np.flatnonzero(odd).tolist():
            numbers[at] = float(words[at])
    return np.asarray(numbers, np.float64), end - PADDING


def _digits(source: Bytes, end: Indices, count: Indices) -> Integers:
    """Return the integers of the digits (at most 8) in front of places; each place has eight bytes
    in front of it."""
    eights = np.ndarray((len(source) - 7,), "<u8", source.data, strides=(1,))
    word = (eights[end - 8] & 0x0F0F0F0F0F0F0F0F & _KEPT[count]).astype(np.uint64, copy=False)
    # Neighbours become pairs, then fours, then all eight, the first in the lowest byte.
    for step, kept in ((1, 0x00FF00FF00FF00FF), (2, 0x0000FFFF0000FFFF), (4, 0xFFFFFFFF)):
        word = (word * (10**step) + (word >> (8 * step))) & kept
    return word


def _divided(integer: Integers, fraction: Indices) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return long integers divided by powers of ten, and which of the quotients are sure."""
    quotient = integer.astype(np.longdouble) / _LONG_TEN[fraction]
    if not LONG:
        return quotient.astype(np.float64), np.zeros(len(integer), np.bool_)
    sure = (quotient.view(np.uint64)[::2] & _BELOW) != _HALFWAY
    return quotient.astype(np.float64), sure
