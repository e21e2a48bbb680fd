"""What the worker does that writes a press sheet: opens the labels, separates, lays out, writes."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from prepcheck import __version__
from prepcheck.art.model import PROCESS_INKS, Artwork
from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError, CrashError, OutputError, UsageError
from prepcheck.labelsheet.count import PrintRun, by_label, run_of
from prepcheck.labelsheet.model import Art, Layout, RoundPiece
from prepcheck.labelsheet.plan import CUT_MARK_AT_MM, laid_out
from prepcheck.labelsheet.slug import band_of
from prepcheck.labelsheet.write import sheet_pdf
from prepcheck.measure.trim import locate_trim
from prepcheck.press.separate.printed import plates_or_screen
from prepcheck.press.show.condition import load_condition
from prepcheck.press.show.profiles import ink_profile
from prepcheck.report.sheet_table import (
    SheetInk,
    SheetLabel,
    SheetPaper,
    SheetPosition,
    SheetReport,
)
from prepcheck.run.plate_use import PlatesUsed
from prepcheck.run.plates_used import plates_used
from prepcheck.run.sheet_task import LabelTask, SheetAnswer, SheetTask
from prepcheck.spec.model import Spec
from prepcheck.words import listed

_MOST = 999
"""A share no sheet has: lines of the band are reserved as long as they can become."""


class _Label(NamedTuple):
    """A label opened: where it lies, and what its plates carry."""

    task: LabelTask
    art: Art
    sha256: str
    used: PlatesUsed
    notes: tuple[str, ...]


def made_sheet(task: SheetTask) -> SheetAnswer:
    """Write the sheet's PDF and return its report, or why there is none."""
    try:
        return SheetAnswer(_made(task))
    except UsageError as error:
        return SheetAnswer(fault="usage", lines=error.lines)
    except ArtworkError as error:
        return SheetAnswer(fault="unreadable", lines=error.lines)
    except OutputError as error:
        return SheetAnswer(fault="output", lines=error.lines)


def _made(task: SheetTask) -> SheetReport:
    piece = _one_piece(task.labels)
    opened: dict[str, tuple[Artwork, bytes]] = {}
    labels = [_opened(label, piece, opened, task) for label in task.labels]
    inks = _inks(labels)
    names = _share_names(task.labels)
    wish = task.wish
    calls = _calls(task.labels, names)
    stated = by_label("--share", calls, wish.shares)
    turned = by_label("--turn", calls, wish.turns)
    turns = [turned.get(at, wish.turn) for at in range(len(labels))]
    most = [_MOST] * len(labels)
    long = band_of(wish.paper, inks, _sentences(task, labels, piece, most, turns, None))
    layout = laid_out(
        wish.paper, piece, names, gap_mm=wish.gap_mm,
        shares={names[at]: share for at, share in stated.items()}, band_mm=long.height,
        turns=turns,
    )  # fmt: skip
    shares = [sum(p.label == at for p in layout.positions) for at in range(len(labels))]
    run = None
    if wish.quantity is not None:
        by_name = dict(zip(names, shares, strict=True))
        run = run_of(wish.quantity, wish.overs_percent, by_name)
    band = band_of(wish.paper, inks, _sentences(task, labels, piece, shares, turns, run))
    written = sheet_pdf(
        layout, [label.art for label in labels], band, inks,
        {use.ink: use.shown for label in labels for use in label.used.plates if use.shown},
        title=_title(task),
    )  # fmt: skip
    path = task.folder / f"{task.stem}.pdf"
    try:
        path.write_bytes(written)
    except OSError as error:
        raise OutputError(
            f"{path.parent.parent / path.name}: cannot be written ({error.strerror or error}); "
            "choose another place with --out"
        ) from None
    notes = tuple(note for label in labels for note in label.notes)
    digest = hashlib.sha256(written).hexdigest()
    return _report(task, labels, layout, shares, turns, run, piece, (digest, notes))


