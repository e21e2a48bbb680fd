"""Judged is what is seen: families of labels with truth by construction, drawn by reportlab.

Distances of type come from the outlines of the font as fontTools gives them, followed here point by
point; how close an edge must be to count is the spec's own limit. Faults and sound twins alike.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pytest
import skimage
from PIL import Image
from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from prepcheck.art.open import open_art
from prepcheck.findings import Finding
from prepcheck.measure.trim import locate_trim
from prepcheck.press.separate.printed import plates_or_screen, printed_view
from prepcheck.press.view import View
from prepcheck.sheets.exam import Exam, Sheet
from tests.checks.exams import findings, label_spec
from tests.truth._page import (
    as_picture,
    drawn,
    exam_of,
    flattened,
    outline_points,
)  # fmt: skip

MM = 72 / 25.4
FONT = Path(__file__).parents[2] / "sample_art" / "fonts" / "Jost-Regular.ttf"
WANTED_HOLE, WANTED_TRIM = 4.4, 3.0
HOLE, RIM = 3.62, 50.0
SEEDS = range(5)


def label(path: Path, draw: Callable[[Canvas], None]) -> Exam:
    """Return a 100 mm label with 3 mm bleed, drawn with the origin at its centre, in mm."""
    canvas = Canvas(str(path), pagesize=(106 * MM, 106 * MM), pageCompression=1)
    canvas.setTrimBox((3 * MM, 3 * MM, 103 * MM, 103 * MM))
    canvas.translate(53 * MM, 53 * MM)
    canvas.scale(MM, MM)
    draw(canvas)
    canvas.showPage()
    canvas.save()
    art, spec = open_art(path), label_spec()
    outline = spec.outline_of()
    place = locate_trim(art.pages[0], outline, 3.0, 0.5, True, art.document.layers)
    made: list[View] = []

    def render(sheet: Sheet) -> View:
        if not made:
            box = outline.bounds.grown(6)
            made.append(printed_view(plates_or_screen(sheet.page, place.to_piece, box, 600)[0]))
        return made[0]

    return Exam(spec, art, (Sheet(1, art.pages[0], outline, place, render),))


def found(check: str, tmp_path: Path, draw: Callable[[Canvas], None]) -> list[Finding]:
    return findings(check, label(tmp_path / "label.pdf", draw))


def ground(canvas: Canvas, colour: CMYKColor) -> None:
    canvas.setFillColor(colour)
    canvas.rect(-53, -53, 106, 106, stroke=0, fill=1)


def type_at(
    canvas: Canvas, letter: str, size: float, x: float, y: float, turn: float, colour: CMYKColor
) -> None:
    pdfmetrics.registerFont(TTFont("Drawn", str(FONT)))
    canvas.saveState()
    canvas.translate(x, y)
    canvas.rotate(turn)
    canvas.setFillColor(colour)
    canvas.setFont("Drawn", size)
    canvas.drawString(0, 0, letter)
    canvas.restoreState()


BLACK = CMYKColor(0, 0, 0, 1)
PALE = CMYKColor(0.1, 0.05, 0, 0)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_letter_at_the_rim_is_as_far_in_as_its_curve(seed: int, tmp_path: Path) -> None:
    rng = random.Random(seed)
    letter, size, turn = rng.choice("OCSQJLb"), rng.uniform(6, 16), rng.uniform(0, 360)
    points = outline_points(letter, size)
    way = math.radians(rng.uniform(0, 360))
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    turned = points @ np.array(((cos, sin), (-sin, cos)))
    # Pushed outwards along its way until its ink comes as near as is wanted here.
    wanted = rng.choice((rng.uniform(0.6, 2.7), rng.uniform(3.3, 5.0)))
    low, high = 0.0, 60.0
    for _ in range(40):
        step = (low + high) / 2
        at = step * np.array((math.cos(way), math.sin(way)))
        low, high = (step, high) if np.hypot(*(turned + at).T).max() < RIM - wanted else (low, step)
    x, y = low * math.cos(way), low * math.sin(way)

    def draw(canvas: Canvas) -> None:
        ground(canvas, PALE)
        type_at(canvas, letter, size, x, y, turn, BLACK)

    measured = [one.measured for one in found("trim.clearance", tmp_path, draw)]
    assert measured == ([pytest.approx(wanted, abs=0.1)] if wanted < WANTED_TRIM else [])


@pytest.mark.parametrize("seed", SEEDS)
def test_a_round_letter_about_the_hole_keeps_clear_by_its_inner_curve(
    seed: int, tmp_path: Path
) -> None:
    rng = random.Random(100 + seed)
    size = rng.uniform(20, 40)
    points = outline_points("O", size)
    centre = (points.max(axis=0) + points.min(axis=0)) / 2
    nearest = float(np.hypot(*(points - centre).T).min()) - HOLE

    def draw(canvas: Canvas) -> None:
        ground(canvas, PALE)
        type_at(canvas, "O", size, -centre[0], -centre[1], 0, BLACK)

    measured = [one.measured for one in found("hole.clearance", tmp_path, draw)]
    expected = [pytest.approx(nearest, abs=0.12)] if nearest < WANTED_HOLE - 0.1 else []
    assert measured == expected or abs(nearest - WANTED_HOLE) <= 0.1


def photo(rng: random.Random, side: int = 300) -> Image.Image:
    """Return a lively CMYK picture: blobs of all sizes, and grain."""
    grain = np.random.default_rng(rng.randrange(1 << 30))
    total = np.zeros((side, side, 3))
    for cells in (4, 9, 20, 60):
        small = grain.uniform(0, 255, (cells, cells, 3)).astype(np.uint8)
        total += np.asarray(Image.fromarray(small).resize((side, side), Image.Resampling.BICUBIC))
    rgb = np.clip(total / 4 + grain.normal(0, 6, total.shape), 0, 255).astype(np.uint8)
    return Image.fromarray(rgb).convert("CMYK")


COVERS = ("white", "ground", "picture")


@pytest.mark.parametrize("cover", [*COVERS, None])
@pytest.mark.parametrize("seed", range(2))
def test_type_and_lines_that_are_covered_are_no_fault(
    seed: int, cover: str | None, tmp_path: Path
) -> None:
    rng = random.Random(200 + seed)
    tone = CMYKColor(rng.uniform(0, 0.5), rng.uniform(0, 0.5), rng.uniform(0, 0.5), 0)
    way = rng.uniform(0, 360)
    picture = photo(rng)

    def draw(canvas: Canvas) -> None:
        ground(canvas, tone)
        canvas.rotate(way)
        type_at(canvas, "Side", 4, 5, -1.5, 0, BLACK)
        canvas.setFillColor(CMYKColor(0, 1, 1, 0))
        canvas.rect(47, -3, 1.5, 6, stroke=0, fill=1)
        if cover == "picture":
            canvas.drawImage(ImageReader(picture), -53, -53, 106, 106)
        elif cover is not None:
            ground(canvas, tone if cover == "ground" else CMYKColor(0, 0, 0, 0))

    exam = label(tmp_path / "label.pdf", draw)
    hole, trim = findings("hole.clearance", exam), findings("trim.clearance", exam)
    assert (len(hole), len(trim)) == ((1, 1) if cover is None else (0, 0))


PAIRS = (
    (CMYKColor(0, 0, 1, 0), CMYKColor(0, 0, 0, 0)),
    (CMYKColor(0, 0, 0, 0), CMYKColor(0, 0, 1, 0)),
    (CMYKColor(0, 0.8, 0.8, 0), CMYKColor(0.7, 0.1, 1, 0)),
    (CMYKColor(0.45, 0, 0, 0), CMYKColor(0, 0.4, 0, 0)),
)
"""Colours that differ in hue more than in lightness: on a ground, and the ground."""


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("seed", range(2))
def test_an_edge_of_another_hue_is_an_edge(
    seed: int, pair: tuple[CMYKColor, CMYKColor], tmp_path: Path
) -> None:
    rng = random.Random(300 + seed)
    room, way = rng.uniform(1.0, 3.5), rng.uniform(0, 360)

    def draw(canvas: Canvas) -> None:
        ground(canvas, pair[1])
        canvas.rotate(way)
        canvas.setFillColor(pair[0])
        canvas.circle(HOLE + room + 2, 0, 2, stroke=0, fill=1)

    measured = [one.measured for one in found("hole.clearance", tmp_path, draw)]
    assert measured == [pytest.approx(room, abs=0.1)]


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("bands", [True, False])
def test_seams_between_the_bands_of_one_picture_are_no_edges(
    seed: int, bands: bool, tmp_path: Path
) -> None:
    rng = random.Random(400 + seed)
    whole = photo(rng, 424)

    def draw(canvas: Canvas) -> None:
        if bands:
            height = rng.choice((8, 12, 20))
            for top in range(0, 424, height):
                part = whole.crop((0, top, 424, min(top + height, 424)))
                tall = part.height / 4
                canvas.drawImage(ImageReader(part), -53, 53 - top / 4 - tall, 106, tall)
        else:
            ground(canvas, PALE)
            canvas.drawImage(ImageReader(whole), HOLE + 2, -10, 20, 20)

    hole = found("hole.clearance", tmp_path, draw)
    assert bool(hole) != bands


def test_a_photograph_runs_on_and_what_stands_on_it_is_named(tmp_path: Path) -> None:
    """A published photograph (the cameraman, of scikit-image) flattened to the bleed ends nowhere;
    a word and a line on scanned paper do, and are told as what they are."""
    shown = Image.open(Path(skimage.__file__).parent / "data" / "camera.png").convert("CMYK")
    noise = np.random.default_rng(3).normal(225, 8, (1200, 1200, 3))
    paper = Image.fromarray(np.clip(noise, 0, 255).astype(np.uint8)).convert("CMYK")

    def draw(picture: Image.Image, things: bool, canvas: Canvas) -> None:
        canvas.drawImage(ImageReader(picture), -60, -60, 120, 120)
        if things:
            type_at(canvas, "Side A", 8, RIM - 13.5, -1, 0, BLACK)
            canvas.setLineWidth(0.3)
            canvas.line(-48.5, -3, -48.5, 3)

    def said(picture: Image.Image, things: bool) -> list[Finding]:
        page = as_picture(flattened(drawn(partial(draw, picture, things)), 300, 90))
        exam = exam_of(page)
        return [f for c in ("trim.clearance", "hole.clearance") for f in findings(c, exam)]

    assert said(shown, False) == []
    (named,) = said(paper, True)
    assert named.message.startswith("A word is cut by the trim, and a line ends 1.3 mm inside")


@pytest.mark.parametrize("seed", range(3))
def test_a_word_across_the_hole_of_a_photograph_is_one(seed: int) -> None:
    """White type on a lively picture, flattened."""
    rng = random.Random(500 + seed)

    def draw(canvas: Canvas) -> None:
        canvas.drawImage(ImageReader(photo(rng, 424)), -53, -53, 106, 106)
        pdfmetrics.registerFont(TTFont("Drawn", str(FONT)))
        canvas.setFont("Drawn", 5)
        canvas.setFillColor(CMYKColor(0, 0, 0, 0))
        canvas.drawCentredString(0.4 * seed, -1.7, "Lanternfold")

    (named,) = findings("hole.clearance", exam_of(as_picture(flattened(drawn(draw)))))
    assert named.message.startswith("A word is drilled into by the hole; ")
    assert len(named.where) == 1


def test_type_set_letter_by_letter_on_a_circle_is_one_place() -> None:
    """By 2.7 degrees from letter to letter, read from below; on the other side one word alone."""

    def draw(canvas: Canvas) -> None:
        ground(canvas, PALE)
        for n, letter in enumerate("Lanternfold Recordings"):
            turn = -30 + 2.7 * n
            at = math.radians(turn - 90)
            x, y = 48.9 * math.cos(at), 48.9 * math.sin(at)
            if letter != " ":
                type_at(canvas, letter, 3, x, y, turn, BLACK)
        type_at(canvas, "STEREO", 3, -5, 46.5, 0, BLACK)

    (found,) = findings("trim.clearance", exam_of(drawn(draw)))
    assert found.code == "type"
    labels = sorted(mark.label.rsplit("'", 1)[0] for mark in found.where)
    assert labels == ["'Lanternfold Recordings", "'STEREO"]
