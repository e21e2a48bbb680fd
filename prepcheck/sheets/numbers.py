"""Catalogue numbers with the suffix of a side or disc, and barcodes, on the parts of one record."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from prepcheck.sheets.lines import Line, Place
from prepcheck.sheets.piece import Piece
from prepcheck.sheets.texts import compact, slips

_NUMBER = re.compile(r"(?<![^\W_])([A-Z]{2,6})[ \-–.]?(\d{3,5})(?!\d)")
_NO_CATALOGUE = frozenset({"BWV", "KV", "HWV", "RV", "OP", "NO", "VOL", "TEL", "MP", "BPM", "KHZ"})
"""Letters before a number that is a work's, a volume's or a telephone's."""
_DIGITS = re.compile(r"(?<![\d.])\d(?:[ \-]{0,3}\d){11,12}(?![\d.])")
_SLIPS = 2


@dataclass(frozen=True, slots=True)
class Suffixed:
    """A label whose number ends in the suffix of another side or disc, as written, and the suffix
    due; '' where the other labels have one and this has none."""

    place: Place
    line: Line
    shown: str
    due: str


def odd_suffixes(places: Sequence[Place], number: str) -> list[Suffixed]:
    """Return labels whose suffix is not their own; nothing where the labels follow no scheme."""
    found: dict[str, tuple[Place, Line, str, str]] = {}
    plain: list[tuple[Place, Line, str]] = []
    for place in places:
        if place.piece.side is None:
            continue
        for line, shown, suffix in _suffixes(place, number):
            if suffix:
                found.setdefault(place.piece.name, (place, line, shown, suffix))
            else:
                plain.append((place, line, shown))
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


def _suffixes(place: Place, number: str) -> list[tuple[Line, str, str]]:
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

    place: Place
    line: Line
    shown: str


def barcodes_like(places: Sequence[Place], number: str) -> list[Number]:
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


def odd_numbers(places: Sequence[Place]) -> list[tuple[Number, list[Number]]]:
    """Return catalogue numbers of one part that are nearly one that several others carry, each
    with those others; a part that carries both is right."""
    carried: dict[str, list[Number]] = defaultdict(list)
    for place in places:
        for line in place.lines:
            for match in _NUMBER.finditer(line.text):
                if match[1] not in _NO_CATALOGUE:
                    carried[match[1] + match[2]].append(Number(place, line, match[0]))
    found = []
    for key, own in sorted(carried.items()):
        parts = {n.place.piece.name for n in own}
        for other, theirs in sorted(carried.items()):
            others = {n.place.piece.name for n in theirs}
            if (
                len(parts) == 1
                and len(others) > 1
                and not parts & others
                and slips(key, other) == 1
            ):
                found.append((own[0], theirs))
    return found
