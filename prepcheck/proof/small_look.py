"""The finished look of a face, small, beside its findings: cut and drilled, or folded."""

from __future__ import annotations

from prepcheck.outline import Outline
from prepcheck.proof.drawing import Projection
from prepcheck.proof.entries import RuledHeading
from prepcheck.proof.figures import millimetres
from prepcheck.proof.finished import draw_label
from prepcheck.proof.folded import Side, sides_of
from prepcheck.proof.leaf import Block
from prepcheck.proof.looks import show
from prepcheck.proof.model import ProofPage, ProofPart
from prepcheck.proof.pen import Align, Pen, Rect
from prepcheck.proof.shift import UNSHIFTED, PrintShift, worst_shift
from prepcheck.proof.theme import BODY_SOFT, SMALL, STRONG, Palette
from prepcheck.proof.typeset import shortened, wrap
from prepcheck.spec.model import Spec
from prepcheck.units import pt_from_mm

_TALLEST = 132.0
"""Height of the art in a small view, in points."""
_LEAST_TALL = 60.0
_HEAD = 30.0
_CAPTION = 24.0
_GAP = 12.0
_VINYL = 0.88
"""How much of the width of a small record its label takes."""


def is_round(outline: Outline) -> bool:
    """Say whether a piece is cut to a circle: its print may lie off in any direction."""
    return outline.contour()[0].circle is not None


class SmallLook(Block):
    """A face as it will look when made, not to scale; no wider than its column and, where `room`
    is given, no taller than that."""

    before = 12.0

    def __init__(
        self,
        part: ProofPart,
        page: ProofPage,
        spec: Spec,
        width: float,
        room: float | None = None,
        by: PrintShift | None = None,
    ) -> None:
        """`by` is the worst shift of a round piece, where it is known."""
        self.part, self.page, self.spec, self.width = part, page, spec, width
        self.outline = spec.outline_of(page.page_index)
        self.is_round = is_round(self.outline)
        self.by = by or UNSHIFTED
        if self.is_round and by is None:
            self.by = worst_shift(part.result, page.number, spec, self.outline)
        self.sides = () if self.is_round else sides_for(self.outline)
        self.words = wrap(self._words(), SMALL, width)
        used = _HEAD + _CAPTION + SMALL.leading * len(self.words) + 9
        self.tall, self.stacked = self._size(_TALLEST if room is None else room - used)
        views = self.tall + _CAPTION
        if self.stacked:
            views = 2 * views + _GAP
        self.height = _HEAD + views + SMALL.leading * len(self.words) + 6

    def _words(self) -> str:
        if self.is_round:
            error = millimetres(self.spec.clearance.print_to_cut_mm)
            return (
                "Not to scale. Labels are drilled and cut in stacks: the print may lie off by "
                f"{error} in any direction, shown {self.by.way}."
            )
        if self.outline.folds:
            error = millimetres(
                self.spec.fold.tolerance_mm
                if self.spec.fold
                else self.spec.clearance.print_to_cut_mm
            )
            return (
                f"Not to scale; what is glued inside is not shown. Creases may lie off the print "
                f"by {error} either way."
            )
        return "Not to scale; cut at the trim."

    def _size(self, tallest: float) -> tuple[float, bool]:
        """Return how tall the views are, and whether two stand under each other."""
        if self.is_round:
            beside = (self.width - _GAP) / 2
            if beside >= _LEAST_TALL + 12:
                return min(_TALLEST, tallest, beside), False
            return min(_TALLEST, (tallest - _CAPTION - _GAP) / 2, self.width), True
        tallest = min(_TALLEST, tallest)
        wide = sum(side.box.width for side in self.sides)
        high = max(side.box.height for side in self.sides)
        gaps = _GAP * (len(self.sides) - 1)
        return min(tallest, (self.width - gaps) * high / wide), False

    def draw(self, pen: Pen, x: float, y: float) -> None:
        RuledHeading("The finished look", "", self.width).draw(pen, x, y)
        y += _HEAD
        end = self._draw_labels(pen, x, y) if self.is_round else self._draw_sides(pen, x, y)
        pen.lines(x, end + 6, self.words, SMALL)

    def _draw_labels(self, pen: Pen, x: float, y: float) -> float:
        error = millimetres(self.spec.clearance.print_to_cut_mm)
        views = (("In place", UNSHIFTED), (f"Print off by {error}", self.by))
        size = pt_from_mm(self.outline.bounds.width)
        for words, by in views:
            ground = Rect(x, y, self.tall, self.tall)
            draw_label(pen, self.page, self.outline, ground, size / (self.tall * _VINYL), by)
            style = STRONG if self.tall > 90 else SMALL.in_ink(Palette.TEXT)
            pen.text(ground.centre[0], ground.bottom + 12, words, style, Align.CENTRE)
            if self.stacked:
                y += self.tall + _CAPTION + _GAP
            else:
                x += self.tall + _GAP
        return y - _GAP if self.stacked else y + self.tall + _CAPTION

    def _draw_sides(self, pen: Pen, x: float, y: float) -> float:
        high = max(side.box.height for side in self.sides)
        scale = pt_from_mm(high) / self.tall
        for side in self.sides:
            width, height = (pt_from_mm(v) / scale for v in (side.box.width, side.box.height))
            centre = (x + width / 2, y + height / 2)
            to_page = Projection.centred(centre, side.box.centre, scale)
            with pen.turned(centre, 180.0 if side.turned else 0.0):
                for panel in side.panels:
                    show(pen, self.page, to_page, to_page, panel.box)
            words = shortened(_named(side), BODY_SOFT, width + _GAP)
            pen.text(centre[0], y + height + 12, words, BODY_SOFT, Align.CENTRE)
            x += width + _GAP
        return y + self.tall + _CAPTION


def sides_for(outline: Outline) -> tuple[Side, ...]:
    """Return what is seen of a flat or folded piece, side by side."""
    if outline.folds:
        return sides_of(outline)
    panels = [panel for panel in outline.panels if panel.kind != "flap"]
    panels.sort(key=lambda panel: (panel.box.x0, -panel.box.y1))
    return tuple(Side((panel,), panel.reads == "down") for panel in panels)


def _named(side: Side) -> str:
    names = [panel.name for panel in side.panels if panel.kind != "spine"]
    return ", ".join(names or [panel.name for panel in side.panels]).capitalize()
