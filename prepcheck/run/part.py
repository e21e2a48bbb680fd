"""Examines one part: what a worker does.

Following a page comes first, since its plates take longest: they are painted in a second thread
while the checks are imported and run. What shows a page is made there as well.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from prepcheck.art.freed import give_back_freed_memory
from prepcheck.art.model import Artwork, Page
from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError, UsageError
from prepcheck.findings import PartResult
from prepcheck.geometry import Box
from prepcheck.order import loose_part
from prepcheck.press.show.condition import load_condition
from prepcheck.press.show.profiles import Intended, intended
from prepcheck.proof.close_up_plan import plan_insets
from prepcheck.proof.model import Inset, ProofPage, ProofPart
from prepcheck.run.answer import Answer, Task, without_numpy
from prepcheck.run.pages import Chosen, one_face, page_of, pages_apart
from prepcheck.run.placing import Face, faces_of, placed, settled
from prepcheck.run.plates_used import plates_used
from prepcheck.run.printing import Begun, Printing, TotalInk
from prepcheck.run.recognise import face_of, pieces_of
from prepcheck.run.settings import Settings
from prepcheck.run.showing import CloseUps, PaperLook, insets_of, looks_of
from prepcheck.run.unreadable import unreadable_part
from prepcheck.spec.model import Spec

INK_CHECKS = ("ink.total", "ink.heavy-solid", "ink.faint", "ink.black-solid")
"""Checks whose places are amounts of ink: they are numbered on the ink map."""

_READING_SHARE = 0.6
"""Share of a part's time after which nothing more is read by eye."""


def examine_part(task: Task) -> Answer:
    """Open the art, settle the spec, find the trim, run every check and make the pictures.

    The answer names its spec and leaves it out; `answer.with_spec` puts it back.
    """
    try:
        budget = task.settings.art.opened()
        before = _state(task.path)
        artwork = open_art(task.path, budget, in_place=True)
    except ArtworkError as error:
        return Answer(unreadable_part(task, str(error)))
    try:
        if task.several and task.page is None and (apart := pages_apart(artwork, task.specs)):
            return Answer(pages=apart)
        if task.several and task.among and (face_seen := one_face(artwork, task.specs)):
            return Answer(face=face_seen)
        task, chosen = _with_page(task, artwork)
    except ArtworkError as error:
        return Answer(unreadable_part(task, str(error)))
    number = task.part.page if task.part is not None and chosen is None else task.page
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
        order_format = None if task.order is None else task.order.order.format
        page = artwork.pages[(number or 1) - 1]
        spec, how = settled(artwork, page, task.specs, task.told, order_format, task.file)
        meant = intended(load_condition(spec.print_condition), artwork)
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
    if task.face is not None:
        how = f"{how}; taken as the {task.face}: {task.face_why}"
    if chosen is not None:
        how = f"{how}; page {chosen.page} of {task.file}: {chosen.why}"
    if face is None and task.page is not None:
        face = face_of(spec, artwork.pages[task.page - 1])
    try:
        faces = [
            placed(artwork, spec, which, artwork.pages[index])
            for which, index in faces_of(artwork, spec, number, face)
        ]
        with _pool() as pool:
            answer = _examined(task, artwork, spec, how, meant, faces, pool)
        budget.check()
        if _state(task.path) not in (before, None):
            why = "the file changed while it was being examined; check it again once it is whole"
            asked = "send it again once it is whole"
            return Answer(unreadable_part(task, f"{task.path.name}: {why}", asked=asked))
        fits = _fits_another(artwork, page, spec, task.others)
        return replace(answer, page=None if chosen is None else chosen.page, fits=fits)
    except ArtworkError as error:
        return Answer(unreadable_part(task, str(error)))


def _state(path: Path) -> tuple[int, int] | None:
    """Return when a file was changed last, and its size; None where it is gone. A large one is
    read where it lies, so that what is found and what is drawn must be of one and the same."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


def _fits_another(
    artwork: Artwork, page: Page, spec: Spec, others: Sequence[Spec]
) -> tuple[str, ...]:
    """Return the other parts' specs that a page fits by its size where it does not fit its own."""
    if not others or pieces_of(artwork, page, (spec,)):
        return ()
    return tuple(piece.spec for piece in pieces_of(artwork, page, others))


@contextmanager
def _pool() -> Iterator[Executor]:
    """Give the second thread; what still waits for it when a part fails is not begun.

    With it whole commands took, by the clock of a quiet machine of two cores and in the median of
    three, 1.11 s for a label instead of 1.31, 2.18 for a jacket (2.67), 1.94 with soft masks
    (2.07), 3.51 with curves (3.81), 3.00 with strokes (3.32), 3.18 with letters on curves (3.51),
    2.99 with six spots (3.74) and 8.22 with object streams (8.75).
    """
    pool = ThreadPoolExecutor(1)
    try:
        yield pool
    finally:
        pool.shutdown(cancel_futures=True)


