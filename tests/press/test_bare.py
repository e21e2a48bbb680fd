"""White on white is left out: the library without our help is the measure, and pairs of boxes."""

from __future__ import annotations

import random

import numpy as np
import pypdfium2 as pdfium
import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.geometry import Affine, Box, Grid
from prepcheck.press import bare
from prepcheck.press import pdfium as painting
from tests.factories import Pdf

SIDE = 60.0
"""Of the page, in mm; what is drawn is in mm as well."""
WAY = Affine.scale(25.4 / 72, 25.4 / 72)

SHAPES = (
    b"%.2f %.2f 4 3 re f",
    b"%.2f %.2f m 4 5 9 9 3 1 c f*",
    b"%.2f %.2f m 30 31 l S",
    b"BT /T 5 Tf 1 0 .3 1 %.2f %.2f Tm (fWjQ) Tj ET",
    b"%.2f %.2f 5 5 re B",
)


def _page(seed: int, whites: float, kinds: int, before: str = "") -> bytes:
    chance = random.Random(seed)
    lines = [before.encode(), b"1.5 w"]
    for _ in range(400):
        colour = (1, 1, 1) if chance.random() < whites else (0.2, chance.random(), 1)
        lines.append(b"%.2f %.2f %.2f rg %.2f %.2f %.2f RG" % (*colour, *colour))
        place = chance.uniform(0, 60), chance.uniform(0, 60)
        lines.append(SHAPES[chance.randrange(kinds)] % place)
    pdf = Pdf()
    font = pdf.add({"Type": "Font", "Subtype": "Type1", "BaseFont": "Times-Italic"})
    states = {"H": {"ca": 0.5, "CA": 0.5}, "D": {"BM": "/Difference"}}
    pdf.page(b"\n".join(lines).decode(), (SIDE, SIDE),
             resources={"Font": {"T": font}, "ExtGState": states})  # fmt: skip
    return pdf.bytes()


def _seen(page: bytes, grids: list[Grid]) -> tuple[list[bytes], int]:
    """Return what is painted over grids in turn, and how many objects were left out at the end."""
    left_out: list[int] = []
    own = bare.set_active
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            bare, "set_active", lambda some, on: (left_out.append(0 if on else len(some)),
                                                  own(some, on)),
        )  # fmt: skip
        painter = painting.Painter.open(pdfium.PdfDocument(page), 0, plain=True)
        seen = [painter.paint(WAY, grid).tobytes() for grid in grids]
    return seen, left_out[-1] if left_out else 0


GRIDS = [Grid.over(Box(0, 0, SIDE, SIDE), pitch) for pitch in (0.2, 0.1, 0.6)]


@pytest.mark.parametrize("before", ["", "0.9 g 0 0 60 60 re f", "/H gs", "/D gs"])
@pytest.mark.parametrize("kinds", [1, 4, 5])
@pytest.mark.parametrize("whites", [0.5, 0.95])
def test_no_pixel_changes(
    monkeypatch: pytest.MonkeyPatch, whites: float, kinds: int, before: str
) -> None:
    page = _page(kinds, whites, kinds, before)
    monkeypatch.setattr(painting, "FEWEST", 10**9)
    alone, _ = _seen(page, GRIDS)
    monkeypatch.setattr(painting, "FEWEST", 1)
    seen, _ = _seen(page, GRIDS)
    assert seen == alone


def test_most_of_what_knocks_out_bare_paper_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(painting, "FEWEST", 1)
    assert _seen(_page(2, 0.97, 1), GRIDS[1:2])[1] > 200
    # On a ground with ink all of it shows.
    assert _seen(_page(2, 0.97, 1, "0.9 g 0 0 60 60 re f"), GRIDS[1:2])[1] == 0


sides = st.integers(0, 120)
boxes = st.lists(st.tuples(sides, sides, st.integers(1, 60), st.integers(1, 60), st.booleans()))


@given(boxes)
def test_only_what_meets_nothing_below_it_is_idle(told: list[tuple[int, int, int, int, bool]]):
    """Each pair of boxes by itself."""
    corners = np.array([(x, y, x + w, y + h) for x, y, w, h, _ in told], np.float32).reshape(-1, 4)
    white = np.array([one[4] for one in told], bool)
    idle = set(bare.idle_among(corners, white).tolist())
    for at, (box, is_white) in enumerate(zip(corners, white, strict=True)):
        below = corners[:at][~white[:at]]
        apart = np.maximum(below[:, :2] - box[2:], box[:2] - below[:, 2:]).max(axis=1)
        if is_white and (apart > bare.CELL_PX).all():
            assert at in idle
        if not is_white or (apart < 0).any():
            assert at not in idle
