"""Tells which part of an order each file of a delivery is: all files at once, with reasons."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import PurePath

from prepcheck.intake.evidence import (
    LIKE,
    NAMED_AS_BEFORE,
    Weighed,
    contradicted,
    likeness,
    reading_of,
    told_by_type,
    weigh,
    with_shared,
    words_before,
)
from prepcheck.intake.look import Seen, SeenPage
from prepcheck.intake.wanted import Wanted
from prepcheck.measure.assign import NEVER, best_assignment, worth
from prepcheck.order import Order
from prepcheck.run.pages import pages_due
from prepcheck.sheets.texts import LiveTexts
from prepcheck.words import listed

ORDERED = "the order names it"
_ENOUGH = 2.0
"""Evidence below which a file is no part of the order."""
_CLOSE = 1.5
"""Two ways to share out the files whose evidence differs by less are both possible."""


@dataclass(frozen=True, slots=True)
class Match:
    """A file, or one page of it (1-based), taken as a part, with the reasons in words."""

    part: str
    file: Seen
    page: int | None
    reasons: tuple[str, ...]

    def __str__(self) -> str:
        page = "" if self.page is None else f", page {self.page},"
        return f"{self.file.name}{page} is taken as {self.part}: {'; '.join(self.reasons)}"


@dataclass(frozen=True, slots=True)
class UndecidedFile:
    """A file that may be any of several parts, and is taken as none until somebody says which."""

    file: Seen
    page: int | None
    parts: tuple[str, ...]

    def __str__(self) -> str:
        number = "" if self.page is None else f"#{self.page}"
        return (
            f"{self.named} {self.said}; say which {'is ' if len(self.parts) == 1 else ''}with "
            f"--as {quoted(self.file.name + number)}={quoted(self.parts[0])}"
        )

    @property
    def named(self) -> str:
        """The file, and the page that is meant."""
        return self.file.name if self.page is None else f"{self.file.name} (page {self.page})"

    @property
    def said(self) -> str:
        """What the file may be, in words that follow its name."""
        if len(self.parts) == 1:
            return f"may be {self.parts[0]}, and so may another file"
        return f"may be {listed(self.parts, 'or')}"


@dataclass(frozen=True, slots=True)
class Matched:
    """What a delivery comes to: `loose` are files, or pages of them, that are no part."""

    matches: tuple[Match, ...] = ()
    questions: tuple[UndecidedFile, ...] = ()
    loose: tuple[tuple[Seen, int | None], ...] = ()


@dataclass(frozen=True, eq=False)
class _Unit:
    """What is matched: a file as a whole, or one of its pages."""

    file: Seen
    page: SeenPage | None
    number: int | None

    @cached_property
    def reading(self) -> LiveTexts:
        """Its live type."""
        return reading_of(self.file, self.page, self.number)

    @property
    def key(self) -> tuple[str, int | None]:
        return self.file.sha256, self.number


def match(
    order: Order,
    wanted: Sequence[Wanted],
    files: Sequence[Seen],
    said: Mapping[str, str] | None = None,
) -> Matched:
    """Return which part each file is.

    `said` maps a file's name ('label.pdf', or 'labels.pdf#2' for a page of it) to a part's name
    and comes first; then the very bytes of an earlier round, the name in the order and the name
    that the part's file had in the round before, where a file's own type and size do not say
    otherwise; then all other evidence over all files at once.
    A part that has several files that fit alike, and a file that fits several parts alike, are
    asked about and taken as nothing. Names in `said` that are not there are the caller's to refuse.
    """
    told = said or {}
    wanted = with_shared(wanted)
    units = [unit for file in files for unit in _units(file, wanted, told)]
    matches: list[Match] = []
    questions: list[UndecidedFile] = []
    left = list(wanted)
    for tells in (_told_ones, _same_ones, _ordered_ones, _as_before_ones):
        for unit, parts, reason in list(tells(order, units, left, told)):
            if unit not in units:
                continue
            if len(parts) > 1:
                names = tuple(part.part.name for part in parts)
                questions.append(UndecidedFile(unit.file, unit.number, names))
            elif parts[0] in left:
                matches.append(Match(parts[0].part.name, unit.file, unit.number, (reason,)))
                left.remove(parts[0])
            else:
                continue
            units.remove(unit)
    table = [_weighed(order, unit, left) for unit in units]
    values = [[w.total - _ENOUGH if w.total > NEVER else NEVER for w in row] for row in table]
    found = best_assignment(values)
    loose: list[tuple[Seen, int | None]] = []
    rivals = _rivals(values, found, units)
    for row, unit in enumerate(units):
        column = found[row]
        if row in rivals:
            rival = left[rivals[row]].part.name
            questions.append(UndecidedFile(unit.file, unit.number, (rival,)))
            continue
        if column is None:
            loose.append((unit.file, unit.number))
            continue
        others = _others(values, found, row, units)
        if others:
            names = tuple(left[c].part.name for c in (column, *others))
            questions.append(UndecidedFile(unit.file, unit.number, names))
        else:
            reasons = _reasons(table[row][column], unit, left[column], wanted)
            matches.append(Match(left[column].part.name, unit.file, unit.number, reasons))
    return Matched(tuple(matches), tuple(questions), tuple(loose))


def quoted(text: str) -> str:
    """Return text as a shell takes it for one word."""
    return text if text.replace("-", "").replace(".", "").replace("_", "").replace(
        "/", "").replace("#", "").isalnum() else f"'{text}'"  # fmt: skip


def _units(file: Seen, wanted: Sequence[Wanted], told: Mapping[str, str]) -> list[_Unit]:
    """Return a file as a whole, or its pages where each of them is one complete piece."""
    whole = [_Unit(file, file.pages[0] if file.pages else None, None)]
    if len(file.pages) < 2 or file.name in told:
        return whole
    faces = {w.part.spec for w in wanted if w.part.face is not None}
    single = {s.name for w in wanted for s in w.specs if pages_due(s) == 1}
    pieces = [{piece.spec for piece in page.pieces} for page in file.pages]
    if all(names & single or names & faces for names in pieces) and (
        not _one_piece(file, wanted) or faces
    ):
        return [_Unit(file, page, page.number) for page in file.pages]
    return whole


def _one_piece(file: Seen, wanted: Sequence[Wanted]) -> bool:
    """Say whether all pages together are one piece of several pages that is wanted."""
    for one in wanted:
        for spec in one.specs:
            if one.part.face is None and 1 < len(file.pages) <= len(spec.pages) and all(
                any(piece.spec == spec.name for piece in page.pieces) for page in file.pages
            ):  # fmt: skip
                return True
    return False


_Said = Iterator[tuple[_Unit, Sequence[Wanted], str]]


def _told_ones(
    order: Order, units: Sequence[_Unit], left: Sequence[Wanted], told: Mapping[str, str]
) -> _Said:
    """Yield units of which it was said what they are."""
    for unit in units:
        name = unit.file.name if unit.number is None else f"{unit.file.name}#{unit.number}"
        yield from ((unit, [w], "you said so") for w in left if w.part.name == told.get(name))


def _same_ones(
    order: Order, units: Sequence[_Unit], left: Sequence[Wanted], told: Mapping[str, str]
) -> _Said:
    """Yield units that are what a part was before; under another part's name it is asked which."""
    free = list(left)
    for unit in units:
        same = [w for w in free if _same_bytes(unit, w)]
        if not same:
            continue
        named = [w for w in left if _as_ordered(unit, w)]
        own = next((w for w in same if w in named), same[0])
        if named and own not in named:
            yield unit, [own, *named], ""
        else:
            free.remove(own)
            yield unit, [own], "the same bytes as before"


