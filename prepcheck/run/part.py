"""Examines one part: what a worker does."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import suppress
from typing import NamedTuple

from prepcheck.art.model import Artwork, Page
from prepcheck.art.open import open_art
from prepcheck.checks import all_checks
from prepcheck.checks._base import Exam, Sheet
from prepcheck.checks._digest import digest_of
from prepcheck.checks._run import run_checks
from prepcheck.errors import ArtworkError, UsageError
from prepcheck.findings import PartResult
from prepcheck.measure.trim import TrimPlacement, locate_trim
from prepcheck.outline import Outline
from prepcheck.press.appearance import appearance
from prepcheck.press.condition import PrintCondition, load_condition
from prepcheck.press.output import as_intended
from prepcheck.press.plates import Plates
from prepcheck.press.printed import reduced
from prepcheck.proof.model import Inset, Picture, ProofPage, ProofPart
from prepcheck.proof.plan import plan_insets
from prepcheck.run.answer import Answer, Task, without_numpy
from prepcheck.run.printing import (
    Printing,
    Source,
    TotalInk,
    jpeg,
    picture_of,
    printed_of,
    total_ink,
)
from prepcheck.run.recognise import recognise
from prepcheck.run.settings import Settings
from prepcheck.run.unreadable import unreadable_part
from prepcheck.spec.model import Spec
from prepcheck.units import mm_per_px

INK_CHECKS = ("ink.total", "ink.heavy-solid", "ink.faint", "ink.black-solid")
"""Checks whose places are amounts of ink: they are numbered on the ink map."""


class _Printed(NamedTuple):
    """A page to judge, which of the spec's pages it is (0-based), and what was made of it once."""

    face: int
    sheet: Sheet
    printing: Printing


def examine_part(task: Task) -> Answer:
    """Open the art, settle the spec, find the trim, run every check and make the pictures.

    The answer names its spec and leaves it out; `answer.with_spec` puts it back.
    """
    try:
        artwork = open_art(task.path)
    except ArtworkError as error:
        return Answer(unreadable_part(task, str(error)))
    number = None if task.part is None else task.part.page
    if number is not None and number > len(artwork.pages):
        return Answer(
            order_faults=(
                f"part {task.name!r}: page {number} is asked for, but {task.file!r} has "
                f"{_pages(len(artwork.pages))}",
            )
        )
    if not artwork.pages:
        return Answer(unreadable_part(task, "the file has no page"))
    try:
        spec, how = _settled(task, artwork, artwork.pages[(number or 1) - 1])
        condition = load_condition(spec.print_condition)
        condition = as_intended(condition, artwork.document.output_intents)
    except UsageError as error:
        return Answer(usage_faults=error.lines)
    named = None if task.part is None else task.part.face
    face = None if named is None else spec.page_index(named)
    if named is not None and face is None:
        names = ", ".join(repr(page.name) for page in spec.pages)
        return Answer(
            order_faults=(
                f"part {task.name!r}: {spec.name} has no face {named!r}; its faces are {names}",
            )
        )
    looks: list[Future[_Looks]] = []
    with ThreadPoolExecutor(1) as pool:
        try:
            sheets = _sheets(artwork, spec, number, face, task.settings, pool)
            if task.with_pictures:
                looks = [
                    pool.submit(_looks, one.printing.plates, condition, task.settings)
                    for one in sheets
                ]
            exam = Exam(spec, artwork, tuple(one.sheet for one in sheets), task.part, task.order)
            said = run_checks(exam, all_checks())
        except ArtworkError as error:
            return Answer(unreadable_part(task, str(error)))
        placement = sheets[0].sheet.placement
        sized = placement.found_by.measures_size
        result = PartResult(
            name=task.name,
            file=task.file,
            sha256=artwork.sha256,
            bytes=artwork.bytes,
            spec=spec.name,
            recognised_by=how,
            pages=len(artwork.pages),
            trim_mm=(placement.trim.width, placement.trim.height) if sized else None,
            trim_found_by=placement.found_by.value,
            outcomes=said.outcomes,
            findings=said.findings,
            measured=said.measured,
            side=None if task.part is None else task.part.side,
        )
        result = without_numpy(result)
        digest = None if task.order is None else without_numpy(digest_of(exam))
        pages: tuple[ProofPage, ...] = ()
        if task.with_pictures:
            shown = _shown(sheets, looks, spec)
            del exam, sheets  # plates and views take much memory, and close-ups need more
            pages = _proof_pages(result, shown, spec, condition, task.settings, pool)
        return Answer(ProofPart(result, None, pages), digest)


