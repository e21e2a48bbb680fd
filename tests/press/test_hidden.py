"""What of very many objects others hide: the library, painting all of them, is the measure."""

from __future__ import annotations

import random

import numpy as np
import pypdfium2 as pdfium
import pytest

from prepcheck.geometry import Affine, Box, Grid
from prepcheck.press import crowded, hidden
from prepcheck.press import pdfium as painting
from prepcheck.press.view import ByteArray
from tests.factories import Pdf

SIDE = 60.0
"""Of the page, in mm; what is drawn is in mm as well."""
COUNT, FIRST = 2000, 100
BLENDING = "Multiply", "Difference"
WAY = Affine.scale(25.4 / 72, 25.4 / 72)


def _many_coloured(chance: random.Random) -> bytes:
    """Lines of all widths and directions, each in a colour of its own."""
    ends = (chance.uniform(0, 60) for _ in range(4))
    look = chance.random(), chance.random(), chance.uniform(0, 8)
    return b"%.2f %.2f 0.2 RG %.2f w %.2f %.2f m %.2f %.2f l S" % (*look, *ends)


def _dots(chance: random.Random) -> bytes:
    place = chance.uniform(1, 58), chance.uniform(1, 58)
    return b"%.2f %.2f 0.9 0.9 re f" % place


def _letters(chance: random.Random) -> bytes:
    look = chance.random(), chance.random(), chance.uniform(5, 40), chance.uniform(5, 50)
    return b"BT /T 30 Tf %.2f %.2f 0.2 rg 1 0 .3 1 %.2f %.2f Tm (fWM) Tj ET" % look


def _bent(chance: random.Random) -> bytes:
    corners = [chance.uniform(0, 60) for _ in range(4)]
    look = chance.random(), chance.random()
    return b"%.2f %.2f 0.2 rg %.2f %.2f m %.2f %.2f l 30 30 l B" % (*look, *corners)


def _made(draw: object, before: bytes = b"", count: int = COUNT) -> pdfium.PdfDocument:
    chance = random.Random(draw.__name__)
    content = before + b"\n" + b"\n".join(draw(chance) for _ in range(count))
    pdf = Pdf()
    font = pdf.add({"Type": "Font", "Subtype": "Type1", "BaseFont": "Times-Italic"})
    states = {"Half": {"ca": 0.5, "CA": 0.5}, **{mode: {"BM": mode} for mode in BLENDING}}
    pdf.page(content.decode(), (SIDE, SIDE),
             resources={"Font": {"T": font}, "ExtGState": states})  # fmt: skip
    return pdfium.PdfDocument(pdf.bytes())


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Have pages of a hundred objects count as crowded; gives how many were painted, each time."""
    for module in (crowded, painting):
        monkeypatch.setattr(module, "MANY", 100)
    for module in (crowded, hidden):
        monkeypatch.setattr(module, "FIRST", FIRST)
    monkeypatch.setattr(crowded, "LOOKED_AT", 100)
    counted: list[int] = []
    own = hidden.set_active

    def count(objects, active):
        if active:
            counted.append(len(objects))
        own(objects, active)

    monkeypatch.setattr(hidden, "set_active", count)
    return counted


def _both(document: pdfium.PdfDocument, grid: Grid) -> tuple[ByteArray, ByteArray]:
    """Return a page painted as we do, and as the library does all of it."""
    ours, all_of_it = (painting.Painter.open(document, 0, plain=one) for one in (True, False))
    return ours.paint(WAY, grid), all_of_it.paint(WAY, grid)


@pytest.mark.parametrize("draw", [_many_coloured, _letters, _bent])
def test_what_is_hidden_is_left_out_and_no_pixel_changes(draw, asked):
    ours, all_of_it = _both(_made(draw), Grid.over(Box(0, 0, SIDE, SIDE), 0.2))
    assert np.array_equal(ours, all_of_it)
    assert asked[-1] < (COUNT / 2 if draw is _many_coloured else COUNT)


def test_what_does_not_pay_is_painted_as_it_is(asked):
    """Little lies on anything else: it is looked once."""
    ours, all_of_it = _both(_made(_dots), Grid.over(Box(0, 0, SIDE, SIDE), 0.2))
    assert np.array_equal(ours, all_of_it)
    assert asked[:2] == [FIRST, FIRST]
    assert sum(asked) == COUNT + FIRST


@pytest.mark.parametrize("state", ["Half", "Multiply", "Difference"])
def test_pages_that_blend_or_let_see_through_are_painted_as_they_are(state, asked):
    """Of a difference, lighter below comes out darker (ISO 32000-2, 11.3.5.2); of half a colour no
    one asks what it would be on others."""
    document = _made(_many_coloured, f"/{state} gs".encode(), 300)
    ours, all_of_it = _both(document, Grid.over(Box(0, 0, SIDE, SIDE), 0.5))
    assert np.array_equal(ours, all_of_it)
    assert asked == []


def test_lines_that_reach_what_is_open_are_told_and_those_far_from_it_are_not():
    """Each open pixel's distance from each line, worked out pixel by pixel, is the measure."""
    chance = np.random.default_rng(3)
    height, width = 90, 130
    visible = np.zeros((height, width), np.bool_)
    visible[chance.integers(0, height, 12), chance.integers(0, width, 12)] = True

    def draw(pixels):
        pixels[~visible] = 7

    everywhere = np.array([[0, 0, width, height]], np.float32)
    held = hidden.Open(height, width, everywhere)
    held.close(draw)
    ends = chance.uniform(-20, 150, (900, 4))
    reach = chance.uniform(0.5, 12, 900)
    rows, columns = np.nonzero(visible)
    places = np.stack((columns + 0.5, rows + 0.5), axis=1)
    start, along = ends[:, None, :2], ends[:, None, 2:] - ends[:, None, :2]
    share = ((places - start) * along).sum(axis=2) / (along**2).sum(axis=2)
    nearest = start + np.clip(share, 0, 1)[..., None] * along
    distance = np.hypot(*np.moveaxis(places - nearest, 2, 0)).min(axis=1)
    told = held.cross(ends, reach)
    assert told[distance <= reach].all()
    assert not told[distance > 1.5 * reach + 5 * hidden.CELL].any()
    assert 100 < np.count_nonzero(told) < 880