def _ordered_ones(
    order: Order, units: Sequence[_Unit], left: Sequence[Wanted], told: Mapping[str, str]
) -> _Said:
    """Yield units that the order names for a part, where nothing in them says otherwise and no
    other is named so too; one that reads like what another part was before is asked about."""
    for part in left:
        named = [unit for unit in units if _as_ordered(unit, part)]
        if len(named) != 1:
            continue
        others = _reads_like(named[0], part, left)
        if others:
            yield named[0], [part, *others], ""
        elif not contradicted(order, named[0].page, named[0].reading, part, left):
            yield named[0], [part], ORDERED


def _as_before_ones(
    order: Order, units: Sequence[_Unit], left: Sequence[Wanted], told: Mapping[str, str]
) -> _Said:
    """Yield units named just like the file that a part had in the round before: corrected files
    keep their names. Nothing in them may say otherwise, and no other may be named so too."""
    for part in left:
        named = [unit for unit in units if _as_before(unit, part)]
        if len(named) != 1:
            continue
        (unit,) = named
        others = [w for w in left if w is not part]
        known = any(digest == unit.file.sha256 for w in others for digest, _ in w.alike)
        if known or any(_as_before(unit, w) or _as_ordered(unit, w) for w in others):
            continue
        like = max(LIKE, likeness(unit.reading, part))
        if any(likeness(unit.reading, w) > like for w in others):
            continue
        if not contradicted(order, unit.page, unit.reading, part, left):
            yield unit, [part], NAMED_AS_BEFORE


