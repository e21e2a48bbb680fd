"""What the paths of a run are painted with: the settings between them, as columns."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.pdf.colour import PatternSpace
from prepcheck.art.pdf.content.context import Listener, OnLayer
from prepcheck.art.pdf.content.flat import Flat
from prepcheck.art.pdf.content.painted import PaintedBatch, PaintStyle, PlacingState
from prepcheck.art.pdf.content.plain import Indices
from prepcheck.art.pdf.content.record import PaintPath
from prepcheck.art.pdf.content.runs import OPERATORS, PathRun, SettingColumns
from prepcheck.art.pdf.content.state import Extension, State, StateColour
from prepcheck.art.pdf.tokens import Operation

_EXTENDED = (
    "fill_overprint", "stroke_overprint", "overprint_mode", "fill_opacity", "stroke_opacity",
    "line_width", "dashed", "cap", "join", "mitre_limit",
)  # fmt: skip
"""The fields of the state that graphics state dictionaries set, by the names they have there."""
_FIELDS = "fill", "stroke", *_EXTENDED
_SETS = {
    **dict.fromkeys(b"g rg k cs sc scn".split(), "fill"),
    **dict.fromkeys(b"G RG K CS SC SCN".split(), "stroke"),
    b"w": "line_width", b"d": "dashed", b"J": "cap", b"j": "join", b"M": "mitre_limit",
}  # fmt: skip
"""The field of the state that each operator sets; others of a run's have no effect here."""
_PLACELESS = frozenset(range(_FIELDS.index("line_width")))
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


class Setter(NamedTuple):
    """How settings are followed: `follow` changes the state by one, and says whether it has any
    effect; `extension` tells what a graphics state dictionary sets."""

    follow: Callable[[Operation], bool]
    extension: Callable[[Operation], Extension]


def taken(
    run: PathRun,
    state: State,
    setting: Setter,
    flat: Flat,
    layer: OnLayer,
    listener: Listener | None,
    placing: bool,
) -> PaintedBatch | None:
    """Follow a run, and tell the listener; return its paths, with their styles where they are to
    be placed.

    None, and the state is as it was, where the run must be followed in steps: where paints depend
    on the place painted, or something is at fault.
    """
    before = [getattr(state, field) for field in _FIELDS]
    try:
        batch = _batch(run, state, setting, flat, layer, listener, placing)
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
    setting: Setter,
    flat: Flat,
    layer: OnLayer,
    listener: Listener | None,
    placing: bool,
) -> PaintedBatch | None:
    run, spaces = _in_spaces(run)
    before = [getattr(state, field) for field in _FIELDS]
    effects = _effects(run.settings, spaces, state, setting, listener)
    if effects is None:
        return None
    found = [effect.get("fill") or effect.get("stroke") for effect in effects]
    colours = [one if isinstance(one, StateColour) else None for one in found]
    events = [] if listener is None else listener.set_colours(run.settings, colours)
    _set(state, before)
    columns = _columns(run, state, effects)
    after = [getattr(state, field) for field in _FIELDS]
    first, which = _different(run.by, columns)
    styles: list[PaintStyle] = []
    paintings: list[PaintPath | None] = []
    # A page of a million styles has few looks: most styles differ in colour.
    looks: dict[tuple[int, ...], PlacingState | None] = {}
    varying = [number for number, column in enumerate(columns) if len(column.values) > 1]
    chosen = [columns[number].of_paths[first].tolist() for number in varying]
    shaping = sum(number not in _PLACELESS for number in varying)
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
        listener.follow_run(run, events, paintings, which)
    return PaintedBatch(run.paths, styles, which)


def _set(state: State, values: list[object]) -> None:
    for field, value in zip(_FIELDS, values, strict=True):
        setattr(state, field, value)


def _in_spaces(run: PathRun) -> tuple[PathRun, list[int]]:
    """Return a run of which components that are set in different spaces are different settings,
    and for each different setting the number of the one that set the space, -1 where it was set
    before the run or does not matter."""
    settings = run.settings
    operators = [operator for operator, _ in settings.different]
    within = np.array([operator in _IN_SPACE for operator in operators], np.bool_)
    if within.all() or not within.any():
        return run, [-1] * len(operators)
    under = np.zeros(len(settings.which), np.intp)
    for field in ("fill", "stroke"):
        own = np.array([_SETS.get(operator) == field for operator in operators], np.bool_)
        rows = np.flatnonzero(own[settings.which])
        number = settings.which[rows]
        last = np.maximum.accumulate(np.where(within[number], -1, np.arange(len(rows))))
        under[rows] = np.where(within[number] & (last >= 0), number[last] + 1, 0)
    if not under.any():
        return run, [-1] * len(operators)
    code = settings.which * (len(operators) + 1) + under
    _, first, which = np.unique(code, return_index=True, return_inverse=True)
    # They are followed in the order in which they are met, so that spaces come first.
    order = np.argsort(first)
    number = np.empty_like(order)
    number[order] = np.arange(len(order))
    met = first[order]
    renumbered = np.full(len(operators) + 1, -1)
    alone = under[met] == 0
    renumbered[settings.which[met[alone]] + 1] = np.flatnonzero(alone)
    different = [settings.different[at] for at in settings.which[met].tolist()]
    settings = settings._replace(different=different, which=number[which])
    return run._replace(settings=settings), renumbered[under[met]].tolist()


def _effects(
    settings: SettingColumns,
    spaces: list[int],
    state: State,
    setting: Setter,
    listener: Listener | None,
) -> list[dict[str, object]] | None:
    """Follow the different settings of a run, and return the fields that each sets; None where one
    of them must be followed in steps."""
    before = {"fill": state.fill, "stroke": state.stroke}
    effects: list[dict[str, object]] = []
    for (operator, raw), space in zip(settings.different, spaces, strict=True):
        step = Operation(operator, raw, 0, 0)
        if operator == b"gs":
            known = setting.extension(step)
            if known.blends or known.masks or known.font or state.repaints or state.mask:
                return None
            state.extend(known)
            if listener is not None and not listener.heed_extension(step, state):
                return None
            fields = [field for field in _EXTENDED if getattr(known, field) is not None]
            effects.append({field: getattr(state, field) for field in fields})
            continue
        field = _SETS.get(operator, "")
        if operator in _IN_SPACE:
            setattr(state, field, before[field] if space < 0 else effects[space][field])
        if not field or not setting.follow(step):
            effects.append({})
            continue
        value = getattr(state, field)
        if isinstance(value, StateColour) and isinstance(value.space, PatternSpace):
            return None
        effects.append({field: value})
    return effects


def _columns(run: PathRun, state: State, effects: list[dict[str, object]]) -> list[_Column]:
    """Return the fields of the state through a run, and leave it as the run does."""
    settings, columns = run.settings, []
    paths, as_before = np.arange(len(run.by)), np.zeros(len(run.by), np.intp)
    for field in _FIELDS:
        own = [at for at, effect in enumerate(effects) if field in effect]
        if not own:
            columns.append(_Column([getattr(state, field)], as_before))
            continue
        local = np.zeros(len(effects), np.intp)
        local[own] = np.arange(len(own)) + 1
        numbers = local[settings.which]
        rows = np.flatnonzero(numbers)
        through = np.append(0, numbers[rows])
        columns.append(
            _Column(
                [getattr(state, field), *(effects[at][field] for at in own)],
                through[np.searchsorted(settings.before[rows], paths, "right")],
            )
        )
        setattr(state, field, columns[-1].values[through[-1]])
    return columns


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
