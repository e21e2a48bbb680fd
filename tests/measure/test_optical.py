"""Type read by eye, against what Pillow drew: the words are known, and no code is shared.

The reader is an extra; where it is not installed these tests are skipped.
"""

from __future__ import annotations

import math
import socket
import time

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from prepcheck.geometry import Box, Circle, Grid
from prepcheck.measure.optical import (
    OutOfTimeError,
    PieceLook,
    ReadingTime,
    Sighting,
    reader,
    sightings,
)
from tests.outlined import FACES

pytest.importorskip("rapidocr", reason="the optical reader, prepcheck[read], is not installed")

PPI = 300
PPMM = PPI / 25.4
SIDE_MM = 70.0
RIM = (Circle(0.0, 0.0, 35.0), 8.0)


def font(face: str, pt: float) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(FACES[face], round(pt / 72 * PPI))


def put(picture: Image.Image, words: str, x: float, y: float, pt: float, turn: float = 0) -> None:
    """Draw a line of type about a place in mm from the centre, turned anticlockwise."""
    face = font("SourceSerifPro-Regular", pt)
    width = round(face.getlength(words)) + 20
    mask = Image.new("L", (width, round(face.size * 1.6)), 0)
    ImageDraw.Draw(mask).text((10, face.size * 0.2), words, font=face, fill=255)
    mask = mask.rotate(turn, Image.Resampling.BICUBIC, expand=True)
    left = round((x + SIDE_MM / 2) * PPMM - mask.width / 2)
    top = round((SIDE_MM / 2 - y) * PPMM - mask.height / 2)
    picture.paste((20, 20, 40), (left, top), mask)


def put_round(picture: Image.Image, words: str, radius: float, pt: float) -> None:
    """Draw type about the centre, to be read along the bottom."""
    face = font("Jost-Regular", pt)
    total = face.getlength(words) / PPMM
    at = -total / 2
    for letter in words:
        width = face.getlength(letter) / PPMM
        angle = -math.pi / 2 + (at + width / 2) / radius
        put(picture, "", 0, 0, pt)
        mask = Image.new("L", (120, 120), 0)
        ImageDraw.Draw(mask).text((60, 60), letter, font=face, fill=255, anchor="ms")
        mask = mask.rotate(math.degrees(angle) + 90, Image.Resampling.BICUBIC)
        x = (SIDE_MM / 2 + radius * math.cos(angle)) * PPMM
        y = (SIDE_MM / 2 - radius * math.sin(angle)) * PPMM
        picture.paste((20, 20, 40), (round(x) - 60, round(y) - 60), mask)
        at += width


def looks(picture: np.ndarray, grid: Grid) -> PieceLook:
    """Return how a piece looks that is a picture, whatever resolution is asked for."""

    def look(box: Box, ppi: float, least: float) -> tuple[np.ndarray, Grid]:
        (left, bottom), (right, top) = grid.pixels(np.array([(box.x0, box.y0), (box.x1, box.y1)]))
        x0, y0 = max(round(left), 0), max(round(top), 0)
        part = picture[y0 : round(bottom), x0 : round(right)]
        corner = grid.places(np.array([x0, y0], float))
        return part, Grid(part.shape[1], part.shape[0], grid.pitch, *corner.tolist())

    return look


class _Unconnected(socket.socket):
    """A socket that leads nowhere; libraries may still make classes of their own of it."""

    def connect(self, address: object) -> None:
        raise AssertionError(f"nothing may be fetched: {address}")

    connect_ex = connect  # type: ignore[assignment]


