"""guide.printing: guides of a template left in printing inks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from prepcheck.art.model import ALL_INKS, NO_INK, PROCESS_INKS
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.measure.edges import thinned
from prepcheck.measure.guides import FoundGuide, Guide
from prepcheck.measure.stray_guides import Stray
from prepcheck.said import Clear, Declaration, FoundAt, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.guide_names import is_library_ink, named_as_guide
from prepcheck.sheets.guide_spots import THIN_MM, laid_out_as_guide
from prepcheck.sheets.near import found_guides, printing, strays
from prepcheck.sheets.surroundings import kept
from prepcheck.sheets.uses import Use, colorants, marks_with, uses_of
from prepcheck.words import count, listed, mm

GUIDE = "guide.printing"

DECLARATIONS = (
    Declaration(
        GUIDE,
        "No template guides print",
        FoundAt.PRINTING,
        (Severity.STOP, Severity.QUERY),
        "A template's lines for trim, bleed, safe area, folds and hole are for the eye only. "
        "Left in a printing ink they come out on every piece.",
        "common practice of record plants; ISO 19593-1 gives such lines layers of their own",
        codes=("line", "beside", "spot"),
        limits=("outline", "bleed", "clearance.trim", "clearance.hole"),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    spots = list(_spots(exam))
    yield from spots
    for sheet in exam.sheets:
        said = list(_judge(exam, sheet))
        yield from said
        if not said and not spots:
            yield Clear(GUIDE, "no line follows the trim, bleed, safe area, folds or hole")


def _judge(exam: Exam, sheet: Sheet) -> Iterator[Finding]:
    found = found_guides(exam, sheet)
    if found:
        yield _on_places(exam, sheet, found)
    beside = strays(exam, sheet)
    if beside:
        yield _beside(exam, sheet, beside)


def _on_places(exam: Exam, sheet: Sheet, found: Sequence[FoundGuide]) -> Finding:
    names = dict.fromkeys(f"the {item.guide.name}" for item in found)
    lines = "a thin line follows" if len(names) == 1 else "thin lines follow"
    layers = sorted({layer for item in found for layer in item.layers if layer})
    where = f" (on layer {listed(layers)})" if layers else ""
    return exam.finding(
        GUIDE,
        "line",
        Severity.STOP,
        f"Guides print{where}: {lines} {listed(names)}.",
        "Please take the template's lines out, or put them on a layer that does not print.",
        source=DECLARATIONS[0].source,
        page=sheet.number,
        measured=float(len(found)),
        required=0.0,
        unit="lines",
        marks=tuple(_mark(item.guide, f"guide on the {item.guide.name}") for item in found),
    )


def _beside(exam: Exam, sheet: Sheet, found: Sequence[Stray]) -> Finding:
    offs = [f"{mm(abs(s.off_mm))} {'outside' if s.off_mm > 0 else 'inside'} it" for s in found]
    lines = "A thin line runs" if len(found) == 1 else f"{count(len(found), 'thin line')} run"
    return exam.finding(
        GUIDE,
        "beside",
        Severity.QUERY,
        f"{lines} all along the trim, {listed(offs)}, as the trim of another template would.",
        "Please take it out if it is a guide; a frame of the art would show every tenth by which "
        "the cut is off.",
        source=DECLARATIONS[0].source,
        page=sheet.number,
        measured=round(found[0].off_mm, 1),
        required=None,
        unit="mm",
        marks=tuple(_mark(stray.guide, f"line {mm(abs(stray.off_mm))}") for stray in found),
    )


def _spots(exam: Exam) -> Iterator[Finding]:
    """Yield what is asked about spots that are named, or laid out, like a template's lines."""
    used: dict[str, list[tuple[Sheet, Use]]] = {}
    for sheet in exam.sheets:
        for use in uses_of(printing(exam, sheet), lambda colour: bool(colorants(colour.space))):
            for name in colorants(use.space):
                if name not in (ALL_INKS, NO_INK, *PROCESS_INKS) and marks_with(use, name):
                    used.setdefault(name, []).append((sheet, use))
    for name, uses in used.items():
        if all(_is_found(exam, sheet, use.box) for sheet, use in uses):
            continue
        if named_as_guide(name):
            yield _spot(exam, name, uses, "is named like a line of a template, and prints")
        elif not is_library_ink(name) and laid_out_as_guide(exam, name):
            yield _spot(exam, name, uses, "is used for thin lines only, laid out like a template's")


def _is_found(exam: Exam, sheet: Sheet, box: Box) -> bool:
    """Say whether what lies in a box is a guide that was found, and is told of already."""
    return any(
        max(abs(a - b) for a, b in zip(box, Box.around(one.guide.points), strict=True)) <= THIN_MM
        for one in found_guides(exam, sheet)
    )


def _spot(exam: Exam, name: str, uses: Sequence[tuple[Sheet, Use]], how: str) -> Finding:
    page = uses[0][0].number
    return exam.finding(
        GUIDE,
        "spot",
        Severity.QUERY,
        f"The spot '{name}' {how}.",
        "Please put these lines on a layer that does not print, or tell us that the ink is meant.",
        source=DECLARATIONS[0].source,
        page=page,
        measured=name,
        required="no ink",
        subject=name,
        marks=kept(
            Mark(use.box, name, rank=-use.box.area) for sheet, use in uses if sheet.number == page
        ),
    )


def _mark(guide: Guide, label: str) -> Mark:
    points = guide.points
    path = thinned(points)
    if guide.closed:
        path = (*path, path[0])
    return Mark(Box.around(path), label, path)
