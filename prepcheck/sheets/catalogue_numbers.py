"""Catalogue numbers with the suffix of a side or disc, and barcodes, on the parts of one record."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence

from prepcheck.frozen import dataclass
from prepcheck.order import gtin_check_digit
from prepcheck.sheets.piece import Piece
from prepcheck.sheets.texts import compact, slips
from prepcheck.sheets.type_lines import LiveLine, OnPanel

_NUMBER = re.compile(r"(?<![^\W_])([A-Z]{2,6}|[a-z]{2,6})[ \-–.]?(\d{3,5})(?!\d)")
"""Letters of one case and a number: on a spine that is set in small letters as well."""
_NO_CATALOGUE = frozenset({"BWV", "KV", "HWV", "RV", "OP", "NO", "VOL", "TEL", "MP", "BPM", "KHZ"})
"""Letters before a number that is a work's, a volume's or a telephone's."""
_DIGITS = re.compile(r"(?<![\d.])\d(?:[ \-]{0,3}\d){11,12}(?![\d.])")
_UNDER_BARS = re.compile(
    r"(?<!\d )(?<![\d.+/])(?:\d{13}|\d {1,3}\d{6} {1,3}\d{6}|\d {1,3}\d{5} {1,3}\d{5} {1,3}\d)"
    r"(?![\d./])(?! \d)"
)
"""The digits of an EAN-13 and a UPC-A as they stand under the bars (ISO/IEC 15420)."""
_SLIPS = 2
_LONG = 6
"""Letters of a line from which it tells something of the record."""
_ENOUGH_ALIKE = 2


@dataclass(frozen=True, slots=True)
class Suffixed:
    """A label whose number ends in the suffix of another side or disc, as written, and the suffix
    due; '' where the other labels have one and this has none."""

    place: OnPanel
    line: LiveLine
    shown: str
    due: str


def odd_suffixes(places: Sequence[OnPanel], number: str) -> list[Suffixed]:
    """Return labels whose suffix is not their own; nothing where the labels follow no scheme."""
    found: dict[str, tuple[OnPanel, LiveLine, str, str]] = {}
    plain: list[tuple[OnPanel, LiveLine, str]] = []
    for place in places:
        if place.piece.side is None:
            continue
        for line, shown, suffix in _suffixes(place, number):
            if suffix:
                found.setdefault(place.piece.name, (place, line, shown, suffix))
            else:
                plain.append((place, line, shown))
    letters = {name: suffix for name, (*_, suffix) in found.items()}
    sides = {name: _side_letter(place.piece) for name, (place, *_) in found.items()}
    if len(found) > 1 and sorted(letters.values()) == sorted(sides.values()):
        # Each has a side's letter, and some have each other's.
        return [
            Suffixed(place, line, shown, sides[name])
            for name, (place, line, shown, suffix) in found.items()
            if suffix != sides[name]
        ]
    for scheme in (_side_letter, _side_number, _disc_number):
        due = {name: scheme(place.piece) for name, (place, *_) in found.items()}
        right = sum(found[name][3] == due[name] for name in found)
        others = {suffix for _, _, _, suffix in found.values()}
        fits = scheme is not _side_letter or all(s.isalpha() for s in others)
        if right and 2 * right >= len(found) and fits and len(found) > 1:
            odd = [
                Suffixed(place, line, shown, due[name])
                for name, (place, line, shown, suffix) in found.items()
                if suffix != due[name]
            ]
            bare = [
                Suffixed(place, line, shown, scheme(place.piece))
                for place, line, shown in plain
                if place.piece.name not in found
            ]
            return odd + bare
    return []


def _suffixes(place: OnPanel, number: str) -> list[tuple[LiveLine, str, str]]:
    """Return lines with a number, as written there, and the letter or digit behind it."""
    signs = [re.escape(c) for c in compact(number)]
    pattern = re.compile(
        r"(?<![^\W_])" + r"[\W_]{0,2}".join(signs) + r"(?:\s?[-–/.]\s?([a-f]|[1-9])|\s?([a-f]))?"
        r"(?![^\W_])",
        re.IGNORECASE,
    )
    return [
        (line, match[0], (match[1] or match[2] or "").upper())
        for line in place.lines
        if (match := pattern.search(line.text)) is not None
    ]


