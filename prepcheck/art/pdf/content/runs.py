"""Runs of painted paths in a content stream, cut into columns: many operators at a time.

A page of 60,000 paths, each with a colour of its own, has 400,000 operators that say the same few
things. Where nothing but paths, their painting and plain settings stand, numbers and operators are
told apart by arrays; whatever else comes up ends a run, and is followed operator by operator.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.pdf.content.decimals import ends_alone, with_ends
from prepcheck.art.pdf.content.operators import PAINTING
from prepcheck.art.pdf.content.plain import OPERANDS, Flags, Indices, PlainPaths
from prepcheck.art.pdf.tokens import LARGEST_NUMBER, PLAIN, Operation, operators

FEWEST = 80
"""Paths from which a run is worth it: 40 take a quarter longer than in steps, 200 a quarter less
(one busy core, 2026)."""
SHORTEST, FIRST, LONGEST = 2_000, 16_000, 500_000
"""Bytes of stream that a run has at least, that are looked at first, and that it has at most: twice
as many took 6 % longer, half as many 6 % as well (one busy core, 2026)."""

_COMPONENTS = {b"g": 1, b"rg": 3, b"k": 4, b"G": 1, b"RG": 3, b"K": 4}
_ANY = -1
_SETTINGS = {
    **_COMPONENTS, **dict.fromkeys(b"sc scn SC SCN d".split(), _ANY),
    **dict.fromkeys(b"w J j M i".split(), 1), **dict.fromkeys(b"cs CS gs".split(), 0),
}  # fmt: skip
"""Settings that a run may have, and the numbers each is owed."""
_DUE = {
    **OPERANDS, **{one: 0 for one in PAINTING if one != b"n"}, **_SETTINGS,
}  # fmt: skip
OPERATORS = sorted(_DUE, key=lambda operator: int.from_bytes(operator, "little"))
"""Those that a run is made of."""
_WITHIN = frozenset((b"", *OPERATORS))
_CODES = np.array([int.from_bytes(one, "little") for one in OPERATORS], np.int64)
_OWED = np.array([_DUE[one] for one in OPERATORS], np.intp)


def _among(operators: Sequence[bytes]) -> Flags:
    return np.array([one in operators for one in OPERATORS])


_BUILDS, _PAINTS = _among([*OPERANDS]), _among([*PAINTING])
_BEGINS = _among((b"m", b"re"))
_CLOSES = _among([one for one, painting in PAINTING.items() if painting.close])
_IS_FILLED = _among([one for one, painting in PAINTING.items() if painting.fill])
_SETS = _among([*_SETTINGS])
_DASHES, _NAMES = _among((b"d",)), _among((b"cs", b"CS", b"gs")).astype(np.intp)
"""Those owed brackets, and how many names each is owed."""
_LETTER = np.array(
    [ord("r") if one == b"re" else one[0] if one in OPERANDS else ord("h") for one in OPERATORS],
    np.uint8,
)
_POINTS = np.select([ord("r") == _LETTER, np.isin(_LETTER, [*b"cvy"])], [5, 99], 1) * _BUILDS
"""What each operator adds to a path; see `rectangles.points`."""

_BLANK, _DIGIT, _CHARACTER, _BRACKET, _OTHER = range(5)
_KIND = bytearray([_OTHER]) * 256
for _kind, _bytes in (
    (_BLANK, b" \t\n\x0c\r"), (_DIGIT, b"0123456789+-."), (_BRACKET, b"[]"),
    (_CHARACTER, b"".join(OPERATORS)),
):  # fmt: skip
    for _byte in _bytes:
        _KIND[_byte] = _kind
_KINDS = bytes(_KIND)
_NUMBERS = bytes(byte if _KIND[byte] == _DIGIT else ord(" ") for byte in range(256))
_NAME = re.compile(rb"/[A-Za-z0-9_.+-]*")
_BEGINNING = re.compile(rb"[ \t\n\x0c\r0-9+\-.\[\]*/_A-Za-z]{%d}" % SHORTEST)
_DASH = re.compile(rb"[ \t\n\x0c\r]*\[[ \t\n\x0c\r0-9+\-.]*\][ \t\n\x0c\r0-9+\-.]*")


class SettingColumns(NamedTuple):
    """The m settings of a run: the different ones, operator and operands as written, in the order
    in which they are met; the number of each; where each begins, operands included, and ends in
    the stream; and how many paths are painted before each."""

    different: list[tuple[bytes, bytes]]
    which: Indices
    starts: Indices
    ends: Indices
    before: Indices


class PathRun(NamedTuple):
    """n painted paths, and what is set between them; places are in the stream."""

    paths: PlainPaths
    by: Indices
    """The number of the operator that paints each path, among `OPERATORS`."""
    begins: Indices
    """Where each path begins."""
    starts: Indices
    ends: Indices
    """Where the operators that paint lie, with the white space in front of them."""
    rectangles: Flags
    """Which paths may be rectangles that are filled."""
    settings: SettingColumns
    steps: int
    """Operators in all."""
    end: int
    """Where the run ends."""


def steps(
    data: bytes,
    take: Callable[[PathRun], bool],
    text: Callable[[int], int] | None,
    placing: bool = True,
) -> Iterator[Operation]:
    """Yield the operations of a content stream in order, but for runs: those are handed over as
    they are met, and yielded as operations where they are not taken.

    `text` is as for `operators`, `placing` as for `run_at`.
    """
    position, most, left, tried = 0, FIRST, 0, 0
    while True:
        while position >= tried and _BEGINNING.match(data, position):
            run = run_at(data, position, most, placing)
            if run is None or not take(run):
                # What is cut in vain again and again is left to single steps for longer.
                left = min(max(2 * left, SHORTEST), LONGEST)
                tried = left + (position if run is None else run.end)
                most = FIRST
                break
            length, position = run.end - position, run.end
            most = min(4 * most, LONGEST) if length > most // 2 else FIRST
            left = 0 if length > most // 4 else left
        for step in operators(data, PLAIN, text, position):
            yield step
            if step.end >= tried and (step.operator not in _WITHIN or step.operator in PAINTING):
                if _BEGINNING.match(data, step.end):
                    position = step.end
                    break
                tried = step.end + SHORTEST
        else:
            return


def run_at(data: bytes, position: int, most: int, placing: bool = True) -> PathRun | None:
    """Return the run that begins at a place between operators, of at most so many bytes; None
    where it would have too few paths. The paths lack their numbers where they are not placed."""
    text = data[position : position + most]
    names, unnamed = _without_names(text)
    kinds = unnamed.translate(_KINDS)
    stop = kinds.find(_OTHER)
    # What follows the last white space may be cut in two.
    kinds = kinds[: kinds.rfind(_BLANK, 0, len(kinds) if stop < 0 else stop) + 1]
    text = text[: len(kinds)]
    try:
        found = with_ends if placing else ends_alone
        values, number_ends = found(unnamed[: len(kinds)].translate(_NUMBERS))
    except ValueError:
        return None
    kind = np.frombuffer(kinds, np.uint8)
    at = np.flatnonzero(kind[:-1] == _CHARACTER)
    if len(at) < 2 or not np.all(np.abs(values) < LARGEST_NUMBER):
        return None
    breaks = np.flatnonzero(np.diff(at) > 1)
    first, end = at[np.append(0, breaks + 1)], at[np.append(breaks, len(at) - 1)] + 1
    number = _numbered(text, first, end)
    operator = np.maximum(number, 0)
    until = np.searchsorted(number_ends, first, "right")
    given = np.diff(until, prepend=0)
    owed = _OWED[operator]
    sound = (number >= 0) & np.where(owed == _ANY, given > 0, given == owed)
    sound &= (kind[first - 1] != _DIGIT) & (kind[end] == _BLANK)
    named = np.diff(np.searchsorted(names, first), prepend=0) if len(names) else 0
    sound &= _NAMES[operator] == named
    builds, paints = _BUILDS[operator], _PAINTS[operator]
    behind = np.append(False, builds[:-1])
    sound &= np.where(builds, behind | _BEGINS[operator], behind == paints)
    count = len(sound) if sound.all() else int(np.argmin(sound))
    painted = np.flatnonzero(paints[:count])
    if len(painted) < FEWEST:
        # Where nothing but its end stopped the look, paths may be long.
        ended = stop >= 0 or count < len(sound) or position + most >= len(data)
        wider = not ended and most < LONGEST
        return run_at(data, position, 4 * most, placing) if wider else None
    count = int(painted[-1]) + 1
    operator, builds, first, end = operator[:count], builds[:count], first[:count], end[:count]
    start = np.append(0, end[:-1])
    settings = _settings(text, kind, operator, start, first, end, position, painted)
    if settings is None:
        return None
    others = np.flatnonzero(~builds)
    before = np.append(-1, others)[np.searchsorted(others, painted)]
    by, lengths = operator[painted], painted - before - 1
    letters = builds | _CLOSES[operator]
    points = np.append(0, np.cumsum(_POINTS[operator]))
    points = points[painted] - points[before + 1]
    return PathRun(
        PlainPaths(
            _LETTER[operator[letters]], lengths + _CLOSES[by],
            values[: until[count - 1]][np.repeat(builds, given[:count])] if placing else values,
        ),
        by,
        start[before + 1] + position,
        start[painted] + position,
        end[painted] + position,
        (points >= 5) & (points <= 6) & _IS_FILLED[by],
        settings,
        count,
        int(end[-1]) + position,
    )  # fmt: skip


def _without_names(text: bytes) -> tuple[Indices, bytes]:
    """Return where names begin in a text, and the text with white space in their places."""
    if b"/" not in text:
        return np.empty(0, np.intp), text
    found: list[int] = []

    def blank(name: re.Match[bytes]) -> bytes:
        found.append(name.start())
        return b" " * len(name[0])

    unnamed = _NAME.sub(blank, text)
    return np.array(found, np.intp), unnamed


def _numbered(text: bytes, first: Indices, end: Indices) -> Indices:
    """Return which of the operators stand at places in a text; -1 for any other."""
    source, length = np.frombuffer(text, np.uint8), end - first
    code = source[first].astype(np.int64)
    for more in (1, 2):
        rows = np.flatnonzero(length > more)
        code[rows] |= source[first[rows] + more].astype(np.int64) << 8 * more
    number = np.minimum(np.searchsorted(_CODES, code), len(_CODES) - 1)
    return np.where((_CODES[number] == code) & (length <= 3), number, -1)


def _settings(
    text: bytes,
    kind: NDArray[np.uint8],
    operator: Indices,
    start: Indices,
    first: Indices,
    end: Indices,
    position: int,
    painted: Indices,
) -> SettingColumns | None:
    """Return the settings among operators; None where brackets stand in others than dashes."""
    rows = np.flatnonzero(_SETS[operator])
    begins, stops = start[rows], end[rows]
    numbers: dict[bytes, int] = {}
    which = np.array(
        [
            numbers.setdefault(text[i:j], len(numbers))
            for i, j in zip(begins.tolist(), stops.tolist(), strict=True)
        ],
        np.intp,
    )
    met = rows[np.unique(which, return_index=True)[1]].tolist()
    different = [(OPERATORS[operator[at]], text[start[at] : first[at]]) for at in met]
    dashes = np.count_nonzero(_DASHES[operator[rows]])
    brackets = np.count_nonzero(kind[: end[-1]] == _BRACKET)
    if brackets != 2 * dashes or not all(
        _DASH.fullmatch(raw) for name, raw in different if name == b"d"
    ):
        return None
    before = np.searchsorted(painted, rows)
    return SettingColumns(different, which, begins + position, stops + position, before)
