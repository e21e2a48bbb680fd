"""The edge in another colour past the trim, on views drawn to known sizes."""

from __future__ import annotations

import numpy as np
import pytest

from prepcheck.findings import Severity
from prepcheck.geometry import Grid
from prepcheck.press.view import View
from prepcheck.said import Clear, NotApplicable
from prepcheck.sheets.exam import Exam
from tests.checks.exams import examine, findings, make_exam

CHECK = "bleed.other-colour"
PITCH = 25.4 / 300


def disc(change_mm: float, *, half_degrees: float = 180.0, bare: bool = False) -> Exam:
    """Return a blue label that turns yellow `change_mm` past its trim, over an arc about x."""
    grid = Grid(round(110 / PITCH), round(110 / PITCH), PITCH, -55.0, 55.0)
    x, y = (axis for axis in grid.centres())
    x, y = x[None, :], y[:, None]
    yellow = (np.hypot(x, y) > 50 + change_mm) & (
        np.abs(np.degrees(np.arctan2(y, x))) <= half_degrees
    )
    rgb = np.where(yellow[..., None], (250, 220, 40), (20, 60, 160)).astype(np.uint8)
    ink = np.where(yellow, 200, 230).astype(np.uint8)
    if bare:
        rgb[:], ink[:] = 255, 0
    return make_exam(view=View(ink, rgb.mean(axis=2).astype(np.uint8), rgb, grid))


@pytest.mark.parametrize("change", [0.0, 0.6, 1.4])
def test_how_far_the_colour_runs_on_is_measured(change: float) -> None:
    (found,) = findings(CHECK, disc(change))
    assert (found.severity, found.required, found.unit) == (Severity.QUERY, 2.0, "mm")
    assert found.measured == pytest.approx(change, abs=0.15)
    assert "from dark blue into yellow" in found.message
    assert "100 % of the edge" in found.message


def test_an_arc_is_marked_where_it_is() -> None:
    (found,) = findings(CHECK, disc(0.5, half_degrees=30))
    (mark,) = found.where
    middle = mark.path[len(mark.path) // 2]
    assert (middle.x, middle.y) == pytest.approx((50.0, 0.0), abs=1.5)
    assert "17 % of the edge" in found.message


@pytest.mark.parametrize("change", [2.2, 3.5])
def test_a_change_farther_out_than_the_cut_strays_is_clear(change: float) -> None:
    (said,) = examine(CHECK, disc(change))
    assert isinstance(said, Clear)


def test_bare_paper_owes_nothing() -> None:
    (said,) = examine(CHECK, disc(0.0, bare=True))
    assert isinstance(said, NotApplicable)
