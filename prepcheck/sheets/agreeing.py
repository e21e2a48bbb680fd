"""Which texts of two places are one text in two spellings, and which are two texts."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence

from prepcheck.geometry import Box
from prepcheck.sheets.texts import LiveTexts, slips
from prepcheck.sheets.type_lines import LiveLine, OnPanel, segments, words_of

SHORTEST = 6
"""Letters from which a text is held against others; shorter ones differ by little by chance."""
_A_SLIP_IN = 6
"""Letters for which one may be wrong for two texts to be taken for one."""
_A_WORD_SLIP_IN = 4
_LONG = 5
"""Letters of a word in running text from which it is held against a known one."""
_ROMAN = re.compile(r"[ivx]+")


def counts(line: LiveLine) -> bool:
    """Say whether a text is long enough to be held against others."""
    return sum(c.isalpha() for c in line.key) >= SHORTEST


def nearly(one: LiveLine, other: LiveLine) -> bool:
    """Say whether two texts are one but for a slip of the hand in a word."""
    if one.key == other.key or abs(len(one.key) - len(other.key)) > 2:
        return False
    if _digits(one.key) != _digits(other.key):
        return False
    if _without_letters(one) == _without_letters(other):
        return False
    room = max(1, min(len(one.key), len(other.key)) // _A_SLIP_IN)
    if len(one.words) == len(other.words):
        differ = [(a, b) for a, b in zip(one.words, other.words, strict=True) if a != b]
        if not all(map(_word_slip, differ)) or all(max(map(len, pair)) <= 2 for pair in differ):
            return False
    return slips(one.key, other.key) <= room and not _capitals(one, other)


def slipped(text: str, reading: LiveTexts) -> bool:
    """Say whether all that a text says one after the other is there, some of it with a slip.

    The slip is then told as two spellings of one name (`order.agreement`), and only so.
    """
    parts = segments(text)
    wrong = [part for part in parts if not reading.has(part)]
    return (
        len(parts) > 1
        and bool(wrong)
        and all(
            (near := reading.nearest(part)) is not None and _is_slip(part, near) for part in wrong
        )
    )


def _is_slip(one: str, other: str) -> bool:
    """Say whether two texts are one but for a slip, and long enough to be held against each other:
    so that where one is known the other is told."""
    a, b = (LiveLine(text, words_of(text), Box(0.0, 0.0, 0.0, 0.0), 0) for text in (one, other))
    return counts(a) and counts(b) and nearly(a, b)


def _without_letters(line: LiveLine) -> tuple[str, ...]:
    """Return the words without single letters, such as a side before a title."""
    return tuple(word for word in line.words if len(word) > 1)


def _word_slip(pair: tuple[str, str]) -> bool:
    one, other = pair
    if _ROMAN.fullmatch(one) and _ROMAN.fullmatch(other):
        return False
    return slips(one, other) <= max(1, min(len(one), len(other)) // _A_WORD_SLIP_IN)


def _capitals(one: LiveLine, other: LiveLine) -> bool:
    """Say whether all that differs are accents, which capitals may go without."""
    return (one.text.isupper() or other.text.isupper()) and bare(one.key) == bare(other.key)


def bare(text: str) -> str:
    """Return text without accents."""
    apart = unicodedata.normalize("NFD", text)
    return "".join(c for c in apart if not unicodedata.combining(c))


def _digits(key: str) -> str:
    """Return the digits: numbers are judged by checks of their own."""
    return "".join(c for c in key if c.isdigit())


def alike(
    one: OnPanel, other: OnPanel, places: Sequence[OnPanel]
) -> Iterator[tuple[LiveLine, LiveLine]]:
    """Yield texts of two places that are nearly one.

    Not where a place says both, each in a line of its own: then they are two.
    """
    theirs: dict[int, list[LiveLine]] = {}
    for line in other.phrases:
        if counts(line):
            theirs.setdefault(len(line.key), []).append(line)
    joined = set(map(id, (*one.joined, *other.joined)))
    for a in one.phrases:
        if not counts(a):
            continue
        near = [
            b
            for length in range(len(a.key) - 2, len(a.key) + 3)
            for b in theirs.get(length, ())
            if _could(a.key, b.key) and nearly(a, b) and not {id(a), id(b)} <= joined
        ]
        for b in near:
            if not _two(a, b, one, other, places):
                yield a, b


def _could(one: str, other: str) -> bool:
    """Say whether two texts may be nearly one, cheaply: a slip leaves most letters in place."""
    third = max(len(one) // 4, 1)
    return (
        one[:third] == other[:third]
        or one[-third:] == other[-third:]
        or len(set(one) ^ set(other)) <= 4
    )


def _two(a: LiveLine, b: LiveLine, one: OnPanel, other: OnPanel, places: Sequence[OnPanel]) -> bool:
    if one.has(b.key, besides=a) or other.has(a.key, besides=b):
        return True
    if b.key in one.keys and a.key in other.keys:
        return True
    keys = (a.key, b.key)
    return any(
        all(key in place.keys for key in keys)
        for place in places
        if place is not one and place is not other
    )


def misspelt(
    known: Sequence[LiveLine], place: OnPanel, places: Sequence[OnPanel]
) -> Iterator[tuple[LiveLine, LiveLine]]:
    """Yield texts that are known from elsewhere with what is nearly one of them in a place."""
    for text in known:
        if not counts(text):
            continue
        near = [line for line in place.phrases if counts(line) and nearly(text, line)]
        near += [
            line for own in place.lines for line in _windows(own, len(text.words))
            if counts(line) and _could(text.key, line.key) and nearly(text, line)
            and _long_words_differ(text, line)
        ]  # fmt: skip
        for line in near:
            both = place.has(text.key, besides=line) or any(
                text.key in other.keys and line.key in other.keys for other in places
            )
            if not both:
                yield text, line


def _windows(line: LiveLine, count: int) -> Iterator[LiveLine]:
    """Yield every so many words of a longer line, as they stand there where that can be told."""
    places = _places(line)
    for at in range(len(line.words) - count + 1 if len(line.words) > count else 0):
        words = line.words[at : at + count]
        text = " ".join(words)
        if places:
            text = line.title[places[at][0] : places[at + count - 1][1]]
        yield LiveLine(text, words, line.box, line.page)


def _places(line: LiveLine) -> list[tuple[int, int]]:
    """Return where each word of a line begins and ends in its title, signs and joining words being
    none; nothing where that cannot be told."""
    found: list[tuple[int, int]] = []
    for match in re.finditer(r"[^\W_]+(?:['’][^\W_]+)*", line.title):
        if words_of(match[0]) == line.words[len(found) : len(found) + 1]:
            found.append(match.span())
    return found if len(found) == len(line.words) else []


def _long_words_differ(one: LiveLine, other: LiveLine) -> bool:
    """Say whether the words that differ are long; short ones are alike by chance."""
    pairs = zip(one.words, other.words, strict=False)
    return all(min(map(len, pair)) >= _LONG for pair in pairs if pair[0] != pair[1])


def two_titles(one: LiveLine, other: LiveLine) -> bool:
    """Say whether two tracks of one number have titles with little in common.

    A version, a guest or a part may be named in one place only.
    """
    a, b = bare(one.key), bare(other.key)
    if a == b or a in b or b in a or min(len(a), len(b)) < 3 or nearly(one, other):
        return False
    mine, theirs = set(one.words), set(other.words)
    return len(mine & theirs) < 0.5 * min(len(mine), len(theirs))
