"""Colour that stops too soon past the trim."""

from __future__ import annotations

import math
from pathlib import Path

from drawing.brand import DUNE, PAPER, TEAL
from drawing.clear import LABEL
from drawing.page import Art
from drawing.singles.label import RIM, fault, label, single, sound, words


@single(
    "bleed-none.pdf",
    fault(
        "bleed.missing",
        "stop",
        "the colour stops at the trim all round",
        measured=0.0,
        required=2.0,
        unit="mm",
    ),
)
def bleed_none(path: Path) -> None:
    art = Art(path, LABEL)
    art.disc(0, 0, RIM, TEAL)
    words(art, PAPER)
    art.save()


@single(
    "bleed-arc.pdf",
    fault(
        "bleed.short",
        "stop",
        "the colour stops 1.2 mm past the trim from 20° to 60°",
        measured=1.2,
        required=2.0,
        unit="mm",
        x=RIM * math.cos(math.radians(40)),
        y=RIM * math.sin(math.radians(40)),
    ),
)
def bleed_arc(path: Path) -> None:
    art = Art(path, LABEL)
    art.shape(short_of_bleed(20.0, 60.0, 1.2), TEAL)
    words(art, PAPER)
    art.save()


def short_of_bleed(start: float, end: float, reach: float) -> list[tuple[float, float]]:
    """Return a round ground that runs 5 mm past the trim, but only `reach` between two angles."""
    degrees = [step / 4 for step in range(1440)]
    return [
        (radius * math.cos(math.radians(angle)), radius * math.sin(math.radians(angle)))
        for angle in degrees
        for radius in _steps(angle, start, end, RIM + reach, RIM + 5.0)
    ]


def _steps(angle: float, start: float, end: float, near: float, far: float) -> tuple[float, ...]:
    if angle == start:
        return (far, near)
    if angle == end:
        return (near, far)
    return (near if start < angle < end else far,)


@single(
    "bleed-other-colour.pdf",
    fault(
        "bleed.other-colour",
        "query",
        "the ground ends 0.8 mm past the trim, and another goes on",
        measured=0.8,
        required=2.0,
        unit="mm",
    ),
)
def bleed_other_colour(path: Path) -> None:
    art = Art(path, LABEL)
    art.disc(0, 0, RIM + 5.0, DUNE)
    art.disc(0, 0, RIM + 0.8, TEAL)
    words(art, PAPER)
    art.save()


@single(
    "bleed-box.pdf",
    fault(
        "bleed.box",
        "query",
        "BleedBox 1 mm outside the trim, though the colour runs 3 mm",
        measured=1.0,
        required=3.0,
        unit="mm",
    ),
)
def bleed_box(path: Path) -> None:
    label(path, bleed=1.0).save()


@sound("art-to-the-trim-on-bare-paper.pdf", "nothing inked at the edge, so no bleed is owed")
def bare_edge(path: Path) -> None:
    art = Art(path, LABEL)
    words(art)
    art.save()
