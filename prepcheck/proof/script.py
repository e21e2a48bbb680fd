"""Writing direction, for names that are set on one line.

A reduction of the Unicode Bidirectional Algorithm (UAX #9) to what a line without explicit
controls needs: strong runs, numbers, neutrals, mirrored brackets.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from itertools import accumulate, groupby
from typing import NamedTuple

LEFT_MARK, RIGHT_MARK = "\u200e", "\u200f"
_UNMARKED = {ord(LEFT_MARK): None, ord(RIGHT_MARK): None}
_RIGHT = {"R", "AL"}
_NUMBERS = {"EN", "AN"}
_TIES = {"ES", "CS"}
_MIRRORED = str.maketrans("()[]{}<>«»‹›", ")(][}{><»«›‹")
_MOST_OPEN = 63


class OneWayText(NamedTuple):
    """Text that runs one way, in the order in which it is read."""

    text: str
    right_to_left: bool = False


def stretches(text: str) -> tuple[OneWayText, ...]:
    """Return a line as stretches in the order in which they stand from left to right.

    Direction marks (U+200E, U+200F) are obeyed and left out.
    """
    if not has_right_to_left(text):
        return (OneWayText(unmarked(text)),)
    kinds = [unicodedata.bidirectional(c) for c in text]
    levels = _levels(text, kinds, int(runs_right_to_left(text)))
    runs = [
        (level, "".join(text[i] for i in places))
        for level, places in groupby(range(len(text)), levels.__getitem__)
    ]
    for level in range(max(levels), 0, -1):  # rule L2
        start = 0
        while start < len(runs):
            end = start
            while end < len(runs) and runs[end][0] >= level:
                end += 1
            runs[start:end] = reversed(runs[start:end])
            start = end + 1
    return tuple(OneWayText(unmarked(run), level % 2 == 1) for level, run in runs if unmarked(run))


def mirrored(characters: Sequence[str]) -> str:
    """Return what runs right to left as its characters stand, brackets mirrored (rule L4)."""
    return "".join(reversed(characters)).translate(_MIRRORED)


def has_right_to_left(text: str) -> bool:
    """Say whether any character of a text runs right to left."""
    return any(unicodedata.bidirectional(c) in _RIGHT for c in text)


def unmarked(text: str) -> str:
    """Return text without direction marks."""
    return text.translate(_UNMARKED)


def runs_right_to_left(text: str) -> bool:
    """Say whether a text's first strong character runs right to left (UAX #9, P2 and P3)."""
    kinds = (unicodedata.bidirectional(c) for c in text)
    return next((kind in _RIGHT for kind in kinds if kind == "L" or kind in _RIGHT), False)


def directed(line: str, right_to_left: bool) -> str:
    """Return a line of a broken text, with a mark in front where it would be taken otherwise."""
    if runs_right_to_left(line) == right_to_left:
        return line
    return (RIGHT_MARK if right_to_left else LEFT_MARK) + line


def _levels(text: str, kinds: list[str], base: int) -> list[int]:
    """Return an embedding level a character (UAX #9, rules W2 to W7, N0 to N2, I1 and I2)."""
    strong = "R" if base else "L"
    solved: list[str] = []
    last = strong
    for i, kind in enumerate(kinds):
        before = solved[-1] if solved else strong
        after = kinds[i + 1] if i + 1 < len(kinds) else ""
        if kind in _RIGHT or kind == "L":
            last = "R" if kind in _RIGHT else "L"
            solved.append(last)
        elif kind == "NSM":
            solved.append(before)
        elif kind in _NUMBERS or (kind in _TIES and before == "N" and after in _NUMBERS):
            solved.append("L" if last == "L" else "N")
        else:
            solved.append("")
    _pair_brackets(text, solved, strong)
    following: list[str] = []
    after = strong
    for kind in reversed(solved):
        following.append(after)
        after = kind or after
    before = strong
    for i, after in enumerate(reversed(following)):
        if not solved[i]:
            left, right = ("R" if k == "N" else k for k in (before, after))
            solved[i] = left if left == right else strong
        before = solved[i]
    rise = {"L": (0, 2), "R": (1, 1), "N": (2, 2)}
    return [rise[kind][base] for kind in solved]


def _bracket_pairs(text: str) -> list[tuple[int, int]]:
    """Return where brackets open and close, in the order of their opening; none where more than
    63 are open at once (UAX #9, BD16)."""
    closing = dict(zip("([{", ")]}", strict=True))
    opened: list[tuple[int, str]] = []
    pairs = []
    for i, character in enumerate(text):
        if character in closing:
            if len(opened) == _MOST_OPEN:
                return []
            opened.append((i, closing[character]))
        elif any(character == wanted for _, wanted in opened):
            while opened[-1][1] != character:
                opened.pop()
            pairs.append((opened.pop()[0], i))
    return sorted(pairs)


def _pair_brackets(text: str, solved: list[str], strong: str) -> None:
    """Give each pair of brackets its direction by what stands in and before it (N0)."""
    kinds = ["R" if kind == "N" else kind for kind in solved]
    upto = {side: [0, *accumulate(kind == side for kind in kinds)] for side in "LR"}
    place, before = 0, strong
    for start, end in _bracket_pairs(text):
        while place < start:
            kind = solved[place]
            before = ("R" if kind == "N" else kind) or before
            place += 1
        inside = [side for side in "LR" if upto[side][end] > upto[side][start + 1]]
        if strong in inside or not inside:
            direction = strong if inside else ""
        else:
            direction = strong if before == strong else inside[0]
        solved[start] = solved[end] = direction