def _settled(task: Task, artwork: Artwork, page: Page) -> tuple[Spec, str]:
    if task.told is not None:
        return task.specs[0], task.told
    order_format = None if task.order is None else task.order.order.format
    return recognise(artwork, page, task.specs, order_format, task.file)


def _sheets(
    artwork: Artwork,
    spec: Spec,
    number: int | None,
    face: int | None,
    settings: Settings,
    pool: Executor,
) -> list[_Printed]:
    """Return the pages to judge, separated once each; the pool paints them."""
    if face is not None:
        chosen = [(face, artwork.pages[(number or 1) - 1])]
    elif number is None:
        chosen = [(index, artwork.pages[index]) for index in range(len(artwork.pages))]
        chosen = chosen[: len(spec.pages)]
    else:
        index = number - 1 if number <= len(spec.pages) else 0
        chosen = [(index, artwork.pages[number - 1])]
    known = artwork.raster is None or artwork.raster.ppi is not None
    sheets = []
    for index, page in chosen:
        outline = spec.outline_of(index)
        placement = locate_trim(
            page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm, known,
            artwork.document.layers,
        )  # fmt: skip
        box = outline.bounds.grown(spec.bleed.wanted_mm + settings.margin_mm)
        begun = Printing.begun(pool, page, placement.to_piece, box, settings.view)
        sheet = _sheet(page, outline, placement, begun)
        with suppress(ArtworkError):  # each check that asks for it says so
            _ = sheet.content  # followed while the plates are being painted
        sheets.append(_Printed(index, sheet, begun.result()))
    return sheets


def _sheet(
    page: Page, outline: Outline, placement: TrimPlacement, begun: Future[Printing]
) -> Sheet:
    return Sheet(
        page.index + 1, page, outline, placement,
        render=lambda _: begun.result().view,
        separate=lambda _: begun.result().plates,
        closer=lambda *asked: begun.result().source.plates_of(*asked),
    )  # fmt: skip


class _Looks(NamedTuple):
    """How a page's plates look on the paper, and they themselves as coarse as for the ink map."""

    plates: Plates
    picture: Picture


def _looks(plates: Plates, condition: PrintCondition, settings: Settings) -> _Looks:
    small = reduced(plates, mm_per_px(settings.picture.ppi(plates.grid.box)))
    coarse = reduced(small, mm_per_px(settings.ink_map.ppi(plates.grid.box)))
    grid, seen = small.grid, appearance(small, condition)
    del small  # it would take memory while the picture is packed
    return _Looks(coarse, jpeg(seen, grid, settings.jpeg_quality))


class _Shown(NamedTuple):
    """What is kept of a judged page to show it, and how to look closer."""

    face: int
    number: int
    outline: Outline
    looks: _Looks
    total: TotalInk
    source: Source


def _shown(sheets: Sequence[_Printed], looks: Sequence[Future[_Looks]], spec: Spec) -> list[_Shown]:
    kept = []
    for (face, sheet, printing), made in zip(sheets, looks, strict=True):
        total = total_ink(sheet.cells, spec.bleed.wanted_mm, spec.ink.most_total_percent)
        shown = _Shown(face, sheet.number, sheet.outline, made.result(), total, printing.source)
        kept.append(shown)
    return kept


def _proof_pages(
    result: PartResult,
    shown: Sequence[_Shown],
    spec: Spec,
    condition: PrintCondition,
    settings: Settings,
    pool: Executor,
) -> tuple[ProofPage, ...]:
    """Return the pages; the pool paints close-ups while the plates are shown."""
    plans = plan_insets(result)
    pages = []
    for page in shown:
        own = [plan for plan in plans if plan.page == page.number]
        painting = pool.submit(page.source.close, [plan.box for plan in own], settings.inset)
        numbers = [
            number
            for number, finding in enumerate(result.findings, 1)
            if finding.check in INK_CHECKS and (finding.page or 1) == page.number
        ]
        printed = printed_of(
            page.looks.plates, page.outline, spec.bleed.wanted_mm, spec.ink.most_total_percent,
            page.total, condition, numbers, settings,
        )  # fmt: skip
        insets = tuple(
            Inset(plan, picture_of(plates, condition, settings))
            for plan, plates in zip(own, painting.result(), strict=True)
        )
        pages.append(ProofPage(page.number, page.face, page.looks.picture, insets, printed))
    return tuple(pages)


def _pages(count: int) -> str:
    return "1 page" if count == 1 else f"{count} pages"
