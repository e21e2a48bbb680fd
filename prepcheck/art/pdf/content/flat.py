"""How paths and text are painted in a state, as long as that does not depend on their place."""

from __future__ import annotations

from collections.abc import Callable

from pypdf.generic import StreamObject

from prepcheck.art.damage import may_be_stepped_over
from prepcheck.art.model import Paint
from prepcheck.art.pdf.content.operators import PAINTING
from prepcheck.art.pdf.content.painted import FlatPaints, PlacingState, look_in
from prepcheck.art.pdf.content.state import State, StateColour
from prepcheck.geometry import Box

PaintOf = Callable[[StateColour, bool, float, Box | None], Paint]


class Flat:
    """Tells looks and paints of states, each once."""

    def __init__(self, paint_of: PaintOf) -> None:
        self._paint_of = paint_of
        self._look: PlacingState | None = None
        self._paints: dict[tuple[object, ...], tuple[Paint | None, StateColour]] = {}
        self._paths: dict[tuple[object, ...], FlatPaints] = {}

    def look(self, state: State) -> PlacingState | None:
        """Return what a state says of a path's place; None when out of all bounds."""
        look = self._look
        if not (
            look is not None and look.ctm is state.ctm and look.clip is state.clip
            and look.width == state.line_width and look.cap == state.cap
            and look.dashed == state.dashed and look.mitre == state.mitre
        ):  # fmt: skip
            self._look = look = look_in(state)
        return look

    def path(self, operator: bytes, state: State) -> FlatPaints | None:
        """Return the paints of a path by the operator that paints it; None as `paints`."""
        key = operator, *state.painting
        found = self._paths.get(key)
        if found is None:
            paints = self.paints(state, *PAINTING[operator][:2])
            if paints is None:
                return None
            found = self._paths[key] = FlatPaints(*paints, (state.fill, state.stroke))
        return found

    def paints(
        self, state: State, filled: bool, stroked: bool
    ) -> tuple[Paint | None, Paint | None] | None:
        """Return the paints of fill and stroke; None where one depends on the place painted, or
        cannot be made, as will be met when it is used."""
        fill = stroke = None
        try:
            if filled:
                fill = self._paint(state, state.fill, state.fill_overprint, state.fill_opacity)
            if stroked:
                stroke = self._paint(
                    state, state.stroke, state.stroke_overprint, state.stroke_opacity
                )
        except Exception as error:
            if not may_be_stepped_over(error):
                raise
            return None
        if (fill is None) is filled or (stroke is None) is stroked:
            return None
        return fill, stroke

    def _paint(
        self, state: State, colour: StateColour, overprint: bool, opacity: float
    ) -> Paint | None:
        """Return a paint that does not depend on the place painted; None for a tiling."""
        group, mode = state.group_opacity, state.overprint_mode
        key = (id(colour), overprint, opacity, group, mode)
        found = self._paints.get(key)
        if found is None:
            tiled = isinstance(colour.pattern, StreamObject)
            paint = None if tiled else self._paint_of(colour, overprint, opacity * group, None)
            # The colour is kept, so that its identity is not used again.
            found = self._paints[key] = paint, colour
        return found[0]