def _with_page(task: Task, artwork: Artwork) -> tuple[Task, Chosen | None]:
    """Return a task with the page that is meant, and how that was found where nobody says so.

    Its part then names the page, but for the first part of a file that has pages for no part: that
    these are too many is found there, once.
    """
    if task.page is not None or task.face is not None:
        part = loose_part(task.name, task.file, page=task.page, face=task.face)
        return replace(task, part=part), None
    shared = task.sharing
    if shared is None or task.order is None or task.part is None or len(artwork.pages) < 2:
        return task, None
    chosen = page_of(artwork, task.order, task.part, shared)
    if chosen is None:
        return task, None
    first = chosen.left and task.part.name == shared.parts[0].name
    named = task.part if first else task.part.replaced(page=chosen.page)
    return replace(task, part=named, page=chosen.page), chosen


def _examined(
    task: Task,
    artwork: Artwork,
    spec: Spec,
    how: str,
    meant: Intended,
    faces: Sequence[Face],
    pool: Executor,
) -> Answer:
    settings, condition = task.settings, meant.condition
    until = time.process_time() + _READING_SHARE * settings.worker.seconds
    for one in faces:
        one.page.decode_ahead(pool)
    begun = [_begun(one, spec, meant, settings, pool) for one in faces]
    printings = [one.printing for one in begun]
    looks = [
        pool.submit(looks_of, printing, one.outline, spec, condition, settings, task.with_plates)
        for one, printing in zip(faces, printings, strict=True)
        if task.with_pictures
    ]
    # What takes long to import, and painting goes on meanwhile.
    from prepcheck.run.judge import judged

    close_ups = CloseUps(pool, faces if task.with_pictures else (), printings, settings)
    found = judged(task, artwork, spec, faces, begun, pool, close_ups.notice)
    used = None
    if task.with_inks:
        plates, first = printings[0].result().plates, faces[0]
        used = plates_used(plates, first.outline, spec.bleed.wanted_mm, settings)
        del plates
    trim = faces[0].placement
    sized = trim.found_by.measures_size
    result = PartResult(
        name=task.name,
        file=task.file,
        sha256=artwork.sha256,
        bytes=artwork.bytes,
        spec=spec.name,
        recognised_by=how,
        pages=len(artwork.pages),
        trim_mm=(trim.trim.width, trim.trim.height) if sized else None,
        trim_found_by=trim.found_by.value,
        outcomes=found.said.outcomes,
        findings=found.said.findings,
        measured=found.said.measured,
        side=None if task.part is None else task.part.side,
    )
    result = without_numpy(result)
    sources = [printing.result().source for printing in printings]
    del printings, begun, close_ups  # plates and views take much memory, and close-ups need more
    insets: list[tuple[Inset, ...]] = []
    if task.with_pictures:
        plans = plan_insets(result)
        own = [[plan for plan in plans if plan.page == one.page.index + 1] for one in faces]
        insets = [
            insets_of(source, plan, look.result().picture, condition, settings, pool)
            for source, plan, look in zip(sources, own, looks, strict=True)
        ]
    digest = found.digest
    if digest is not None and found.unread is not None:
        # Last, and in little: the reader takes much memory, and keeps it.
        give_back_freed_memory()
        digest = found.unread.read(digest, [source.plates_of for source in sources], until)
    digest = without_numpy(digest)
    pages: tuple[ProofPage, ...] = ()
    if task.with_pictures:
        read = [page.by_eye for page in digest.pages] if digest else [()] * len(faces)
        pages = tuple(
            _page(one, look.result(), inset, total, (*(w.box for w in eye), *words), result, spec)
            for one, look, inset, total, eye, words in zip(
                faces, looks, insets, found.totals, read, found.words, strict=True
            )
        )
    return Answer(ProofPart(result, None, pages), digest, used=used)


def _begun(face: Face, spec: Spec, meant: Intended, settings: Settings, pool: Executor) -> Begun:
    box = face.looked_at(spec, settings)
    to_piece = face.placement.to_piece
    return Printing.begun(pool, face.page, to_piece, box, settings, meant.to_inks)


def _page(
    face: Face,
    looks: PaperLook,
    insets: tuple[Inset, ...],
    total: TotalInk,
    words: tuple[Box, ...],
    result: PartResult,
    spec: Spec,
) -> ProofPage:
    page = face.page.index + 1
    numbers = [
        number
        for number, finding in enumerate(result.findings, 1)
        if finding.check in INK_CHECKS and (finding.page or 1) == page
    ]
    printed = None
    if looks.ink is not None:
        printed = looks.ink.printed(spec.ink.most_total_percent, total, numbers)
    return ProofPage(
        page, face.face, looks.picture, insets, printed, looks.condition, words, looks.remarks
    )


def _pages(count: int) -> str:
    return "1 page" if count == 1 else f"{count} pages"
