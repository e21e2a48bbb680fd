"""How checks word numbers, so that all of them read alike."""

from __future__ import annotations

import re
from collections.abc import Iterable

_A_FILE = re.compile(r"\S+\.\w")
"""The beginning of a sentence that is a file's name: a dot with more behind it."""


def mm(value: float) -> str:
    """Return a length in mm as shown, to a tenth: '1.2 mm'."""
    return f"{round(value, 1) + 0.0:.1f} mm"


def size(width: float, height: float) -> str:
    """Return a width and height in mm as shown, without the unit: '98.0 × 98.0'."""
    return f"{round(width, 1) + 0.0:.1f} × {round(height, 1) + 0.0:.1f}"


def count(number: int, one: str, many: str | None = None) -> str:
    """Return a number with its noun: '1 place', '3 places'."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def down_to(number: int, shown: str) -> str:
    """Return ', 4.0 pt' of one thing, ', down to 4.0 pt' of several: the least of a measure."""
    return f", {shown}" if number == 1 else f", down to {shown}"


def in_places(number: int, one: str = "place") -> str:
    """Return ' (3 places)' as it ends a sentence; nothing for one, which goes without saying."""
    return f" ({count(number, one)})" if number > 1 else ""


def rounded_as(value: float, unit: str, sentence: str) -> str | None:
    """Return a number, without its sign, as a sentence that names it rounds it; None where the
    sentence does not name it. One number is not to stand beside itself in two roundings."""
    for shown in re.findall(rf"(?<![\w.])(\d+(?:\.\d+)?) ?{re.escape(unit)}(?!\w)", sentence):
        places = len(shown.partition(".")[2])
        if abs(abs(value) - float(shown)) <= 0.5 * 10.0**-places + 1e-9:
            return str(shown)
    return None


def capital(sentence: str) -> str:
    """Return a sentence that begins with a capital; what is quoted stays as it is, and so does
    the name of a file."""
    if _A_FILE.match(sentence):
        return sentence
    return sentence[:1].upper() + sentence[1:]


def clauses(sentences: Iterable[str]) -> str:
    """Return clauses with lists of their own as one sentence: 'a is b and c; d is e'."""
    return "; ".join(sentences)


def listed(words: Iterable[str], last: str = "and") -> str:
    """Return words as a list in a sentence: 'a', 'a and b', 'a, b and c'."""
    items = list(words)
    return "".join(items) if len(items) < 2 else f"{', '.join(items[:-1])} {last} {items[-1]}"
