"""What the proof shows of a page: its look on the paper, its plates and ink, places enlarged."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor, Future
from typing import NamedTuple

from prepcheck.findings import Finding
from prepcheck.outline import Outline
from prepcheck.press.separate.printed import reduced
from prepcheck.press.show.appearance import appearance
from prepcheck.press.show.condition import PrintCondition
from prepcheck.proof.close_up_plan import may_be_enlarged, page_of
from prepcheck.proof.model import Inset, InsetPlan, Picture
from prepcheck.run.printing import (
    InkPictures,
    Placed,
    Printing,
    Source,
    ink_pictures,
    jpeg,
    picture_of,
)
from prepcheck.run.settings import Settings
from prepcheck.spec.model import Spec
from prepcheck.units import mm_per_px


class Looks(NamedTuple):
    """How a page looks on the paper, and its plates and ink."""

    picture: Picture
    ink: InkPictures


def looks_of(
    printing: Future[Printing],
    outline: Outline,
    spec: Spec,
    condition: PrintCondition,
    settings: Settings,
) -> Looks:
    """Return how a page looks once it has been painted."""
    plates = printing.result().plates
    small = reduced(plates, mm_per_px(settings.picture.ppi(plates.grid.box)))
    coarse = reduced(small, mm_per_px(settings.coverage.ppi(plates.grid.box)))
    grid, seen = small.grid, appearance(small, condition)
    del small
    picture = jpeg(seen, grid, settings.jpeg_quality)
    del seen
    bleed, limit = spec.bleed.wanted_mm, spec.ink.most_total_percent
    return Looks(picture, ink_pictures(coarse, outline, bleed, limit, condition, settings))


def insets_of(
    source: Source, plans: Sequence[InsetPlan], condition: PrintCondition, settings: Settings
) -> tuple[Inset, ...]:
    """Return places of one page enlarged."""
    if plans:
        source.make_ready(settings.inset)
    source.page.let_go()
    close = source.close([plan.box for plan in plans], settings.inset)
    return tuple(
        Inset(plan, picture_of(plates, condition, settings))
        for plan, plates in zip(plans, close, strict=True)
    )


class CloseUps:
    """Makes the close-ups of pages ready in the pool, once something is found to be shown so."""

    def __init__(
        self,
        pool: Executor,
        placed: Sequence[Placed],
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
