"""The EAN and UPC symbologies: digits to modules, and widths of bars back to digits.

ISO/IEC 15420 (EAN/UPC bar code symbology), as the GS1 General Specifications, section 5.2, give
it; the number sets are from memory and tested against published vectors.
"""

from __future__ import annotations

from enum import StrEnum
from itertools import groupby
from typing import NamedTuple

import numpy as np

from prepcheck.geometry import FloatArray

_SET_A = (
    "0001101", "0011001", "0010011", "0111101", "0100011",
    "0110001", "0101111", "0111011", "0110111", "0001011",
)  # fmt: skip
_SET_C = tuple(code.translate(str.maketrans("01", "10")) for code in _SET_A)
_SET_B = tuple(code[::-1] for code in _SET_C)
_SETS = {"A": _SET_A, "B": _SET_B}
_EAN_13_SETS = (
    "AAAAAA", "AABABB", "AABBAB", "AABBBA", "ABAABB",
    "ABBAAB", "ABBBAA", "ABABAB", "ABABBA", "ABBABA",
)  # fmt: skip
"""Number sets of the left half, by the first digit."""
_UPC_E_SETS = (
    "BBBAAA", "BBABAA", "BBAABA", "BBAAAB", "BABBAA",
    "BAABBA", "BAAABB", "BABABA", "BABAAB", "BAABAB",
)  # fmt: skip
"""Number sets in number system 0, by the check digit; A and B change places in system 1."""
_EAN_5_SETS = (
    "BBAAA", "BABAA", "BAABA", "BAAAB", "ABBAA",
    "AABBA", "AAABB", "ABABA", "ABAAB", "AABAB",
)  # fmt: skip
"""Number sets of an add-on of five digits, by its check figure (from memory)."""
_EAN_2_SETS = ("AA", "AB", "BA", "BB")
"""Number sets of an add-on of two digits, by its number's rest when divided by four."""
ADD_ON_MODULES = {13: 20, 31: 47}
"""Width in modules of add-ons of two and five digits, by the number of their elements."""
_GUARD, _CENTRE, _UPC_E_END = "101", "01010", "010101"
DIGIT_MODULES = 7
MOST_MISFIT = 1.2
"""Modules by which the four elements of a digit may differ in all from the digit's own."""
MOST_CHECKED_MISFIT = 1.8
"""The same for a number whose check digit fits; two digits differ by 2 modules at least."""


class Kind(StrEnum):
    """A symbology, by its name in the trade."""

    EAN_13 = "EAN-13"
    UPC_A = "UPC-A"
    EAN_8 = "EAN-8"
    UPC_E = "UPC-E"

    @property
    def modules(self) -> int:
        """Width from the first bar to the last, in modules."""
        return {"EAN-8": 67, "UPC-E": 51}.get(self.value, 95)

    @property
    def elements(self) -> int:
        """Number of bars and spaces from the first bar to the last."""
        return {"EAN-8": 43, "UPC-E": 33}.get(self.value, 59)

    @property
    def longer_bars(self) -> frozenset[int]:
        """Bars, counted from 0, that are usually drawn longer than the others."""
        ends = {
            "EAN-13": (0, 1, 14, 15, 28, 29),
            "UPC-A": (0, 1, 2, 3, 14, 15, 26, 27, 28, 29),
            "EAN-8": (0, 1, 10, 11, 20, 21),
            "UPC-E": (0, 1, 14, 15, 16),
        }
        return frozenset(ends[self.value])


class Reading(NamedTuple):
    """What the widths of a symbol say: 13 digits, 12 of a UPC-A, or 8, the check digit last.

    `misfit` is the worst digit's difference from its pattern in modules. `backwards` says that
    the widths were given from the end.
    """

    kind: Kind
    digits: str
    misfit: float
    backwards: bool


