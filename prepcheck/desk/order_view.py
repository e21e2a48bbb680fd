"""What an order's page shows, from its story: parts with their places, rounds, what is open."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from prepcheck.book.overview import BoardPart
from prepcheck.book.records import (
    Decision,
    Delivery,
    Examination,
    FindingLine,
    Letter,
    Release,
    SignOff,
    Story,
)
from prepcheck.book.stored import from_json
from prepcheck.desk.web import Desk
from prepcheck.findings import Finding, Mark, unit_behind

_MOST_PLACES = 40
_LEAST_PX = 14.0


@dataclass(frozen=True, slots=True)
class Shape:
    """A place of a finding on a picture, in its pixels: a frame, or `points` of a line."""

    number: int
    severity: str
    x: float
    y: float
    width: float
    height: float
    points: str = ""

    @property
    def badge(self) -> tuple[float, float]:
        """Where the finding's number stands: at a corner of its place, or on its line."""
        if self.points:
            middle = self.points.split()
            x, y = middle[len(middle) // 2].split(",")
            return float(x), float(y)
        return self.x + self.width, self.y


@dataclass(frozen=True, slots=True)
class PageView:
    """A page of a part's art: the picture's address, its size in pixels, and places on it."""

    picture: str
    face: str
    width: int
    height: int
    shapes: tuple[Shape, ...]

    @property
    def badges(self) -> tuple[Shape, ...]:
        """The worst place of each finding, which carries its number."""
        worst: dict[int, Shape] = {}
        for shape in self.shapes:
            worst.setdefault(shape.number, shape)
        return tuple(worst.values())


@dataclass(frozen=True, slots=True)
class FindingView:
    """A finding as it is read; `stand` is what a decision is held against."""

    line: FindingLine
    stand: str
    measured: str
    required: str
    source: str
    places: int
    asked: str | None
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PartView:
    """A part with its file, its pictures and its findings; `part` is None for the order itself."""

    name: str
    anchor: str
    file: str | None
    file_id: int | None
    round: int | None
    why: str | None
    page: int | None
    state: str
    key: str | None
    pages: tuple[PageView, ...]
    open: tuple[FindingView, ...]
    settled: tuple[FindingView, ...]


@dataclass(frozen=True, slots=True)
class RoundView:
    """One round, and all that happened in it."""

    delivery: Delivery
    examinations: tuple[Examination, ...]
    tally: str
    decisions: tuple[Decision, ...]
    letters: tuple[Letter, ...]
    signoffs: tuple[SignOff, ...]
    releases: tuple[Release, ...]


def parts_view(desk: Desk, story: Story) -> tuple[PartView, ...]:
    """Return the order itself, where something was found of it, then its parts as ordered."""
    stands = desk.book.stands(story.line.number)
    views = []
    of_order = [f for f in story.findings if f.part is None]
    if any(f.there for f in of_order):
        found = _findings(story, of_order, stands)
        views.append(_view("The order", "part-0", None, found, None, ()))
    pieces = desk.overview.pieces([story.line.number])[story.line.number]
    for index, (part, piece) in enumerate(zip(story.parts, pieces, strict=True), 1):
        own = [f for f in story.findings if f.part == part.name]
        key = desk.pictures.ready(piece.looks)
        pages = () if key is None else pages_view(desk, key, own, "/picture")
        view = _view(
            part.name, f"part-{index}", piece, _findings(story, own, stands), key, pages
        )  # fmt: skip
        views.append(
            replace(
                view, file=part.file, file_id=part.file_id, round=part.round, why=part.why,
                page=part.page,
            )
        )  # fmt: skip
    return tuple(views)


def _view(
    name: str,
    anchor: str,
    piece: BoardPart | None,
    found: Sequence[FindingView],
    key: str | None,
    pages: tuple[PageView, ...],
) -> PartView:
    still = sorted((f for f in found if f.line.open), key=lambda f: f.line.severity != "stop")
    rest = tuple(f for f in found if f.line.there and not f.line.open)
    grave = "stop" if any(f.line.severity == "stop" for f in still) else "query"
    state = piece.state if piece is not None else (grave if still else "clear")
    return PartView(
        name, anchor, None, None, None, None, None, state, key, pages, tuple(still), rest
    )


def _findings(
    story: Story, lines: Sequence[FindingLine], stands: dict[int, str]
) -> list[FindingView]:
    views = []
    for line in lines:
        finding = from_json(Finding, line.data) if line.data else None
        own = [q for q in story.questions if q.finding == line.number]
        waiting = [q.text for q in own if q.answer is None and q.text]
        answers = tuple(f"{q.answered_by}: {q.answer}" for q in own if q.answer is not None)
        views.append(
            FindingView(
                line, stands[line.number], value_of(finding, "measured"),
                value_of(finding, "required"), "" if finding is None else finding.source,
                0 if finding is None else len(finding.where),
                waiting[-1] if waiting else None, answers,
            )
        )  # fmt: skip
    return views


def value_of(finding: Finding | None, which: str) -> str:
    """Return what was 'measured' or 'required' as it is read, with its unit."""
    value = None if finding is None else getattr(finding, which)
    if finding is None or value is None:
        return ""
    shown = f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
    if isinstance(value, str) or not finding.unit:
        return shown
    return f"{shown} {unit_behind(shown, finding.unit)}"


def pages_view(
    desk: Desk, key: str, findings: Sequence[FindingLine], base: str
) -> tuple[PageView, ...]:
    """Return the pages of a part's art with the places of findings; pictures lie under `base`."""
    views = []
    for number, facts in enumerate(desk.pictures.facts(key)["pages"], 1):
        shapes = tuple(
            shape
            for line in findings
            if line.there and line.data and line.severity != "note"
            for shape in shapes_of(line, facts, facts["page"], number == 1)
        )
        picture = desk.at(f"{base}/{key}/page-{number}.jpg")
        views.append(PageView(picture, facts["face"], facts["width"], facts["height"], shapes))
    return tuple(views)


def shapes_of(line: FindingLine, facts: dict[str, Any], page: int, first: bool) -> list[Shape]:
    """Return a finding's places on one picture, the worst first, of many only some."""
    finding = from_json(Finding, line.data)
    return places_of(line.number, line.severity, finding, {**facts, "page": page}, first)


def places_of(
    number: int, severity: str, finding: Finding, facts: dict[str, Any], first: bool
) -> list[Shape]:
    """Return the places that a finding has on the page of a picture, as `shapes_of`."""
    page = facts["page"]
    if (finding.page or (page if first else 0)) != page:
        return []
    marks = sorted(finding.where, key=lambda mark: mark.rank)[:_MOST_PLACES]
    return [_shape(number, severity, mark, facts) for mark in marks]


def _shape(number: int, severity: str, mark: Mark, facts: dict[str, Any]) -> Shape:
    pitch, left, top = facts["pitch_mm"], facts["left_mm"], facts["top_mm"]
    x, y = (mark.box.x0 - left) / pitch, (top - mark.box.y1) / pitch
    width, height = mark.box.width / pitch, mark.box.height / pitch
    least = _LEAST_PX * facts["width"] / 600
    wide, high = max(width, least), max(height, least)
    x, y = x - (wide - width) / 2, y - (high - height) / 2
    points = " ".join(
        f"{(p.x - left) / pitch:.1f},{(top - p.y) / pitch:.1f}" for p in mark.path
    ) if len(mark.path) > 1 else ""  # fmt: skip
    return Shape(number, severity, round(x, 1), round(y, 1), round(wide, 1), round(high, 1), points)


def rounds_view(story: Story) -> tuple[RoundView, ...]:
    """Return the rounds, the latest first."""
    tallies: dict[int, str] = {}
    for entry in story.journal:
        if entry.act == "examined":
            data = json.loads(entry.data)
            tallies[data["round"]] = _tally(data["findings"])
    views = []
    for delivery in reversed(story.deliveries):
        number = delivery.round or 0
        views.append(
            RoundView(
                delivery,
                tuple(e for e in story.examinations if e.round == number),
                tallies.get(number, ""),
                tuple(d for d in story.decisions if d.round == number),
                tuple(x for x in story.letters if x.round == number),
                tuple(x for x in story.signoffs if x.round == number),
                tuple(x for x in story.releases if x.round == number),
            )
        )
    return tuple(views)


def _tally(found: dict[str, list[int]]) -> str:
    named = (("cured", "cured"), ("still", "still there"), ("back", "back again"), ("new", "new"))
    return ", ".join(f"{len(found[key])} {words}" for key, words in named if found.get(key))


def latest(story: Story) -> int:
    """Return the number of the latest entry that tells of an order: what a page was made of."""
    return story.journal[-1].number if story.journal else 0


def since(story: Story, seen: int) -> list[str]:
    """Return, a line each, what has happened to an order since somebody looked."""
    return [f"{entry.who}: {entry.act}" for entry in story.journal if entry.number > seen]