def _side_letter(piece: Piece) -> str:
    return piece.side or ""


def _side_number(piece: Piece) -> str:
    return str("ABCDEFGHIJ".find(piece.side or " ") + 1)


def _disc_number(piece: Piece) -> str:
    return str("ABCDEFGHIJ".find(piece.side or " ") // 2 + 1)


@dataclass(frozen=True, slots=True)
class Number:
    """A number in type that is nearly another one, and where it stands."""

    place: OnPanel
    line: LiveLine
    shown: str


def barcodes_like(places: Sequence[OnPanel], number: str) -> list[Number]:
    """Return what looks like a misspelling of a barcode's number in type."""
    wanted = number.zfill(13)
    found = []
    for place in places:
        for line in place.lines:
            for match in _DIGITS.findall(line.text):
                digits = compact(match).zfill(13)
                if digits != wanted and slips(digits, wanted) <= _SLIPS:
                    found.append(Number(place, line, " ".join(match.split())))
    return found


def mistyped_barcodes(place: OnPanel) -> list[Number]:
    """Return barcode numbers in type whose last digit does not follow from the others.

    Only what is parted as the digits under bars are: a number of a telephone has as many.
    """
    found = []
    for line in place.lines:
        for match in _UNDER_BARS.findall(line.text):
            digits = compact(match)
            if int(digits[-1]) != gtin_check_digit(digits[:-1]):
                found.append(Number(place, line, " ".join(match.split())))
    return found


def numbers_on(places: Sequence[OnPanel]) -> dict[str, list[Number]]:
    """Return what looks like catalogue numbers, by letters and digits, with where they stand."""
    carried: dict[str, list[Number]] = defaultdict(list)
    for place in places:
        for line in place.lines:
            for match in _NUMBER.finditer(line.text):
                letters = match[1].upper()
                if letters not in _NO_CATALOGUE:
                    carried[letters + match[2]].append(Number(place, line, match[0]))
    return carried


def odd_numbers(places: Sequence[OnPanel]) -> list[tuple[Number, list[Number]]]:
    """Return catalogue numbers of one place that are nearly one that others carry, each with those
    others; a place that carries both is right. On labels and sleeves that say much alike a number
    that differs in its digits alone is nearly the other's too."""
    carried = numbers_on(places)
    found = []
    told: set[str] = set()
    for key, own in sorted(carried.items(), key=lambda item: (len(item[1]), item[0])):
        parts = {n.place.name for n in own}
        for other, theirs in sorted(carried.items()):
            others = {n.place.name for n in theirs}
            if key == other or len(parts) > 1 or parts & others or {key, other} <= told:
                continue
            apart = not {n.place.piece.name for n in own} & {n.place.piece.name for n in theirs}
            alike = _letters(key) == _letters(other) and apart and _carries(own)
            near = slips(key, other) == 1 or alike
            if near and (len(others) > 1 or _akin(own[0].place.piece, theirs, places)):
                found.append((own[0], theirs))
                told |= {key, other}
    return found


def _letters(key: str) -> str:
    return key.rstrip("0123456789")


def _carries(numbers: Sequence[Number]) -> bool:
    """Say whether numbers stand on a label or a sleeve, which carry their own, not another's."""
    pieces = [number.place.piece for number in numbers]
    return all(piece.is_label or piece.is_a("jacket", "gatefold") for piece in pieces)


def _akin(piece: Piece, others: Sequence[Number], places: Sequence[OnPanel]) -> bool:
    """Say whether two parts say enough alike to be of one record, such as artist and title."""
    names = {number.place.piece.name for number in others}
    mine, theirs = (
        {line.key for p in places if p.piece.name in own for line in p.lines
         if sum(c.isalpha() for c in line.key) >= _LONG}
        for own in ({piece.name}, names)
    )  # fmt: skip
    return len(mine & theirs) >= _ENOUGH_ALIKE


def common_number(places: Sequence[OnPanel]) -> str:
    """Return the catalogue number that most labels carry; '' where none is on two."""
    best, most = "", 1
    for key, own in sorted(numbers_on(places).items()):
        count = len({n.place.piece.name for n in own if n.place.piece.is_label})
        if count > most:
            best, most = key, count
    return best