def _one_piece(labels: Sequence[LabelTask]) -> RoundPiece:
    pieces = {label.name: _round(label.spec) for label in labels}
    if len(set(pieces.values())) > 1:
        listing = listed(
            [f"{name} ({p.diameter:g} mm, hole {p.hole or 0:g} mm)" for name, p in pieces.items()]
        )
        raise UsageError(f"labels of one size share a sheet, but these differ: {listing}")
    return next(iter(pieces.values()))


def _round(spec: Spec) -> RoundPiece:
    outline = spec.outline_of()
    hole = None if outline.hole is None else 2 * outline.hole.radius
    return RoundPiece(outline.bounds.width, spec.bleed.wanted_mm, hole)


def _share_names(labels: Sequence[LabelTask]) -> list[str]:
    """Return the names that labels are told by: the sides, else the files' (and their pages'), else
    the parts' names."""
    sides = [label.side for label in labels if label.side is not None]
    if len(set(sides)) == len(labels):
        return sides
    pages = [label.name if label.page is None else f"{label.file}#{label.page}" for label in labels]
    return pages if len(set(pages)) == len(labels) else [label.name for label in labels]


def _calls(labels: Sequence[LabelTask], told: Sequence[str]) -> list[tuple[str, ...]]:
    """Return the names that each label goes by: the one it is told by, its side, its part's name,
    its file with or without the ending, and 'file#2' for a page of a file."""
    calls = []
    for label, own in zip(labels, told, strict=True):
        page = "" if label.page is None else f"#{label.page}"
        files = (f"{label.file}{page}", f"{Path(label.file).stem}{page}")
        names = (own, label.side or "", label.name, *files)
        calls.append(tuple(dict.fromkeys(filter(None, names))))
    return calls


def _opened(
    label: LabelTask, piece: RoundPiece, opened: dict[str, tuple[Artwork, bytes]], task: SheetTask
) -> _Label:
    key = str(label.path.resolve())
    if key not in opened:
        opened[key] = open_art(label.path), label.path.read_bytes()
    artwork, data = opened[key]
    page = artwork.pages[(label.page or 1) - 1]
    spec = label.spec
    outline = spec.outline_of()
    known = artwork.raster is None or artwork.raster.ppi is not None
    placement = locate_trim(
        page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm, known,
        artwork.document.layers,
    )  # fmt: skip
    used = label.used
    if used is None:
        box = outline.bounds.grown(spec.bleed.wanted_mm)
        profile = ink_profile(load_condition(spec.print_condition), artwork)
        ppi = task.settings.coverage.ppi(box)
        plates, _ = plates_or_screen(page, placement.to_piece, box, ppi, profile)
        used = plates_used(plates, outline, spec.bleed.wanted_mm, task.settings)
    if used.failed:
        raise CrashError(used.failed)
    notes = [f"{label.file}: {said}" for said in used.troubles]
    if used.unknown:
        notes.append(f"{label.file}: RGB or Lab paint has no ink amounts and is not counted")
    if any(annotation.prints for annotation in page.annotations):
        notes.append(f"{label.file}: its annotations are not on the sheet")
    art = Art(label.name, page, placement.to_piece, data)
    return _Label(label, art, artwork.sha256, used, tuple(notes))


def _inks(labels: Sequence[_Label]) -> list[str]:
    """Return the plates that any label uses, process inks first."""
    used = dict.fromkeys(ink for label in labels for ink in label.used.inks)
    spots = [ink for ink in used if ink not in PROCESS_INKS]
    return [ink for ink in PROCESS_INKS if ink in used] + spots or ["Black"]


def _title(task: SheetTask) -> str:
    if task.order is None:
        return f"Press sheet: {listed([label.name for label in task.labels])}"
    return f"Press sheet: {task.order.number}, {task.order.catalogue}"