def _reads_like(unit: _Unit, part: Wanted, wanted: Sequence[Wanted]) -> list[Wanted]:
    """Return the parts that were far more like a file before than this part was, whose own words
    are known."""
    own = likeness(unit.reading, part)
    if not words_before(part):
        return []
    return [w for w in wanted if w is not part and likeness(unit.reading, w) > own + LIKE]


def _weighed(order: Order, unit: _Unit, wanted: Sequence[Wanted]) -> list[Weighed]:
    told = told_by_type(order, unit.reading, wanted)
    return [
        weigh(order, unit.file, unit.page, unit.number, w, unit.reading, told=told) for w in wanted
    ]


def _same_bytes(unit: _Unit, wanted: Wanted) -> bool:
    before = wanted.earlier
    return (
        before is not None
        and before.sha256 != ""
        and before.sha256 == unit.file.sha256
        and unit.number == (before.page or wanted.part.page)
    )


def _as_before(unit: _Unit, wanted: Wanted) -> bool:
    """Say whether a file has the name of the one that was the part in the round before."""
    before = wanted.earlier
    if before is None or not before.file or unit.number != (before.page or wanted.part.page):
        return False
    return PurePath(before.file).name.casefold() == PurePath(unit.file.name).name.casefold()


def _as_ordered(unit: _Unit, wanted: Wanted) -> bool:
    """Say whether the order itself names the file (and the page) for the part."""
    file = wanted.part.file
    if file is None or unit.number not in (None, wanted.part.page):
        return False
    return PurePath(file).name.casefold() == PurePath(unit.file.name).name.casefold()


def _others(
    values: Sequence[Sequence[float]],
    found: Sequence[int | None],
    row: int,
    units: Sequence[_Unit],
) -> list[int]:
    """Return the other parts that a file may be: where it were given one of them, all files
    together would fit nearly as well. Files of the same bytes change places as they like."""
    best = worth(values, found)
    column = found[row]
    others = []
    for other in range(len(values[row])):
        if other == column or values[row][other] <= 0:
            continue
        holder = next((r for r, c in enumerate(found) if c == other), None)
        if holder is not None and units[holder].key == units[row].key:
            continue
        if best - _worth_with(values, row, other) < _CLOSE:
            others.append(other)
    return others


def _rivals(
    values: Sequence[Sequence[float]], found: Sequence[int | None], units: Sequence[_Unit]
) -> dict[int, int]:
    """Return the files of which one too many fits the same part, each with that part."""
    best = worth(values, found)
    rivals: dict[int, int] = {}
    for row, column in enumerate(found):
        if column is not None:
            continue
        for other, value in enumerate(values[row]):
            holder = next((r for r, c in enumerate(found) if c == other), None)
            if value <= 0 or holder is None or units[holder].key == units[row].key:
                continue
            if best - _worth_with(values, row, other) < _CLOSE:
                rivals[row] = rivals[holder] = other
    return rivals


def _worth_with(values: Sequence[Sequence[float]], row: int, column: int) -> float:
    """Return what the best assignment is worth in which a row has this column."""
    rest = [[v for c, v in enumerate(line) if c != column] for line in values]
    del rest[row]
    return values[row][column] + worth(rest, best_assignment(rest))


def _reasons(
    weighed: Weighed, unit: _Unit, taken: Wanted, wanted: Sequence[Wanted]
) -> tuple[str, ...]:
    named = [w.part.name for w in wanted if w is not taken and _as_ordered(unit, w)]
    though = [f"though the order names such a file for {listed(named)}"] if named else []
    return (*(weighed.reasons or ("nothing else fits",)), *though)
