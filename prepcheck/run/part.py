"""Examines one part: what a worker does."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image

from prepcheck.art.model import Artwork, Page
from prepcheck.art.open import open_art
from prepcheck.checks import all_checks, declarations
from prepcheck.checks._base import Exam, Sheet
from prepcheck.checks._run import run_checks
from prepcheck.errors import ArtworkError, UsageError
from prepcheck.findings import Finding, Outcome, PartResult, Severity, Status
from prepcheck.geometry import Box, Grid
from prepcheck.measure.trim import locate_trim
from prepcheck.press.plates import Plates, make_plates
from prepcheck.press.render import render_rgb, render_view
from prepcheck.press.view import ByteArray, View
from prepcheck.proof.model import Inset, InsetPlan, Picture, ProofPage, ProofPart
from prepcheck.proof.plan import plan_insets
from prepcheck.run.answer import Answer, Task, without_numpy
from prepcheck.run.recognise import recognise
from prepcheck.run.settings import Settings
from prepcheck.spec.model import Spec
from prepcheck.units import MM_PER_INCH, mm_per_px

UNREADABLE = "file.unreadable"


def examine_part(task: Task) -> Answer:
    """Open the art, settle the spec, find the trim, run every check and make the pictures.

    The answer names its spec and leaves it out; `with_spec` puts it back.
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
    except UsageError as error:
        return Answer(usage_faults=error.lines)
    try:
        sheets = _sheets(artwork, spec, number, task.settings)
        for _, sheet in sheets:
            sheet.view  # noqa: B018  # drawn now, so that a page that cannot be is no check's crash
    except ArtworkError as error:
        return Answer(unreadable_part(task, str(error)))
    exam = Exam(spec, artwork, tuple(sheet for _, sheet in sheets), task.part, task.order)
    said = run_checks(exam, all_checks())
    placement = sheets[0][1].placement
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
    pages = _proof_pages(result, sheets, task.settings) if task.with_pictures else ()
    return Answer(ProofPart(result, None, pages))


def with_spec(proof: ProofPart, task: Task) -> ProofPart:
    """Return a worker's answer with the spec it names, taken from the task."""
    spec = next((spec for spec in task.specs if spec.name == proof.result.spec), None)
    return replace(proof, spec=spec)


def unreadable_part(task: Task, why: str, *, ours: bool = False) -> ProofPart:
    """Return a part that could not be examined, as one stop; `ours` when prepcheck is at fault."""
    spec = task.specs[0] if len(task.specs) == 1 else None
    # An error of the art room names the file, says what is wrong and, behind a semicolon, what
    # to do about it.
    what, _, advice = why.removeprefix(f"{task.path.name}: ").rpartition("; ")
    if not what:
        what, advice = advice, "export it again as PDF, and have it looked at if that is no help"
    if ours:
        advice = "report this to the makers of prepcheck and have the file looked at by hand"
    finding = Finding(
        check=UNREADABLE,
        severity=Severity.STOP,
        message=f"The file cannot be examined: {what}.",
        fix=f"{advice[:1].upper()}{advice[1:]}.",
        source="common practice",
    )
    status = Status.CRASHED if ours else Status.STOP
    others = [name for name in declarations() if name != UNREADABLE]
    outcomes = [
        Outcome(UNREADABLE, status, finding.message),
        *(Outcome(n, Status.NOT_APPLICABLE, "the file cannot be examined") for n in others),
    ]
    digest, size = _digest(task.path)
    result = PartResult(
        name=task.name,
        file=task.file,
        sha256=digest,
        bytes=size,
        spec=None if spec is None else spec.name,
        recognised_by=task.told or "not recognised: the file cannot be examined",
        pages=0,
        trim_mm=None,
        trim_found_by=None,
        outcomes=tuple(sorted(outcomes, key=lambda outcome: outcome.check)),
        findings=(finding,),
        measured={name: None for d in declarations().values() for name in d.measures},
        side=None if task.part is None else task.part.side,
    )
    return ProofPart(result, spec)


