"""What the proof shows of a page: its look on the paper, its plates and ink, places enlarged."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor, Future
from functools import partial
from typing import NamedTuple

from prepcheck.findings import Finding
from prepcheck.outline import Outline
from prepcheck.press.separate.printed import reduced
from prepcheck.press.show.appearance import appearance
from prepcheck.press.show.condition import PrintCondition
from prepcheck.proof.close_up_plan import may_be_enlarged, page_of
from prepcheck.proof.model import Inset, InsetPlan, Picture
from prepcheck.run.beforehand import Beforehand
from prepcheck.run.placing import Face
from prepcheck.run.printing import (
    InkPictures,
    Printing,
    Source,
    ink_pictures,
    jpeg,
    picture_of,
    remarks_of,
    shown_by,
)
from prepcheck.run.settings import Settings
from prepcheck.spec.model import Spec
from prepcheck.units import mm_per_px


class PaperLook(NamedTuple):
    """How a page looks on the paper, by what, and its plates and ink where they are shown."""

    picture: Picture
    condition: str
    remarks: tuple[str, ...]
    ink: InkPictures | None


def looks_of(
    printing: Future[Printing],
    outline: Outline,
    spec: Spec,
    condition: PrintCondition,
    settings: Settings,
    with_plates: bool,
) -> PaperLook:
    """Return how a page looks once it has been painted."""
    plates = printing.result().plates
    small = reduced(plates, mm_per_px(settings.picture.ppi(plates.grid.box)))
    coarse = small
    if with_plates:
        coarse = reduced(small, mm_per_px(settings.coverage.ppi(plates.grid.box)))
    grid, seen = small.grid, appearance(small, condition)
    remarks = remarks_of(small, condition)
    del small
    picture = jpeg(seen, grid, settings.jpeg_quality)
    del seen
    ink = None
    if with_plates:
        bleed, limit = spec.bleed.wanted_mm, spec.ink.most_total_percent
        ink = ink_pictures(coarse, outline, bleed, limit, condition, settings)
    return PaperLook(picture, shown_by(condition), remarks, ink)


def insets_of(
    source: Source,
    plans: Sequence[InsetPlan],
    whole: Picture,
    condition: PrintCondition,
    settings: Settings,
    pool: Executor,
) -> tuple[Inset, ...]:
    """Return places of one page enlarged; those that are not sharp are shown by its picture. The
    pool makes some of the pictures, which takes a third less time (two cores, 2026)."""
    sharp = [plan for plan in plans if plan.sharp]
    if sharp:
        source.make_ready(settings.inset)
    source.page.let_go()
    close = source.close([plan.box for plan in sharp], settings.inset)
    begun = [Beforehand(pool, partial(picture_of, plates, condition, settings)) for plates in close]
    made = [one.result() for one in reversed(begun)]  # the pool begins at the other end
    return tuple(Inset(plan, made.pop() if plan.sharp else whole) for plan in plans)


class CloseUps:
    """Makes the close-ups of pages ready in the pool, once something is found to be shown so."""

    def __init__(
        self,
        pool: Executor,
        placed: Sequence[Face],
        printings: Sequence[Future[Printing]],
        settings: Settings,
    ) -> None:
        self._pool, self._settings = pool, settings
        self._waiting = {
            one.page.index + 1: printing for one, printing in zip(placed, printings, strict=False)
        }

    def notice(self, finding: Finding) -> None:
        """Take note of a finding."""
        if may_be_enlarged(finding):
            printing = self._waiting.pop(page_of(finding), None)
            if printing is not None:
                self._pool.submit(_made_ready, printing, self._settings)


def _made_ready(printing: Future[Printing], settings: Settings) -> None:
    printing.result().source.make_ready(settings.inset)