def encode(kind: Kind, digits: str) -> str:
    """Return the modules from the first bar to the last, '1' for a bar.

    `digits` holds the check digit, right or wrong: 13 for EAN-13, 12 for UPC-A, 8 for EAN-8 and
    for UPC-E (number system first). Raises ValueError for another number of digits.
    """
    if len(digits) != {"EAN-13": 13, "UPC-A": 12}.get(kind.value, 8) or not digits.isdigit():
        raise ValueError(f"{digits!r} is no number for {kind.value}")
    if kind is Kind.UPC_E:
        sets = _UPC_E_SETS[int(digits[7])]
        if digits[0] == "1":
            sets = sets.translate(str.maketrans("AB", "BA"))
        elif digits[0] != "0":
            raise ValueError("UPC-E is for the number systems 0 and 1 only")
        return _GUARD + _set_in(digits[1:7], sets) + _UPC_E_END
    if kind is Kind.EAN_8:
        left, sets, right = digits[:4], "AAAA", digits[4:]
    else:
        full = digits.zfill(13)
        left, sets, right = full[1:7], _EAN_13_SETS[int(full[0])], full[7:]
    half = "".join(_SET_C[int(digit)] for digit in right)
    return _GUARD + _set_in(left, sets) + _CENTRE + half + _GUARD


def _add_on_sets(digits: str) -> str:
    if len(digits) == 2:
        return _EAN_2_SETS[int(digits) % 4]
    figures = [int(d) for d in digits]
    return _EAN_5_SETS[(3 * sum(figures[::2]) + 9 * sum(figures[1::2])) % 10]


