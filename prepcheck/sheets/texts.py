"""Compares texts the way a person does: case, spaces, dashes, quotes and ligatures do not count."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

from prepcheck.sheets.digest import LiveWords

_SPEED = re.compile(
    r"(?<![\d:./])"
    r"(33(?:[ -]?1 ?/ ?3|[.,]3+)?|45|78)"
    r" ?(?:r ?\. ?p ?\. ?m|rpm|r/min|u ?/ ?min|upm|umdr|t/min|tours|trs?/min|giri|obr|varv|o/min"
    r"|rev)"
)
_THIRD = re.compile(r"(?<![\d:./])33[ -]?1 ?/ ?3(?!\d)")
"""33 and a third is a speed with or without a unit."""
_SIDE_WORDS = (
    "side|seite|face|lato|lado|kant|sida|strona|cara|strana|puoli|oldal|сторона|страна|πλευρα"
    "|πλευρά"
)
_SIDE_LETTERS = "[a-zабαβγδ]"
"""Cyrillic в is left out: it may be the third letter, or stand for the Latin second."""
_COUNTED = {
    word: "ABCDEF"[number]
    for words in ("1 2 3 4 5 6", "one two three four five six", "eins zwei drei vier fünf sechs",
                  "un deux trois quatre cinq six", "uno due tre quattro cinque sei", "i ii iii iv")
    for number, word in enumerate(words.split())
} | dict(zip("абαβγδ", "ABABCD", strict=True))  # fmt: skip
_SIDE = re.compile(
    rf"(?<![^\W\d_])(?:{_SIDE_WORDS})[ .:-]*"
    rf"((?:{_SIDE_LETTERS}|{'|'.join(sorted(_COUNTED, key=len, reverse=True))})(?![^\W\d_]))"
)
_SIDE_JOINED = re.compile(rf"(?<![^\W\d_])(?:{_SIDE_WORDS})(\d|one|two|three|four|five|six)")
"""Set letter by letter along a circle, what follows a side's number stands right behind it."""
_DISCS = r"discs?|disks?|records?|lp|platte|schallplatte|disque|disco|vinyl"
_DISC = re.compile(
    rf"(?<!\w)(?:{_DISCS}) ?(?:no\.?|nr\.?|#)? ?(one|two|three|four|five|six|[1-6])(?!\w)"
)
_SIDE_BEHIND = re.compile(rf"(?<!\w)([a-z])(?:-(?:{_SIDE_WORDS})(?!\w)|面)")
_WHOLE_SIDE = re.compile(rf"([a-z]) ?(?:{_SIDE_WORDS})")
_LETTER = re.compile(r"([a-z])")
_TRACK = re.compile(r"(?<!\w)([a-z]) ?[1-9](?!\w)")
"""Tracks counted by side, such as 'A1'."""
LARGE_LETTER_MM = 4.0
"""A single letter this tall names the side; smaller ones may be type set letter by letter."""
_SIGNS = str.maketrans(
    {"⁄": "/", "∕": "/"}
    | dict.fromkeys("‐‑‒–—―−﹣－", "-")
    | dict.fromkeys("‘’‚‛´`", "'")
    | dict.fromkeys("“”„‟«»", '"')
)
_LETTERS = re.compile(r"[^\W\d_]+|\d+")


def plain(text: str) -> str:
    """Return text in one form: compatibility forms composed (NFKC), case folded, one space.

    Unicode Standard Annex 15 for the forms; ligatures, fractions and wide forms come apart.
    """
    # A fraction sign behind a number is set apart, so that 33⅓ does not become 331/3.
    spaced = re.sub(r"(?<=\d)(?=[¼-¾⅐-⅞])", " ", text)
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", spaced).casefold())
    return " ".join(folded.translate(_SIGNS).split())


def compact(text: str) -> str:
    """Return the letters and digits of a text alone; all its signs where it has nothing else."""
    folded = plain(text)
    kept = "".join(c for c in folded if c.isalnum() or unicodedata.category(c)[0] == "M")
    return kept or folded.replace(" ", "")


