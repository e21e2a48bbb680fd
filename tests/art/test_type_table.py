"""Type kept as columns, against the same runs kept one by one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from prepcheck.art.model import GlyphShape, Paint, Space, SpaceFamily, TextRun
from prepcheck.art.type_table import TypePile, TypeTable
from prepcheck.geometry import Box, FloatArray, Quad

INK, GREY = (
    Paint(Space(SpaceFamily.GREY, 1), (shade,), (("Black", 1 - shade),), (shade,) * 3)
    for shade in (0.0, 0.5)
)


class _Face:
    def outline(self, glyph: str) -> tuple[FloatArray, ...]:
        return ()


A, B = (GlyphShape(_Face(), glyph, (0.0, 0.0, 1.0, 1.0)) for glyph in "AB")


def _run(
    at: float,
    text: str,
    shapes: tuple[GlyphShape | None, ...],
    fill: Paint | None = INK,
    layer: str | None = None,
    mode: int = 0,
) -> TextRun:
    boxes = [Box(at + n, 0.0, at + n + 0.8, 2.0) for n in range(len(shapes))]
    stroke = None if mode == 0 else GREY
    glyphs = tuple(Quad(*box.corners) for box in boxes)
    return TextRun(
        text, "Face", 8.0 + at, glyphs, fill, stroke, 0.1 * mode, mode, layer, True,
        shapes if any(shapes) else (), 1.0 + at / 100,
        Box(at, 0.0, at + len(shapes) - 0.2, 2.0) if boxes else None, mode == 2,
    )  # fmt: skip


RUNS = [
    _run(0.0, "AB", (A, B)), _run(3.0, "?", (None,), GREY, "Art"), _run(5.0, "", (), INK),
    _run(6.0, "BA", (B, None), None, "Cut", 2), _run(9.0, "A", (A,), INK, None, 3),
]  # fmt: skip


def _agree(table: TypeTable, runs: Sequence[TextRun]) -> None:
    """The runs, and the columns that checks go by, are those of the runs one by one."""
    assert [*table] == [*runs] == [table[at] for at in range(len(runs))]
    assert table.paints.tolist() == [run.paints for run in runs]
    assert table.placed.tolist() == [run.box is not None for run in runs]
    assert table.counts.tolist() == [len(run.glyphs) for run in runs]
    assert table.where(lambda style: INK in style.marks_with).tolist() == [
        INK in run.marks_with for run in runs
    ]
    assert {style.layer for style in table.used_styles()} == {run.layer for run in runs}
    owners = [at for at, run in enumerate(runs) for _ in run.glyphs]
    assert table.glyphs.owners.tolist() == owners
    corners = [quad.array() for run in runs for quad in run.glyphs]
    assert np.array_equal(table.glyphs.corners, np.array(corners).reshape(-1, 4, 2))


def test_a_table_holds_its_runs() -> None:
    table = TypeTable.of(RUNS)
    _agree(table, RUNS)
    assert table[-1] == RUNS[-1]
    assert table[1:4] == tuple(RUNS[1:4])
    assert table == tuple(RUNS)
    assert table != tuple(RUNS[:-1])
    with pytest.raises(IndexError):
        table[5]
    _agree(TypeTable.of(()), [])


@pytest.mark.parametrize("rows", [(), (0, 2, 4), (1, 3), (0, 1, 2, 3, 4)])
def test_some_runs_are_taken(rows: tuple[int, ...]) -> None:
    _agree(TypeTable.of(RUNS).taken(np.array(rows, np.intp)), [RUNS[row] for row in rows])


def test_runs_and_tables_are_chained_in_their_order() -> None:
    pile, other = TypePile(), TypePile()
    pile.append(RUNS[4])
    pile.add(TypeTable.of(RUNS[:3]))
    pile.append(RUNS[3])
    other.append(RUNS[0])
    other.add(TypeTable.of(RUNS[3:]))
    other.append(RUNS[1])
    pile.add_all(other)
    every = [RUNS[4], *RUNS[:3], RUNS[3], RUNS[0], *RUNS[3:], RUNS[1]]
    assert len(pile) == len(every)
    for first in range(len(every) + 1):
        boxes = [run.box for run in every[first:] if run.box is not None]
        assert [*pile.boxes(first)] == boxes
    _agree(pile.table(), every)
    assert [*pile.boxes(2)] == [run.box for run in every[2:] if run.box is not None]


def test_a_cell_places_all_its_type() -> None:
    box = Box(1.0, 2.0, 3.0, 4.0)
    pile = TypePile()
    pile.append(RUNS[0])
    pile.append(RUNS[4])
    (one, other) = pile.all_at(box).table()
    for run, was in ((one, RUNS[0]), (other, RUNS[4])):
        assert (run.box, [quad.box for quad in run.glyphs], run.shapes) == (box, [box], ())
        assert (run.text, run.fill, run.mode, run.tight) == (was.text, was.fill, was.mode, False)
