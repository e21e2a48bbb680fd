"""Puts an order's labels on a press sheet: examined first, then laid out and written."""

from __future__ import annotations

import importlib
import os
import shutil
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from prepcheck.errors import CrashError, OutputError, StoppedError, UnreadableError, UsageError
from prepcheck.findings import PartResult, Severity
from prepcheck.output import refuse_inputs
from prepcheck.report.sheet_table import SheetOrder, SheetReport, sheet_json
from prepcheck.run.alone import done_alone
from prepcheck.run.answer import Task
from prepcheck.run.examine import Progress, examine
from prepcheck.run.gather import Batch, gather
from prepcheck.run.plate_use import PlatesUsed
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.run.sheet_task import LabelTask, SheetAnswer, SheetTask, Wish
from prepcheck.words import count


def write_sheet(
    arts: Sequence[Path],
    wish: Wish,
    *,
    out: Path,
    spec: str | Path | None = None,
    jobs: int = 1,
    progress: Progress | None = None,
    settings: Settings = DEFAULT,
) -> tuple[SheetReport, tuple[Path, ...]]:
    """Write the press sheet of label files, or of an order's labels, into the folder `out`;
    return what it holds and the files: the sheet (PDF) and the report (JSON), both or neither.

    Raises StoppedError for art that must be corrected, unless the wish says why it is printed all
    the same; UsageError, SpecError and OrderError for what cannot be used, UnreadableError for
    files that cannot be placed, OutputError, and CrashError when prepcheck itself failed.
    """
    batches = gather(arts, spec=spec, settings=settings).batches
    if len(batches) != 1:
        raise UsageError("one order is put on a sheet at a time; name one order file, or labels")
    batch = only_labels(batches[0])
    found = examine(
        batch, jobs=jobs, pictures=False, progress=progress, by_page=True, inks=True,
        meanwhile=_made_ready,
    )  # fmt: skip
    batch = replace(batch, tasks=found.tasks)
    return sheet_of(batch, found.result.parts, wish, out=out, settings=settings, used=found.used)


def _made_ready() -> None:
    """Import what writes a sheet while workers examine its labels."""
    from prepcheck.proof.shipped_fonts import load_faces

    importlib.import_module("prepcheck.run.sheeting")
    load_faces()


def only_labels(batch: Batch) -> Batch:
    """Return a batch with nothing in it but its labels.

    Raises UsageError where it has none, or where the file of one has not come.
    """
    lacking = [one.result.name for one in batch.standing if one.result.side is not None]
    if lacking:
        raise UsageError(
            *(f"{name}: its file has not come; a sheet needs every label" for name in lacking)
        )
    tasks = tuple(task for task in batch.tasks if batch.order is None or _is_label(task))
    if not tasks:
        raise UsageError(f"{batch.order_path or 'the order'}: has no label to put on a sheet")
    return replace(batch, tasks=tasks, standing=(), spare=())


def _is_label(task: Task) -> bool:
    told = task.specs[0] if task.told is not None else None
    named = told is not None and told.outline.kind == "disc" and told.hole is not None
    return named or (task.part is not None and task.part.side is not None)


def sheet_of(
    batch: Batch,
    parts: Sequence[PartResult],
    wish: Wish,
    *,
    out: Path,
    settings: Settings = DEFAULT,
    used: Sequence[PlatesUsed | None] = (),
) -> tuple[SheetReport, tuple[Path, ...]]:
    """Write the sheet of labels that have been examined; see `write_sheet`.

    What their plates carry is `used`, or else found out again.
    """
    carried = used or [None] * len(parts)
    labels = tuple(map(_judged, batch.tasks, parts, carried))
    stopped = [label for label in labels if label.stops]
    if stopped and not wish.despite:
        lines = [f"{label.file}: stop, {line}" for label in stopped for line in label.stops]
        raise StoppedError(
            *lines, "no sheet was made; have the art corrected, or say --despite REASON"
        )
    quantity = wish.quantity
    head = None
    if batch.order is not None:
        said = batch.order.order
        quantity = said.quantity if quantity is None else quantity
        head = SheetOrder(said.number, said.client, said.title, said.catalogue, said.quantity)
    aside = out / f".sheet.{os.getpid()}.part"
    stem = f"{batch.stem}-sheet"
    files = (out / f"{stem}.pdf", out / f"{stem}.json")
    refuse_inputs(files, batch.inputs)
    task = SheetTask(
        labels, replace(wish, quantity=quantity, despite=wish.despite if stopped else ""), head,
        aside, stem, settings,
    )  # fmt: skip
    try:
        aside.mkdir(parents=True)
        report = _made(task)
        (aside / files[1].name).write_text(sheet_json(report), encoding="utf-8", errors="replace")
        for file in files:
            (aside / file.name).replace(file)
    except OSError as error:
        raise OutputError(
            f"{out}: the sheet cannot be written ({error.strerror or error}); choose another "
            "place with --out"
        ) from None
    finally:
        with suppress(OSError):
            shutil.rmtree(aside)
    return report, files


def _judged(task: Task, part: PartResult, used: PlatesUsed | None) -> LabelTask:
    """Return a label with what stops it; raises where it cannot be placed at all."""
    if part.crashed:
        raise CrashError(f"{task.file}: a check failed, so it is not known to be good to print")
    spec = next((spec for spec in task.specs if spec.name == part.spec), None)
    if spec is None:
        why = part.findings[0].message if part.findings else "it cannot be read"
        raise UnreadableError(f"{task.file}: cannot be put on a sheet: {why}")
    if spec.outline.kind != "disc":
        raise UsageError(
            f"{task.file}: is {spec.name}, which is not cut round; a sheet takes labels only"
        )
    own = task.page if task.part is None else task.part.page
    if own is None and part.pages > 1:
        raise UsageError(
            f"{task.file}: has {count(part.pages, 'page')}; say in an order file which page is "
            "which label"
        )
    stops = tuple(
        f"{finding.check}: {finding.message}"
        for finding in part.every
        if finding.severity is Severity.STOP
    )
    return LabelTask(
        task.name, part.side, task.file, task.path, own, spec, part.verdict.value, stops, used
    )


def _made(task: SheetTask) -> SheetReport:
    """Write the sheet in a process of its own; return what it says or raise it as an error."""
    answer = done_alone(
        make_sheet, task, SheetAnswer, limits=task.settings.worker, scratch=task.folder,
        what="the sheet",
    )  # fmt: skip
    assert answer.report is not None
    return answer.report


def make_sheet(task: SheetTask) -> SheetAnswer:
    """Lay out and write a sheet; see `sheeting.made_sheet`."""
    from prepcheck.run.sheeting import made_sheet  # takes long to import

    return made_sheet(task)