def digits(key: str) -> str:
    """Return the digits of a text: what differs in these is another thing, not a slip."""
    return "".join(c for c in key if c.isdigit())


def side_in(text: str) -> str | None:
    """Return the side that a text names and nothing else: 'Side Two' and 'side B' are B."""
    folded = plain(text)
    match = _SIDE.fullmatch(folded) or _SIDE_BEHIND.fullmatch(folded)
    return None if match is None else _COUNTED.get(match[1], match[1]).upper()


class LiveTexts:
    """The live type of a part, ready to be searched.

    Type on a circle comes letter by letter, so all of it is also joined without gaps.
    """

    def __init__(self, words: Iterable[LiveWords]) -> None:
        words = list(words)
        pieces = [word.text for word in words]
        self._raw = " ".join(" ".join(pieces).split())
        self.spaced = plain(self._raw)
        self.joined = plain("".join(pieces))
        self._compact = compact("".join(pieces)) if pieces else ""
        self._tokens = frozenset(_LETTERS.findall(self.spaced))
        self._pieces = frozenset(compact(piece) for piece in pieces)
        self._large = {
            match[1]
            for word in words
            if (match := _WHOLE_SIDE.fullmatch(plain(word.text)))
            or (
                word.box.height >= LARGE_LETTER_MM
                and (match := _LETTER.fullmatch(plain(word.text)))
            )
        }

    @property
    def empty(self) -> bool:
        return not self._compact

    def has(self, text: str) -> bool:
        """Say whether a text is there: in one go, or all its words somewhere.

        One or two signs must stand by themselves.
        """
        wanted = compact(text)
        if len(wanted) < 3:
            return wanted in self._pieces or wanted in self.spaced.split()
        if wanted in self._compact:
            return True
        words = _LETTERS.findall(plain(text))
        return len(words) > 1 and all(word in self._tokens for word in words)

    def sides(self) -> frozenset[str]:
        """Return the letters of the sides that are named, such as 'Side A', 'B-side', 'A1'."""
        return self._counted(self._named() | set(_TRACK.findall(self.spaced)))

    def sides_in_words(self) -> frozenset[str]:
        """Return the letters of the sides that are named in so many words, not by tracks alone."""
        return self._counted(self._named())

    def _named(self) -> set[str]:
        found = set(self._large)
        for text in (self.spaced, self.joined):
            for name in _SIDE.findall(text):
                # 'Side I' is the first, or the ninth.
                found |= {_COUNTED.get(name, name), "i" if name == "i" else ""}
            found |= set(_SIDE_BEHIND.findall(text))
        return found | {_COUNTED[name] for name in _SIDE_JOINED.findall(self.joined)}

    def _counted(self, found: set[str]) -> frozenset[str]:
        letters = frozenset(letter.upper() for letter in found if letter.isalpha())
        discs = {_COUNTED[name] for name in _DISC.findall(self.spaced)}
        if len(discs) == 1 and letters <= {"A", "B"}:
            # 'Disc 2, side A' is the third side.
            before = 2 * (ord(discs.pop()) - ord("A"))
            return frozenset(chr(ord(letter) + before) for letter in letters)
        return letters

    def suffixes(self, number: str) -> frozenset[str]:
        """Return the letters that stand behind a catalogue number, as 'LFR 014-A' or 'LFR 014A', in
        capitals."""
        signs = r"[\W_]{0,2}".join(re.escape(c) for c in compact(number))
        found = re.findall(rf"(?<!\w){signs}(?: ?[-–/.] ?)?([a-f])(?!\w)", self.spaced)
        return frozenset(letter.upper() for letter in found)

    def as_named(self, side: str) -> str:
        """Return the name of a side as it stands in the type, such as 'Side Two'."""
        for match in re.finditer(_SIDE.pattern, self._raw, re.IGNORECASE):
            name = match[1].casefold()
            if side in (_COUNTED.get(name), name.upper()):
                return match[0]
        return f"Side {side}"

    def speeds(self) -> frozenset[str]:
        """Return the speeds that are named, as '33', '45' and '78'."""
        return self.speeds_in(self.spaced) | self.speeds_in(self.joined)

    @staticmethod
    def speeds_in(text: str) -> frozenset[str]:
        """Return the speeds that a text names."""
        text = plain(text)
        thirds = {"33"} if _THIRD.search(text) else set()
        return frozenset({match[:2] for match in _SPEED.findall(text)} | thirds)

    def nearest(self, text: str) -> str | None:
        """Return what is nearly the text, as it is written; None where nothing is.

        Nearly is one slip of the hand in six signs.
        """
        wanted = compact(text)
        count = len(re.findall(r"\w+", plain(text)))
        close = [
            (slips(token, wanted), raw)
            for raw, token in _candidates(self.spaced, count + 1)
            if abs(len(token) - len(wanted)) <= 2
        ]
        best = min(close, default=None)
        if best is None or not 0 < best[0] <= len(wanted) // 6:
            return None
        words = r"\W+".join(map(re.escape, re.findall(r"\w+", best[1])))
        written = re.search(words, self._raw, re.IGNORECASE)
        return written[0] if written else best[1]

    def numbers_like(self, number: str) -> tuple[str, ...]:
        """Return what looks like a misspelling of a catalogue number, as written, sorted.

        Same letters with another number behind them, or one slip of the hand (a wrong, missing,
        added or exchanged sign; the letter O for a zero counts as one).
        """
        wanted = compact(number)
        parts = _LETTERS.findall(plain(number))
        if len(wanted) < 4 or not any(part.isdigit() for part in parts):
            return ()
        found: set[str] = set()
        runs = [(m.start(), m.end()) for m in _LETTERS.finditer(self.spaced)]
        spans = [
            (runs[i][0], runs[j][1])
            for i in range(len(runs))
            for j in range(i, min(i + len(parts) + 1, len(runs)))
        ]
        # A piece of the right number is no other number, however like it is.
        right = [span for span in spans if compact(self.spaced[slice(*span)]) == wanted]
        # Shorter ones come first: a number does not swallow the track number after it.
        for start, end in spans:
            raw = self.spaced[start:end]
            token = compact(raw)
            if any(start < last and first < end for first, last in right):
                continue
            if any(raw.startswith(shorter.casefold()) for shorter in found):
                continue
            if not any(c.isdigit() for c in token):
                continue
            if wanted in token or (token in wanted and len(token) < len(wanted) - 1):
                continue
            if _same_letters(token, wanted) or slips(token, wanted) <= 1:
                found.add(raw.upper())
        return tuple(sorted(found))


