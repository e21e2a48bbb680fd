"""What the checks of barcodes share: the symbols on a part, their places, and what is said where
there are none."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from prepcheck.findings import Mark
from prepcheck.geometry import Box, Point, Quad
from prepcheck.measure.barcode import Barcodes, Symbol
from prepcheck.said import NotApplicable
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.barcode import Barcode

ENOUGH = 0.95
"""Share of the height in proportion from which nothing is asked: common practice, no source."""
_FOOT = 10
_DIGITS_MM = 3.3
_BESIDE = (11, 7)
"""Modules that the digits take below the bars, and left and right of them: an EAN-13 is 25.93 mm
high with its digits and 22.85 mm without, its module 0.33 mm (GS1 General Specifications)."""


class OnSheet(NamedTuple):
    """A symbol and the sheet it is on."""

    sheet: Sheet
    symbol: Symbol


def rules_of(exam: Exam) -> Barcode:
    """Return the spec's limits of barcodes; only for parts that carry one."""
    rules = exam.spec.barcode
    if rules is None:
        raise LookupError("the spec has no limits of barcodes")
    return rules


def symbols_of(exam: Exam) -> list[OnSheet]:
    """Return every symbol within the trim whose bars can be read."""
    return [
        OnSheet(sheet, symbol)
        for sheet, found in zip(exam.sheets, exam.barcodes, strict=True)
        for symbol in found.symbols
        if _within(sheet, symbol.quad)
    ]


def barcodes_of(exam: Exam, sheet: Sheet) -> Barcodes:
    """Return the barcodes of one sheet."""
    return next(
        found for one, found in zip(exam.sheets, exam.barcodes, strict=True) if one is sheet
    )


def unread_of(exam: Exam) -> list[tuple[Sheet, Barcodes]]:
    """Return the sheets with bars that look like a barcode and cannot be read."""
    pairs = zip(exam.sheets, exam.barcodes, strict=True)
    return [(sheet, found) for sheet, found in pairs if found.unread]


def is_expected(exam: Exam) -> bool:
    """Say whether the part is what the shop scans, and shows its outside."""
    rules = exam.spec.barcode
    outside = exam.spec.outline_of(0)
    return (
        rules is not None
        and rules.expected
        and any(sheet.outline == outside for sheet in exam.sheets)
    )


def nothing_to_judge(check: str, exam: Exam) -> NotApplicable:
    """Return why there is no symbol to judge."""
    if exam.spec.barcode is None:
        return NotApplicable(check, "the spec has no limits of barcodes")
    if not exam.spec.barcode.expected:
        return NotApplicable(check, "the piece carries no barcode and needs none")
    return NotApplicable(check, "no barcode can be read on it")


def mark_of(symbol: Symbol, label: str, value: float | None = None) -> Mark:
    """Return the place of a symbol: its bars, and round them the digits at its foot."""
    mark = quad_mark(symbol.quad, label, value)
    return replace(mark, box=mark.box.union(_with_digits(symbol)))


def quad_mark(quad: Quad, label: str, value: float | None = None) -> Mark:
    """Return a block of bars as a place with its outline."""
    rounded = [Point(round(x, 3), round(y, 3)) for x, y in (*quad, quad.a)]
    box = Quad(*rounded[:4]).box
    return Mark(box, label, tuple(rounded), value, 0.0 if value is None else value)


def unread_mark(quad: Quad, label: str) -> Mark:
    """Return the place of bars that nobody could read, with room for digits at any side of them."""
    mark = quad_mark(quad, label)
    return replace(mark, box=mark.box.grown(_DIGITS_MM))


def _with_digits(symbol: Symbol) -> Box:
    """Return what holds the digits below the bars, of which some stand beside them."""
    a, b, _, d = symbol.quad.array()
    right, up = (b - a) / np.linalg.norm(b - a), (d - a) / np.linalg.norm(d - a)
    foot = symbol.x_mm * _FOOT * up
    left_end, right_end = (symbol.x_mm * modules * right for modules in _BESIDE)
    ends = np.round((a - left_end - foot, b + right_end - foot), 3)
    return Box.around(ends.tolist())


def named(symbol: Symbol) -> str:
    """Return a symbol by its symbology and number."""
    return f"{symbol.kind.value} {symbol.digits}"


def _within(sheet: Sheet, quad: Quad) -> bool:
    centre = np.mean(quad.array(), axis=0)
    return bool(sheet.outline.signed_distance(centre) < 0)