def decode_add_on(widths: FloatArray) -> str | None:
    """Return the digits of an add-on from the widths (13 or 31,) of its bars and spaces.

    None where they are no add-on, or the number sets, its check, do not fit the digits.
    """
    if len(widths) not in ADD_ON_MODULES:
        return None
    even = widths * (ADD_ON_MODULES[len(widths)] / widths.sum())
    starts = np.arange(3, len(widths), 6)
    elements = np.concatenate([even[start : start + 4] for start in starts])
    values, misfit = _match(elements, _WIDTHS_AB)
    off = float(np.abs(even[:3] - (1, 1, 2)).max())
    if max(off, misfit) > MOST_CHECKED_MISFIT:
        return None
    digits = "".join(str(value % 10) for value in values)
    sets = "".join("AB"[value // 10] for value in values)
    return digits if sets == _add_on_sets(digits) else None


def _set_in(digits: str, sets: str) -> str:
    return "".join(_SETS[name][int(digit)] for name, digit in zip(sets, digits, strict=True))


def bar_tolerance_mm(x_mm: float) -> float:
    """Return by how much a bar may differ from its modules, either way, at an X-dimension in mm.

    ISO/IEC 15420 and the EAN and UPC manuals before it (from memory): X - 0.229 mm up to a module
    of 0.330 mm, 0.470 X - 0.055 mm above; 0.035 mm at 80 %, 0.101 mm at 100 %.
    """
    return max(min(x_mm - 0.229, 0.470 * x_mm - 0.055), 0.0)


def gtin13(kind: Kind, digits: str) -> str:
    """Return a number as 13 digits, so that one number in two symbologies compares equal.

    EAN-8 is filled up with zeros; the short form of UPC-E is written out.
    """
    if kind is not Kind.UPC_E:
        return digits.zfill(13)
    system, d, check = digits[0], digits[1:7], digits[7]
    match d[5]:
        case "0" | "1" | "2":
            body = f"{d[:2]}{d[5]}0000{d[2:5]}"
        case "3":
            body = f"{d[:3]}00000{d[3:5]}"
        case "4":
            body = f"{d[:4]}00000{d[4]}"
        case _:
            body = f"{d[:5]}0000{d[5]}"
    return f"0{system}{body}{check}"


def edges_of(modules: str) -> FloatArray:
    """Return where bars begin and end in turn, in modules from the first bar."""
    runs = [len(list(run)) for _, run in groupby(modules)]
    return np.concatenate(((0.0,), np.cumsum(runs))).astype(np.float64)


def _widths(codes: tuple[str, ...]) -> FloatArray:
    return np.array([np.diff(edges_of(code)) for code in codes])


_WIDTHS_AB = np.concatenate((_widths(_SET_A), _widths(_SET_B)))
_WIDTHS_C = _widths(_SET_C)


def decode(widths: FloatArray) -> Reading | None:
    """Return what the widths (n,) of bars and spaces, first bar to last bar, read as.

    Any unit; both directions are tried, and ink gain is evened out. The check digit is not
    verified where the widths are exact. None where they are no symbol.
    """
    best: Reading | None = None
    for backwards in (False, True):
        way = widths[::-1] if backwards else widths
        for kind in (Kind.EAN_13, Kind.EAN_8, Kind.UPC_E):
            if kind.elements != len(way):
                continue
            found = _decode(kind, way)
            if found is None or (best is not None and best.misfit <= found[1]):
                continue
            if found[1] <= MOST_MISFIT or check_fits(gtin13(kind, found[0])):
                best = Reading(kind, *found, backwards)
    if best is not None and best.kind is Kind.EAN_13 and best.digits[0] == "0":
        return best._replace(kind=Kind.UPC_A, digits=best.digits[1:])
    return best


def check_fits(digits: str) -> bool:
    """Say whether the last digit is the check digit of the others (GS1 General Specifications,
    section 7.9)."""
    return sum(int(d) * (3 if i % 2 else 1) for i, d in enumerate(reversed(digits))) % 10 == 0


def _decode(kind: Kind, widths: FloatArray) -> tuple[str, float] | None:
    even = _without_gain(kind, widths)
    if kind is Kind.UPC_E:
        left, right, guards = even[3:27], even[:0], [even[:3], even[27:]]
    else:
        half = 4 * (4 if kind is Kind.EAN_8 else 6)
        left, right = even[3 : 3 + half], even[8 + half : 8 + 2 * half]
        guards = [even[:3], even[3 + half : 8 + half], even[8 + 2 * half :]]
    misfit = max(float(np.abs(guard - 1).max()) for guard in guards)
    left_values, left_misfit = _match(left, _WIDTHS_AB)
    right_values, right_misfit = _match(right, _WIDTHS_C)
    misfit = max(misfit, left_misfit, right_misfit)
    if misfit > MOST_CHECKED_MISFIT:
        return None
    sets = "".join("AB"[value // 10] for value in left_values)
    digits = "".join(str(value % 10) for value in left_values)
    digits += "".join(str(value) for value in right_values)
    match kind:
        case Kind.EAN_8:
            return (digits, misfit) if sets == "AAAA" else None
        case Kind.UPC_E:
            swapped = sets.translate(str.maketrans("AB", "BA"))
            for system, name in (("0", sets), ("1", swapped)):
                if name in _UPC_E_SETS:
                    return f"{system}{digits}{_UPC_E_SETS.index(name)}", misfit
            return None
        case _:
            if sets not in _EAN_13_SETS:
                return None
            return f"{_EAN_13_SETS.index(sets)}{digits}", misfit


def _without_gain(kind: Kind, widths: FloatArray) -> FloatArray:
    """Return widths in modules, with what the bars of the guards gained given back."""
    module = float(widths.sum()) / kind.modules
    even = widths / module
    gain = (float(even[[0, 2]].mean()) - float(even[1])) / 2
    even[::2] -= gain
    even[1::2] += gain
    return even


def _match(elements: FloatArray, patterns: FloatArray) -> tuple[list[int], float]:
    """Return the nearest pattern of each four elements, and the greatest difference of all."""
    if not len(elements):
        return [], 0.0
    digits = elements.reshape(-1, 4)
    digits = digits * (DIGIT_MODULES / digits.sum(axis=1, keepdims=True))
    apart = np.abs(digits[:, None, :] - patterns).sum(axis=2)
    return apart.argmin(axis=1).tolist(), float(apart.min(axis=1).max())
