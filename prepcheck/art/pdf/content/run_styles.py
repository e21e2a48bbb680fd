"""What the paths of a run are painted with: the settings between them, as columns."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from prepcheck.art.faults import may_be_stepped_over
from prepcheck.art.pdf.content.context import Listener, OnLayer
from prepcheck.art.pdf.content.flat import Flat
from prepcheck.art.pdf.content.painted import Batch, Style
from prepcheck.art.pdf.content.plain import Indices
from prepcheck.art.pdf.content.record import PaintPath
from prepcheck.art.pdf.content.runs import OPERATORS, Run
from prepcheck.art.pdf.content.state import Colour, State
from prepcheck.art.pdf.tokens import Operation

_FIELDS = "fill", "stroke", "line_width", "dashed", "cap"
_SETS = {
    **dict.fromkeys(b"g rg k sc scn".split(), 0), **dict.fromkeys(b"G RG K SC SCN".split(), 1),
    b"w": 2, b"d": 3, b"J": 4,
}  # fmt: skip
"""The field of the state that each operator sets; others of a run's have no effect here."""
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
    run: Run,
    state: State,
    handlers: Mapping[bytes, Callable[[Operation], None]],
    flat: Flat,
    layer: OnLayer,
    listener: Listener | None,
) -> Batch | None:
    """Follow a run, and tell the listener; return its paths to be placed.

    `handlers` follow settings, and change the state. None, and the state is as it was, where the
    run must be followed in steps: where paints depend on the place painted, or something is at
    fault.
    """
    before = [getattr(state, field) for field in _FIELDS]
    try:
        batch = _batch(run, state, handlers, flat, layer, listener)
    except Exception as error:
        if not may_be_stepped_over(error):
            raise
        batch = None
    if batch is None:
        _set(state, before)
    return batch


def _batch(
    run: Run,
    state: State,
    handlers: Mapping[bytes, Callable[[Operation], None]],
    flat: Flat,
    layer: OnLayer,
    listener: Listener | None,
) -> Batch | None:
    columns, colours = _columns(run, state, handlers)
    after = [getattr(state, field) for field in _FIELDS]
    first, which = _different(run.by, columns)
    styles: list[Style] = []
    paintings: list[PaintPath | None] = []
    for path in first.tolist():
        _set(state, [column.values[column.of_paths[path]] for column in columns])
        operator = OPERATORS[run.by[path]]
        look, paints = flat.look(state), flat.path(operator, state)
        if look is None or paints is None:
            return None
        styles.append(Style(operator, paints.fill, paints.stroke, look, layer))
        if listener is not None:
            paintings.append(listener.painting(operator, state))
    _set(state, after)
    if listener is not None:
        listener.follow_run(run, colours, paintings, which)
    return Batch(run.paths, styles, which)


def _set(state: State, values: list[object]) -> None:
    for field, value in zip(_FIELDS, values, strict=True):
        setattr(state, field, value)


def _columns(
    run: Run, state: State, handlers: Mapping[bytes, Callable[[Operation], None]]
) -> tuple[list[_Column], list[Colour | None]]:
    """Follow a run's settings; return the fields through it, and the colour that each sets."""
    known: dict[tuple[object, ...], object] = {}
    rows: list[list[int]] = [[] for _ in _FIELDS]
    numbers: list[dict[int, int]] = [{id(getattr(state, field)): 0} for field in _FIELDS]
    values: list[list[object]] = [[getattr(state, field)] for field in _FIELDS]
    own: list[list[int]] = [[0] for _ in _FIELDS]
    colours: list[Colour | None] = []
    for at, setting in enumerate(zip(run.settings.operators, run.settings.raws, strict=True)):
        operator = setting[0]
        number = _SETS.get(operator)
        if number is None:
            colours.append(None)
            continue
        field = _FIELDS[number]
        key = (*setting, id(getattr(state, field).space)) if operator in _IN_SPACE else setting
        if key in known:
            value = known[key]
            setattr(state, field, value)
        else:
            handlers[operator](Operation(*setting, 0, 0))
            value = known[key] = getattr(state, field)
        colours.append(value if isinstance(value, Colour) else None)
        rows[number].append(at)
        found = numbers[number].setdefault(id(value), len(values[number]))
        if found == len(values[number]):
            values[number].append(value)
        own[number].append(found)
    paths = np.arange(len(run.by))
    return [
        _Column(
            values[number],
            np.array(own[number])[
                np.searchsorted(run.settings.before[rows[number]], paths, "right")
            ],
        )
        for number in range(len(_FIELDS))
    ], colours


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
