"""Paths kept as columns, against the same paths kept one by one."""

from __future__ import annotations

import tracemalloc
from collections.abc import Sequence

import numpy as np
import pytest

from prepcheck.art.model import Content, Paint, PathItem, Space, SpaceFamily
from prepcheck.art.path_table import PathPile, PathTable
from prepcheck.geometry import Box
from tests.art.pdf.walking import walked
from tests.factories import one_page

INK, GREY = (
    Paint(Space(SpaceFamily.GREY, 1), (shade,), (("Black", 1 - shade),), (shade,) * 3)
    for shade in (0.0, 0.5)
)


def _path(
    at: float,
    fill: Paint | None,
    stroke: Paint | None = None,
    layer: str | None = None,
    runs: int = 1,
) -> PathItem:
    segments = tuple((at, 0.0, at + 1.0, float(run), at, 0.0) for run in range(runs))
    width = 0.0 if stroke is None else 0.3
    box = Box(at, 0.0, at + 1.0, 2.0)
    cap = int(at) % 3
    return PathItem(box, fill, stroke, width, stroke is not None, layer, segments, at > 3, cap)


PATHS = [
    _path(0.0, None, GREY), _path(1.0, INK, None, "Art", 2), _path(2.0, INK, GREY, None, 0),
    _path(3.0, GREY, INK, "Cut"), _path(4.0, GREY, None, "Art", 3),
]  # fmt: skip


def _agree(table: PathTable, paths: Sequence[PathItem]) -> None:
    """The paths, and the arrays that checks go by, are those of the paths one by one."""
    assert [*table] == [*paths] == [table[at] for at in range(len(paths))]
    one, other = Content(paths=table), Content(paths=tuple(paths))
    assert np.array_equal(one.path_boxes, other.path_boxes)
    for mine, theirs in (
        (one.path_traits, other.path_traits), (one.path_outlines, other.path_outlines)
    ):  # fmt: skip
        for name, mine_is, theirs_is in zip(mine._fields, mine, theirs, strict=True):
            if name == "layers":
                assert set(mine_is) >= set(theirs_is)
            elif name != "layer":
                assert np.array_equal(mine_is, theirs_is) or mine_is == theirs_is, name
    layers = (*one.path_traits.layers, None)
    assert [layers[at] for at in one.path_traits.layer] == [path.layer for path in paths]


def test_a_table_holds_its_paths() -> None:
    table = PathTable.of(PATHS)
    _agree(table, PATHS)
    assert table[-1] == PATHS[-1]
    assert table[1:4] == tuple(PATHS[1:4])
    assert table == tuple(PATHS)
    assert table != tuple(PATHS[:-1])
    with pytest.raises(IndexError):
        table[5]
    _agree(PathTable.of(()), [])


def test_tables_are_chained_and_parted() -> None:
    pile = PathPile()
    pile._SMALL = 0
    pile.add(PathTable.of(PATHS[2:]))
    pile.add(PathTable.of(PATHS[:3]))
    chained = pile.table()
    _agree(chained, [*PATHS[2:], *PATHS[:3]])
    rows = np.array((0, 2, 4))
    _agree(chained.taken(rows), [[*PATHS[2:], *PATHS[:3]][row] for row in rows])
    box = Box(1.0, 2.0, 3.0, 4.0)
    at = [path._replace(box=box, segments=(), clipped=True) for path in PATHS]
    _agree(PathTable.of(PATHS).all_at(box), at)


def test_a_pile_keeps_the_order() -> None:
    pile, many = PathPile(), PATHS * 150
    pile.append(PATHS[3])
    pile.add(PathTable.of(many))
    pile.append(PATHS[0])
    pile.add(PathTable.of(PATHS[:2]))
    other = PathPile()
    other.append(PATHS[4])
    pile.add_all(other)
    expected = [PATHS[3], *many, PATHS[0], *PATHS[:2], PATHS[4]]
    assert [*pile.boxes()] == [path.box for path in expected]
    assert [*pile.boxes(748)] == [path.box for path in expected[748:]]
    assert [*pile.boxes(753)] == [path.box for path in expected[753:]]
    assert len(pile) == len(expected)
    _agree(pile.table(), expected)
    pile.clear()
    assert not len(pile)
    assert not len(pile.table())


def test_very_many_paths_take_little_memory_each() -> None:
    """A page of a million rectangles is read within what one part may use (1,536 MB)."""
    count = 20_000
    page = one_page(
        "".join(f"{n % 190} {n % 180} 3 {n % 7 + 1} re f\n" for n in range(count)), (200, 200)
    )
    tracemalloc.start()
    try:
        content = walked(page)
        taken, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert len(content.paths) == count
    assert taken / count < 250
    assert content.paths[count - 1].box.width == pytest.approx(3.0)