def _sentences(
    task: SheetTask,
    labels: Sequence[_Label],
    piece: RoundPiece,
    shares: Sequence[int],
    turns: Sequence[float],
    run: PrintRun | None,
) -> list[str]:
    """Return the lines of the band."""
    wish, order = task.wish, task.order
    head = [] if order is None else [f"Order {order.number}", order.catalogue, order.title]
    head.append(wish.made_on.isoformat())
    if run is not None:
        head.append(f"sheets to print: {run.arithmetic}")
    elif wish.quantity is not None:  # as long as it can become
        head.append(f"sheets to print: {wish.quantity} × (1 + 99.99 %) ÷ 99 = {wish.quantity}.99, "
                    f"rounded up: {wish.quantity} (Label decides)")  # fmt: skip
    hole = "" if piece.hole is None else f", hole {piece.hole:g} mm"
    circle = piece.printed + 2 * CUT_MARK_AT_MM
    head.append(
        f"trim {piece.diameter:g} mm{hole}, marks to cut round on {circle:g} mm; the gripper edge "
        "is the foot"
    )
    lines = [" · ".join(head)]
    for label, share, turn in zip(labels, shares, turns, strict=True):
        own = label.task
        who = f"Side {own.side}" if own.side is not None else own.name
        page = "" if own.page is None else f", page {own.page}"
        turned = f", turned by {turn:g}°" if turn else ""
        lines.append(f"{who}: {share} a sheet{turned} · {own.file}{page} · SHA-256 {label.sha256}")
    if wish.despite:
        stopped = sorted({stop.partition(":")[0] for one in task.labels for stop in one.stops})
        lines.append(f"Printed despite {listed(stopped)}: {wish.despite}")
    return lines


def _report(
    task: SheetTask,
    labels: Sequence[_Label],
    layout: Layout,
    shares: Sequence[int],
    turns: Sequence[float],
    run: PrintRun | None,
    piece: RoundPiece,
    written: tuple[str, tuple[str, ...]],
) -> SheetReport:
    wish, paper = task.wish, task.wish.paper
    return SheetReport(
        version=__version__,
        made_on=wish.made_on.isoformat(),
        order=task.order,
        paper=SheetPaper(
            paper.name, paper.width, paper.height, paper.gripper_mm, paper.margin_mm,
            wish.gap_mm, paper.grain,
        ),
        spec=task.labels[0].spec.name,
        trim_mm=piece.diameter,
        bleed_mm=piece.bleed_mm,
        hole_mm=piece.hole,
        rows=layout.kind,
        holds=layout.holds,
        square_rows_hold=layout.square,
        staggered_rows_hold=layout.staggered,
        turn=turns[0] if len(set(turns)) == 1 else None,
        labels=tuple(
            SheetLabel(
                one.task.name, one.task.side, one.task.file, one.task.page or 1, one.sha256,
                one.task.verdict, share, one.task.stops, turn,
            )
            for one, share, turn in zip(labels, shares, turns, strict=True)
        ),
        positions=tuple(
            SheetPosition(labels[p.label].task.name, p.centre.x, p.centre.y)
            for p in layout.positions
        ),
        quantity=wish.quantity,
        overs_percent=float(wish.overs_percent),
        sheets=None if run is None else run.sheets,
        arithmetic="" if run is None else run.arithmetic,
        plates=tuple(_need(ink, labels, shares) for ink in _inks(labels)),
        despite=wish.despite,
        pdf=f"{task.stem}.pdf",
        pdf_sha256=written[0],
        notes=written[1],
    )  # fmt: skip


def _need(ink: str, labels: Sequence[_Label], shares: Sequence[int]) -> SheetInk:
    pairs = [
        (one, share)
        for label, share in zip(labels, shares, strict=True)
        for one in label.used.plates
        if one.ink == ink
    ]
    return SheetInk(
        ink,
        sum(one.solid_mm2 * share for one, share in pairs),
        sum(one.sheet_mm2 * share for one, share in pairs),
    )
