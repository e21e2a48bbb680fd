"""Pages of very many objects: the library without our help is the measure."""

from __future__ import annotations

import ctypes
import random
from collections.abc import Callable

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest

from prepcheck.geometry import Affine, Box, Grid
from prepcheck.press import crowded, hidden
from prepcheck.press import pdfium as painting
from tests.factories import Pdf

Draw = Callable[[random.Random], bytes]
SIDE = 60.0
"""Of the page, in mm; what is drawn is in mm as well."""


def _strokes(chance: random.Random) -> bytes:
    ends = (chance.uniform(5, 55) for _ in range(4))
    return b"%.2f %.2f m %.2f %.2f l S" % tuple(ends)


def _discs(chance: random.Random) -> bytes:
    x, y = chance.uniform(5, 50), chance.uniform(5, 50)
    return b"%.2f %.2f m %.2f %.2f %.2f %.2f %.2f %.2f c f" % (
        x, y, x + 3, y + 9, x + 6, y + 9, x + 9, y)  # fmt: skip


def _words(chance: random.Random) -> bytes:
    places = chance.uniform(8, 40), chance.uniform(8, 50)
    return b"BT /T 6 Tf 1 0 .3 1 %.2f %.2f Tm (fWjQ%d) Tj ET" % (*places, chance.randrange(99))


def _made(draw: Draw, colours: int, count: int = 1200) -> bytes:
    chance = random.Random(f"{draw.__name__} {colours}")
    lines = [b"3 w 0.2 0.2 1 RG 0.2 0.2 1 rg"]
    for at in range(count):
        if at % 150 == 149:
            shade = at // 150 % colours / 4
            lines.append(b"%.2f 0.2 1 RG %.2f 0.2 1 rg" % (shade, shade))
        lines.append(draw(chance))
    pdf = Pdf()
    font = pdf.add({"Type": "Font", "Subtype": "Type1", "BaseFont": "Times-Italic"})
    half = {"ca": 0.5, "CA": 0.5}
    pdf.page(b"\n".join(lines).decode(), (SIDE, SIDE),
             resources={"Font": {"T": font}, "ExtGState": {"H": half}})  # fmt: skip
    return pdf.bytes()


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Have pages of a hundred objects count as crowded; gives how many were painted."""
    for module in (crowded, painting):
        monkeypatch.setattr(module, "MANY", 100)
    monkeypatch.setattr(crowded, "FIRST", 200)
    monkeypatch.setattr(crowded, "LOOKED_AT", 100)
    counted: list[int] = []
    own = hidden.set_active

    def count(objects, active):
        counted.append(len(objects) if active else 0)
        own(objects, active)

    monkeypatch.setattr(hidden, "set_active", count)
    return counted


@pytest.mark.parametrize("colours", [1, 3])
@pytest.mark.parametrize("draw", [_strokes, _discs, _words])
def test_what_changes_nothing_is_left_out_and_no_pixel_changes(draw, colours, asked):
    document = pdfium.PdfDocument(_made(draw, colours))
    grid, way = Grid.over(Box(0, 0, SIDE, SIDE), 0.25), Affine.scale(25.4 / 72, 25.4 / 72)
    seen = painting.Painter.open(document, 0, plain=True).paint(way, grid)
    painted = sum(asked)
    alone = painting.Painter.open(document, 0).paint(way, grid)
    # Lines that leave a window are cut there, which may round their ends otherwise.
    assert np.abs(seen.astype(int) - alone).max() <= 1
    assert np.count_nonzero(seen != alone) < 1e-3 * seen.size
    assert painted < 1200 if colours == 1 else painted <= 1200
    assert painted >= 200


def test_a_place_of_the_page_is_painted_as_it_is_in_the_whole(asked):
    document = pdfium.PdfDocument(_made(_strokes, 3))
    way = Affine.scale(25.4 / 72, 25.4 / 72)
    painter = painting.Painter.open(document, 0, plain=True)
    # In the small one few objects lie, which are painted together; then all take part again.
    for box in (Box(20, 20, 30, 30), Box(20, 20, 21, 21), Box(20, 20, 30, 30)):
        grid = Grid.over(box, 0.05)
        assert np.array_equal(
            painter.paint(way, grid), painting.Painter.open(document, 0).paint(way, grid)
        )


def test_what_lets_see_through_is_painted(asked):
    """Half of a colour on itself is that colour, but no one asks what it would be on others."""
    source = _made(_discs, 1).replace(b"3 w", b"/H gs 3 w")
    document = pdfium.PdfDocument(source)
    page = document[0]
    one = pdfium_c.FPDFPage_GetObject(page, 3)
    handle = ctypes.cast(one, ctypes.c_void_p).value
    colours, _ = crowded.paints_of(np.array([handle], np.uintp), 1.0)
    assert colours.tolist() == [crowded.UNTOLD]