def _settled(task: Task, artwork: Artwork, page: Page) -> tuple[Spec, str]:
    if task.told is not None:
        return task.specs[0], task.told
    order_format = None if task.order is None else task.order.order.format
    return recognise(artwork, page, task.specs, order_format, task.file)


def _sheets(
    artwork: Artwork, spec: Spec, number: int | None, settings: Settings
) -> list[tuple[int, Sheet]]:
    """Return the pages to judge, each with its index among the spec's pages."""
    if number is None:
        chosen = [(index, artwork.pages[index]) for index in range(len(artwork.pages))]
        chosen = chosen[: len(spec.pages)]
    else:
        index = number - 1 if number <= len(spec.pages) else 0
        chosen = [(index, artwork.pages[number - 1])]
    known = artwork.raster is None or artwork.raster.ppi is not None

    def render(sheet: Sheet) -> View:
        box = _looked_at(sheet, spec, settings)
        return render_view(sheet.page, sheet.placement.to_piece, box, settings.view.ppi(box))

    def separate(sheet: Sheet) -> Plates:
        box = _looked_at(sheet, spec, settings)
        return make_plates(sheet.page, sheet.placement.to_piece, box, settings.view.ppi(box))

    sheets = []
    for index, page in chosen:
        outline = spec.outline_of(index)
        placement = locate_trim(
            page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm, known,
            artwork.document.layers,
        )  # fmt: skip
        sheet = Sheet(page.index + 1, page, outline, placement, render, separate)
        sheets.append((index, sheet))
    return sheets


def _looked_at(sheet: Sheet, spec: Spec, settings: Settings) -> Box:
    return sheet.outline.bounds.grown(spec.bleed.wanted_mm + settings.margin_mm)


def _proof_pages(
    result: PartResult, sheets: Sequence[tuple[int, Sheet]], settings: Settings
) -> tuple[ProofPage, ...]:
    plans = plan_insets(result)
    pages = []
    for index, sheet in sheets:
        own = [plan for plan in plans if plan.page == sheet.number]
        insets = tuple(_inset(sheet, plan, settings) for plan in own)
        pages.append(ProofPage(sheet.number, index, _picture(sheet.view, settings), insets))
    return tuple(pages)


def _picture(view: View, settings: Settings) -> Picture:
    """Return the page as a picture, made smaller from the view that was measured on."""
    grid = view.grid
    pitch = max(mm_per_px(settings.picture.ppi(grid.box)), grid.pitch)
    share = pitch / grid.pitch
    width, height = int(grid.width / share + 1e-6), int(grid.height / share + 1e-6)
    # The part of a pixel that is left over at the right and below is cut off.
    image = Image.fromarray(view.rgb).resize(
        (width, height), Image.Resampling.BOX, (0.0, 0.0, width * share, height * share)
    )
    small = Grid(width, height, pitch, grid.left, grid.top)
    return Picture(_jpeg(np.asarray(image), pitch, settings), small)


def _inset(sheet: Sheet, plan: InsetPlan, settings: Settings) -> Inset:
    ppi = settings.inset.ppi(plan.box)
    rgb, grid = render_rgb(sheet.page, sheet.placement.to_piece, plan.box, ppi)
    return Inset(plan, Picture(_jpeg(rgb, grid.pitch, settings), grid))


def _jpeg(rgb: ByteArray, pitch: float, settings: Settings) -> bytes:
    out = io.BytesIO()
    ppi = MM_PER_INCH / pitch
    Image.fromarray(rgb).save(
        out, "JPEG", quality=settings.jpeg_quality, subsampling="4:4:4", dpi=(ppi, ppi)
    )
    return out.getvalue()


def _digest(path: Path) -> tuple[str, int]:
    """Return the SHA-256 and the size of a file; of nothing when it cannot even be read."""
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            return digest, file.tell()
    except OSError:
        return "", 0


def _pages(count: int) -> str:
    return "1 page" if count == 1 else f"{count} pages"