def _candidates(text: str, most: int) -> Iterator[tuple[str, str]]:
    """Yield up to `most` neighbouring tokens, as written and joined."""
    tokens = [(m.start(), m.end()) for m in re.finditer(r"\w+", text)]
    for i in range(len(tokens)):
        for j in range(i, min(i + most, len(tokens))):
            raw = text[tokens[i][0] : tokens[j][1]]
            yield raw, compact(raw)


def _same_letters(token: str, wanted: str) -> bool:
    """Say whether two numbers differ in their last run of digits only, of about one length."""
    one, other = _LETTERS.findall(token), _LETTERS.findall(wanted)
    return (
        len(one) == len(other) > 1
        and one[:-1] == other[:-1]
        and one[0].isalpha()
        and one[-1].isdigit()
        and other[-1].isdigit()
        and abs(len(one[-1]) - len(other[-1])) <= 1
    )


def slips(one: str, other: str) -> int:
    """Return how many signs are wrong, missing, added or exchanged with a neighbour.

    Optimal string alignment distance (Damerau 1964, each stretch edited once).
    """
    if abs(len(one) - len(other)) > 2:
        return max(len(one), len(other))
    two_above: list[int] = []
    above: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        two_above, above, row = above, row, [i]
        for j, b in enumerate(other, 1):
            row.append(min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (a != b)))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                row[j] = min(row[j], two_above[j - 2] + 1)
    return row[-1]
