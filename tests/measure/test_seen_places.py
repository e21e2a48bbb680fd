"""Where an edge is seen: squares of known place and colour, in one view or several at once."""

import numpy as np
import pytest

from prepcheck.geometry import FloatArray, Grid
from prepcheck.measure import seen
from prepcheck.measure.seen import Strokes, across_of, seen_in_each, seen_places
from prepcheck.press.view import View

PITCH, SIDE = 0.05, 300
LIGHT, DARK = (230, 224, 190), (20, 40, 90)


def view_with(*squares: tuple[float, float, float]) -> View:
    """Return a view of 15 mm a side, its lower left at (0, 0), with dark squares: x, y, side."""
    rgb = np.empty((SIDE, SIDE, 3), np.uint8)
    rgb[:] = LIGHT
    for x, y, side in squares:
        columns = slice(round(x / PITCH), round((x + side) / PITCH))
        rows = slice(SIDE - round((y + side) / PITCH), SIDE - round(y / PITCH))
        rgb[rows, columns] = DARK
    grid = Grid(SIDE, SIDE, PITCH, 0.0, SIDE * PITCH)
    return View(rgb[..., 0], rgb[..., 1], rgb, grid)


def round_square(x: float, y: float, side: float) -> FloatArray:
    """Return places along a square, with the square on the left of the way."""
    along = np.arange(0.0, side, 0.08)
    still, back = np.zeros_like(along), side - along
    ways = ((along, still), (still + side, along), (back, still + side), (still, back))
    return np.array((x, y)) + np.concatenate([np.column_stack(way) for way in ways])


def strokes_of(*squares: FloatArray, colour: tuple[int, ...] = DARK) -> Strokes:
    edge = np.repeat(np.arange(len(squares)), [len(one) for one in squares])
    points = np.concatenate(squares)
    own = np.tile(np.array(colour) / 255.0, (len(squares), 1))
    return Strokes(
        points, across_of(points, edge), np.zeros(len(points)), edge, own,
        np.ones(len(squares), np.bool_),
    )  # fmt: skip


DRAWN, ABSENT = (3.0, 4.0, 5.0), (9.5, 9.5, 3.0)


def test_the_sides_of_a_square_are_seen_and_those_of_none_are_not() -> None:
    view, drawn, absent = view_with(DRAWN), round_square(*DRAWN), round_square(*ABSENT)
    seen_at = seen_places(view, strokes_of(drawn, absent))
    assert seen_at[: len(drawn)].mean() > 0.9
    assert not seen_at[len(drawn) :].any()


def test_the_paint_may_lie_on_either_side_of_the_way() -> None:
    view, drawn = view_with(DRAWN), round_square(*DRAWN)
    for ways in (drawn, drawn[::-1]):
        assert seen_places(view, strokes_of(ways)).mean() > 0.9


@pytest.mark.parametrize("together", [50, 1 << 15])
def test_places_in_several_views_are_seen_each_in_its_own(
    monkeypatch: pytest.MonkeyPatch, together: int
) -> None:
    monkeypatch.setattr(seen, "_PLACES_AT_A_TIME", together)
    views = view_with(DRAWN), view_with(ABSENT), view_with()
    drawn, absent = round_square(*DRAWN), round_square(*ABSENT)
    each = [(views[0], drawn), (views[1], absent), (views[2], drawn), (views[1], drawn)]
    shown = seen_in_each(
        [(view, len(places)) for view, places in each],
        strokes_of(*(places for _, places in each)),
    )
    parts = np.split(shown, np.cumsum([len(places) for _, places in each])[:-1])
    assert [part.mean() > 0.9 for part in parts] == [True, True, False, False]
    assert not parts[2].any()
    assert not parts[3].any()


def test_no_places() -> None:
    none = Strokes(np.empty((0, 2)), np.empty((0, 2)), np.empty(0), np.empty(0, np.intp),
                   np.empty((0, 3)), np.empty(0, np.bool_))  # fmt: skip
    assert not len(seen_places(view_with(), none))
    assert not len(seen_in_each([], none))
