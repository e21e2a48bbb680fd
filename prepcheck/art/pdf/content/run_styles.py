"""What the paths of a run are painted with: the settings between them, as columns."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.pdf.content.context import Listener, OnLayer
from prepcheck.art.pdf.content.flat import Flat
from prepcheck.art.pdf.content.painted import PaintedBatch, PaintStyle, PlacingState
from prepcheck.art.pdf.content.plain import Indices
from prepcheck.art.pdf.content.record import PaintPath
from prepcheck.art.pdf.content.runs import OPERATORS, PathRun
from prepcheck.art.pdf.content.state import State, StateColour
from prepcheck.art.pdf.tokens import Operation

_FIELDS = "fill", "stroke", "line_width", "dashed", "cap", "join", "mitre_limit"
_SETS = {
    **dict.fromkeys(b"g rg k sc scn".split(), 0), **dict.fromkeys(b"G RG K SC SCN".split(), 1),
    b"w": 2, b"d": 3, b"J": 4, b"j": 5, b"M": 6,
}  # fmt: skip
"""The field of the state that each operator sets; others of a run's have no effect here."""
_COLOURS = frozenset((0, 1))
"""Fields that have no effect on the place of a path; they come first."""
_IN_SPACE = frozenset(b"sc scn SC SCN".split())
"""Operators whose effect depends on what was set before."""
_MOST = 2**31
"""Columns are combined in one integer while they have so many values at most."""


class _Column(NamedTuple):
    """A field of the state through a run: its different values, the first one from before it, and
    the number of that which each path is painted with."""

    values: list[object]
    of_paths: Indices


def taken(
    run: PathRun,
    state: State,
    follow: Callable[[Operation], bool],
    flat: Flat,
    layer: OnLayer,
    listener: Listener | None,
    placing: bool,
) -> PaintedBatch | None:
    """Follow a run, and tell the listener; return its paths, with their styles where they are to
    be placed.

    `follow` changes the state by a setting, and says whether it has any effect. None, and the
    state is as it was, where the run must be followed in steps: where paints depend on the place
    painted, or something is at fault.
    """
    before = [getattr(state, field) for field in _FIELDS]
    try:
        batch = _batch(run, state, follow, flat, layer, listener, placing)
    except Exception as error:
        if not may_be_stepped_over(error):
            raise
        batch = None
    if batch is None:
        _set(state, before)
    return batch


def _batch(
    run: PathRun,
    state: State,
    follow: Callable[[Operation], bool],
    flat: Flat,
    layer: OnLayer,
    listener: Listener | None,
    placing: bool,
) -> PaintedBatch | None:
    found = _columns(run, state, follow)
    if found is None:
        return None
    columns, colours = found
    after = [getattr(state, field) for field in _FIELDS]
    first, which = _different(run.by, columns)
    styles: list[PaintStyle] = []
    paintings: list[PaintPath | None] = []
    # A page of a million styles has few looks: most styles differ in colour.
    looks: dict[tuple[int, ...], PlacingState | None] = {}
    varying = [number for number, column in enumerate(columns) if len(column.values) > 1]
    chosen = [columns[number].of_paths[first].tolist() for number in varying]
    shaping = sum(number not in _COLOURS for number in varying)
    for by, *values in zip(run.by[first].tolist(), *chosen, strict=True):
        for number, value in zip(varying, values, strict=True):
            setattr(state, _FIELDS[number], columns[number].values[value])
        operator = OPERATORS[by]
        if placing:
            shape = tuple(values[len(values) - shaping :])
            if shape not in looks:
                looks[shape] = flat.look(state)
            look, paints = looks[shape], flat.path(operator, state)
            if look is None or paints is None:
                return None
            styles.append(PaintStyle(operator, paints.fill, paints.stroke, look, layer))
        if listener is not None:
            paintings.append(listener.painting(operator, state))
    _set(state, after)
    if listener is not None:
        listener.follow_run(run, colours, paintings, which)
    return PaintedBatch(run.paths, styles, which)


def _set(state: State, values: list[object]) -> None:
    for field, value in zip(_FIELDS, values, strict=True):
        setattr(state, field, value)


def _columns(
    run: PathRun, state: State, follow: Callable[[Operation], bool]
) -> tuple[list[_Column], list[StateColour | None]] | None:
    """Follow a run's settings; return the fields through it, and the colour that each of the
    different settings sets. None where what one sets depends on those before it."""
    settings, before = run.settings, [getattr(state, field) for field in _FIELDS]
    fields: list[int] = []
    values: list[object] = []
    in_space: set[tuple[int, bool]] = set()
    for operator, raw in settings.different:
        number = _SETS.get(operator, -1)
        if number < 0 or not follow(Operation(operator, raw, 0, 0)):
            fields.append(-1)
            values.append(None)
            continue
        fields.append(number)
        values.append(getattr(state, _FIELDS[number]))
        in_space.add((number, operator in _IN_SPACE))
    if any((number, not depends) in in_space for number, depends in in_space):
        return None
    columns = []
    paths, of_rows = np.arange(len(run.by)), np.array(fields, np.intp)[settings.which]
    for number, field in enumerate(_FIELDS):
        own = [at for at, found in enumerate(fields) if found == number]
        local = np.zeros(len(fields), np.intp)
        local[own] = np.arange(len(own)) + 1
        rows = np.flatnonzero(of_rows == number)
        through = np.append(0, local[settings.which[rows]])
        columns.append(
            _Column(
                [before[number], *(values[at] for at in own)],
                through[np.searchsorted(settings.before[rows], paths, "right")],
            )
        )
        setattr(state, field, columns[-1].values[through[-1]])
    return columns, [value if isinstance(value, StateColour) else None for value in values]


def _different(by: Indices, columns: list[_Column]) -> tuple[Indices, Indices]:
    """Return the first path of each kind in the order in which they are met, and the number of
    each path's kind."""
    kind, most = by.astype(np.int64), len(OPERATORS)
    for values, of_paths in columns:
        if len(values) == 1:
            continue
        if most * len(values) > _MOST:
            met, kind = np.unique(kind, return_inverse=True)
            most = len(met)
        kind, most = kind * len(values) + of_paths, most * len(values)
    _, first, which = np.unique(kind, return_index=True, return_inverse=True)
    order = np.argsort(first)
    number = np.empty_like(order)
    number[order] = np.arange(len(order))
    return first[order], number[which]
