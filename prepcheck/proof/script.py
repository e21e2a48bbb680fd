"""Writing direction and Arabic joining, for names that are set on one line.

A reduction of the Unicode Bidirectional Algorithm (UAX #9) to what a line without explicit
controls needs: strong runs, numbers, neutrals, mirrored brackets. Joining follows the Unicode
Standard, 9.2, through the presentation forms that the character database decomposes.
"""

from __future__ import annotations

import re
import sys
import unicodedata
from functools import cache
from itertools import accumulate

LEFT_MARK, RIGHT_MARK = "\u200e", "\u200f"
_UNMARKED = {ord(LEFT_MARK): None, ord(RIGHT_MARK): None}
_RIGHT = {"R", "AL"}
_NUMBERS = {"EN", "AN"}
_TIES = {"ES", "CS"}
_MIRRORED = str.maketrans("()[]{}<>«»‹›", ")(][}{><»«›‹")
_LAM = "\u0644"
_ALEFS = "\u0622\u0623\u0625\u0627"
_SIGN_BEFORE = re.compile(
    "([\u0915-\u0939\u0958-\u095f\u0995-\u09b9\u09dc-\u09df\u0b95-\u0bb9][\u093c\u09bc]?)"
    "([\u093f\u09bf\u09c7\u09c8\u09cb\u09cc\u0bc6-\u0bc8\u0bca-\u0bcc])"
)
"""A letter of Devanagari, Bengali or Tamil with a vowel sign that stands before it, or on both
sides of it (Unicode Standard, 12.1, 12.2 and 12.6)."""
_MOST_OPEN = 63
_ARABIC = ("\u0600", "\u06ff")


def visual(text: str) -> str:
    """Return a line of text in the order in which its characters stand from left to right.

    Direction marks (U+200E, U+200F) are obeyed and left out. Vowel signs of Indic scripts are put
    on the side on which they are seen; conjuncts stay apart, with the virama between them.
    """
    text = _SIGN_BEFORE.sub(_sign_first, text)
    if not has_right_to_left(text):
        return unmarked(text)
    text = joined(text)
    kinds = [unicodedata.bidirectional(c) for c in text]
    levels = _levels(text, kinds, int(runs_right_to_left(text)))
    order = list(range(len(text)))
    for level in range(max(levels), 0, -1):
        start = 0
        while start < len(order):
            if levels[order[start]] < level:
                start += 1
                continue
            end = start
            while end < len(order) and levels[order[end]] >= level:
                end += 1
            order[start:end] = reversed(order[start:end])
            start = end
    order = _marks_after_letters(order, levels, kinds)
    mirrored = (text[i].translate(_MIRRORED) if levels[i] % 2 else text[i] for i in order)
    return unmarked("".join(mirrored))


def _marks_after_letters(order: list[int], levels: list[int], kinds: list[str]) -> list[int]:
    """Return the order with marks of right-to-left letters behind them again (UAX #9, L3)."""
    moved: list[int] = []
    marks: list[int] = []
    for i in order:
        if levels[i] % 2 and kinds[i] == "NSM":
            marks.append(i)
            continue
        moved += [i, *reversed(marks)]
        marks = []
    return moved + marks


def _sign_first(match: re.Match[str]) -> str:
    letter, sign = match.groups()
    parts = unicodedata.normalize("NFD", sign)
    return parts[0] + letter + parts[1:]


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


def joined(text: str) -> str:
    """Return text with Arabic letters in the forms they take between their neighbours."""
    if not any(_ARABIC[0] <= c <= _ARABIC[1] for c in text):
        return text
    forms = _forms()
    letters = [i for i, c in enumerate(text) if unicodedata.bidirectional(c) != "NSM"]
    shaped = list(text)
    skipped = set()
    for position, i in enumerate(letters):
        if i in skipped or text[i] not in forms:
            continue
        before = text[letters[position - 1]] if position else ""
        follow = letters[position + 1] if position + 1 < len(letters) else None
        character, after = text[i], "" if follow is None else text[follow]
        ligature = character + after
        if character == _LAM and follow == i + 1 and ligature in forms:
            skipped.add(follow)
            shaped[follow] = ""
            character, after = ligature, ""
        back = before in forms and "initial" in forms[before] and "final" in forms[character]
        ahead = after in forms and "final" in forms[after] and "initial" in forms[character]
        form = ("isolated", "initial", "final", "medial")[2 * back + ahead]
        shaped[i] = forms[character].get(form, text[i])
    return "".join(shaped)


@cache
def _forms() -> dict[str, dict[str, str]]:
    """Return the presentation forms of Arabic letters and of lam with alef."""
    forms: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFE00), *range(0xFE70, 0xFEFD)):
        form, _, rest = unicodedata.decomposition(chr(code)).partition(" ")
        base = "".join(chr(int(part, 16)) for part in rest.split())
        if form.strip("<>") in ("isolated", "initial", "medial", "final") and (
            len(base) == 1 or (len(base) == 2 and base[0] == _LAM and base[1] in _ALEFS)
        ):
            forms.setdefault(sys.intern(base), {})[form.strip("<>")] = chr(code)
    return forms