@pytest.fixture(scope="module")
def seen() -> list[Sighting]:
    """A disc of 70 mm with a line set in each way, read once, without a network."""
    side = round(SIDE_MM * PPMM)
    picture = Image.new("RGB", (side, side), (235, 225, 200))
    put(picture, "The Owl Ledger", 0, 16, 11)
    put(picture, "LFR 014", -22, 0, 9, 90)
    put(picture, "Side A", 22, 0, 9, 270)
    put(picture, "45 rpm", 0, -14, 9, 180)
    put_round(picture, "© 2026 Lanternfold Recordings", 31, 7)
    grid = Grid(side, side, 1 / PPMM, -SIDE_MM / 2, SIDE_MM / 2)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(socket, "socket", _Unconnected)
        return sightings(grid.box, looks(np.asarray(picture), grid), reader(), ReadingTime(), RIM)


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ("The Owl Ledger", Box(-14, 13, 14, 19)),
        ("LFR 014", Box(-25, -8, -19, 8)),
        ("Side A", Box(19, -7, 25, 7)),
        ("45 rpm", Box(-8, -17, 8, -11)),
    ],
)
def test_straight_and_turned_type_is_read_where_it_stands(
    seen: list[Sighting], words: str, place: Box
) -> None:
    (one,) = [s for s in seen if s.text == words]
    x, y = one.box.centre
    assert place.x0 < x < place.x1
    assert place.y0 < y < place.y1
    assert place.grown(2).holds(one.box)


def test_round_type_is_read(seen: list[Sighting]) -> None:
    assert [s for s in seen if "2026 Lanternfold Recordings" in s.text]


def test_nothing_else_is_seen(seen: list[Sighting]) -> None:
    assert len(seen) == 5


class _Blank:
    """A reader that finds one line in everything, and counts."""

    def __init__(self) -> None:
        self.asked = 0

    def lines(self, picture: np.ndarray) -> list[np.ndarray]:
        return [np.array([(0, 0), (40, 0), (40, 10), (0, 10)], float)]

    def text(self, picture: np.ndarray) -> tuple[str, float]:
        self.asked += 1
        return "Tide", 0.99


@pytest.fixture
def stripes() -> tuple[np.ndarray, Grid]:
    picture = np.zeros((3000, 3000, 3), np.uint8)
    picture[::64] = 255
    return picture, Grid(3000, 3000, 0.1, 0.0, 300.0)


def test_no_more_is_read_than_is_allowed(stripes: tuple[np.ndarray, Grid]) -> None:
    blank, budget = _Blank(), ReadingTime(lines=2)
    picture, grid = stripes
    sightings(grid.box, looks(picture, grid), blank, budget)
    assert blank.asked == 2
    assert not budget.whole


def test_reading_ends_when_the_time_is_over(stripes: tuple[np.ndarray, Grid]) -> None:
    picture, grid = stripes
    budget = ReadingTime(until=time.process_time() - 1)
    with pytest.raises(OutOfTimeError):
        sightings(grid.box, looks(picture, grid), _Blank(), budget)


def test_one_place_is_read_once(stripes: tuple[np.ndarray, Grid]) -> None:
    """Bands that overlap, and the coarse look at all of it, see one line several times."""
    picture, grid = stripes
    lines = sightings(grid.box, looks(picture, grid), _Blank(), ReadingTime())
    tops = [round(line.box.y1, 1) for line in lines]
    assert len(set(tops)) == len(tops)


def test_a_sleeve_is_looked_at_closely_only_where_lines_stand() -> None:
    """Two lines a hand apart, and one of tall letters, on a panel of 250 mm."""
    side = round(250 * PPMM)
    picture = Image.new("RGB", (side, side), (235, 225, 200))
    for words, top, pt in (("Lamps Out at Nine", 60, 8), ("Dry Dock", 90, 48), ("OWL 27", 220, 6)):
        at = (round(90 * PPMM), round(top * PPMM))
        ImageDraw.Draw(picture).text(at, words, font=font("Jost-Regular", pt), fill=(20, 20, 40))
    grid = Grid(side, side, 1 / PPMM, 0.0, 250.0)
    whole, close = looks(np.asarray(picture), grid), []

    def look(box: Box, ppi: float, least: float) -> tuple[np.ndarray, Grid]:
        if least == PPI:
            close.append(box)
        return whole(box, ppi, least)

    seen = sightings(grid.box, look, reader(), ReadingTime())
    assert [one.text for one in seen] == ["Lamps Out at Nine", "Dry Dock", "OWL 27"]
    assert sum(box.area for box in close) < 250 * 250 / 5
    assert not any(box.y0 < 140 < box.y1 and box.width > 200 for box in close)
