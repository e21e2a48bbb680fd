"""Judges the pages of a part by every check, the ones that need no plates first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import Artwork
from prepcheck.errors import ArtworkError, BudgetError
from prepcheck.findings import Finding
from prepcheck.geometry import Box, FloatArray
from prepcheck.judging.naming import named
from prepcheck.judging.on_parts import SaidOfPart, run_checks
from prepcheck.judging.registry import all_checks
from prepcheck.judging.settle import settled
from prepcheck.run.answer import Task
from prepcheck.run.beforehand import Beforehand
from prepcheck.run.placing import Face
from prepcheck.run.printing import Begun, TotalInk, total_ink
from prepcheck.run.settings import Settings
from prepcheck.sheets.by_eye import ToRead
from prepcheck.sheets.closer import FINE_MM
from prepcheck.sheets.digest import Digest
from prepcheck.sheets.digesting import digest_of
from prepcheck.sheets.exam import Exam, Sheet, barcodes_in
from prepcheck.sheets.not_live import hidden_type, in_company
from prepcheck.spec.model import Spec
from prepcheck.units import mm_per_px

_MOST_RUNS = 4000
_SPARSE = 4.0
"""A run whose box is this much larger than its glyphs' together lies aslant or on a curve."""


class Judged(NamedTuple):
    """What all checks said, the total ink of each page, where its type stands, what the order's
    checks need, and what is still to be read by eye for them."""

    said: SaidOfPart
    totals: tuple[TotalInk, ...]
    words: tuple[tuple[Box, ...], ...]
    digest: Digest | None
    unread: ToRead | None


def judged(
    task: Task,
    artwork: Artwork,
    spec: Spec,
    placed: Sequence[Face],
    begun: Sequence[Begun],
    pool: Executor,
    noticed: Callable[[Finding], object],
) -> Judged:
    """Judge pages while they are still being painted; each finding is told to `noticed` at once.
    The pool looks for barcodes meanwhile.

    Raises ArtworkError where the file cannot be read after all.
    """
    sheets = tuple(
        _sheet(face, one, face.looked_at(spec, task.settings), task.settings)
        for face, one in zip(placed, begun, strict=True)
    )
    for sheet in sheets:
        try:
            _ = sheet.content
        except BudgetError:
            raise
        except ArtworkError:
            pass  # each check that asks for it says so
    barcodes = Beforehand(pool, partial(barcodes_in, spec, sheets))
    exam = Exam(spec, artwork, sheets, task.part, task.order, barcodes.result)
    said = run_checks(exam, all_checks(), noticed)
    said = replace(said, findings=settled(named(said.findings, sheets), spec, exam.is_raster))
    totals = tuple(
        total_ink(sheet.cells, spec.bleed.wanted_mm, spec.ink.most_total_percent)
        for sheet in sheets
    )
    held = task.order is not None or task.among
    digest, unread = digest_of(exam) if held else (None, None)
    words = tuple(tuple(_words(sheet)) if task.with_pictures else () for sheet in sheets)
    return Judged(said, totals, words, digest, unread)


def _words(sheet: Sheet) -> Iterator[Box]:
    """Yield where type stands: a box a run, or a glyph where the run lies aslant; a letter that is
    drawn as an outline."""
    try:
        texts, hidden = sheet.content.type_table, hidden_type(sheet)
    except ArtworkError:
        return
    for shapes in hidden.shapes.values():
        yield from in_company(shapes)
    runs = texts.taken(np.flatnonzero((texts.paints & (texts.counts > 0))[:_MOST_RUNS]))
    corners, first = runs.glyphs.corners, runs.glyphs.first.tolist()
    glyphs = np.hstack((corners.min(axis=1), corners.max(axis=1)))
    own = np.bincount(runs.glyphs.owners, weights=_areas(glyphs), minlength=len(runs))
    dense = (_areas(runs.boxes) <= _SPARSE * own).tolist()
    boxes, each = runs.boxes.tolist(), glyphs.tolist()
    for row, as_one in enumerate(dense):
        some = [boxes[row]] if as_one else each[first[row] : first[row + 1]]
        yield from map(Box._make, some)


def _areas(boxes: FloatArray) -> FloatArray:
    """Return the area of each box (n, 4) in mm²."""
    sides = np.maximum(boxes[:, 2:] - boxes[:, :2], 0.0)
    return np.asarray(sides[:, 0] * sides[:, 1])


def _sheet(placed: Face, begun: Begun, box: Box, settings: Settings) -> Sheet:
    painted, printing = begun.painted, begun.printing
    coarse = mm_per_px(settings.view.ppi(box)) > FINE_MM
    return Sheet(
        placed.page.index + 1, placed.page, placed.outline, placed.placement,
        render=lambda _: printing.result().view,
        separate=lambda _: painted.result().plates,
        closer=lambda *asked: painted.result().source.plates_of(*asked),
        foreseen=begun.closely if coarse else None,
        walked=begun.content,
    )  # fmt: skip
