"""Fine type and lines built of, or left out of, more inks than can be held in register."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import compress
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import Paint, TypeTable
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box, FloatArray
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.covered import seen_lines, seen_type
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.inks import built_of, four_ink_black, ground_inks, of_known_inks
from prepcheck.sheets.outlined import in_outlined
from prepcheck.sheets.surroundings import (
    LEAST_LIGHT,
    above_and_below,
    are_on_art,
    grounds,
    kept_rows,
    type_on_piece,
)
from prepcheck.sheets.surroundings import reversed_out as light_on_dark
from prepcheck.sheets.thin import ThinThings
from prepcheck.sheets.thresholds import under_fine
from prepcheck.words import count, down_to

CHECK = "ink.small-type"
_UNDER_TYPE = 10.0
"""Percent of an ink from which type left out of it shows a misfit."""

DECLARATIONS = (
    Declaration(
        CHECK,
        "Small type and thin lines are in few inks",
        FoundAt.PRINTING,
        (Severity.STOP, Severity.QUERY),
        "Plates never fall on each other to the hair. On large shapes nobody sees it; small type "
        "and thin lines built of several inks get coloured fringes, and type reversed out of "
        "several inks fills in. Type under the size that text.small and lines under the "
        "width that line.thin stops are said there, and black out of four inks under "
        "ink.black-type.",
        "published guides of printers: 6 pt in one ink and 9 pt in several; under half a point in "
        "one ink only",
        codes=("built", "left-out"),
        limits=(
            "ink.most_fine_inks",
            "text.wanted_several_pt",
            "line.least_several_mm",
            "line.wanted_several_mm",
        ),
    ),
)


class _Kind(NamedTuple):
    """What is said together: of what, in how many inks, against which limit."""

    severity: Severity
    what: str
    inks: int
    key: str
    required: float
    unit: str


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[bool]:
    if exam.spec.ink.most_fine_inks is None:
        return False
    fine: dict[_Kind, list[tuple[Box, float]]] = defaultdict(list)
    for kind, box, size in _type(exam, sheet):
        fine[kind].append((box, size))
    for kind, found in fine.items():
        boxes, sizes = map(np.array, zip(*found, strict=True))
        yield _finding(exam, sheet, kind, boxes, sizes)
    for kind, boxes, widths in _lines(exam, sheet):
        yield _finding(exam, sheet, kind, boxes, widths)
    return bool(sheet.content.texts or sheet.content.paths)


@of_known_inks
def conclude(exam: Exam, seen: Sequence[bool]) -> Iterator[Said]:
    most = exam.spec.ink.most_fine_inks
    if most is None:
        yield NotApplicable(CHECK, "the spec sets no limit")
    elif any(seen):
        yield Clear(CHECK, f"no small type and no thin line in more than {count(most, 'ink')}")
    else:
        yield NotApplicable(CHECK, "no live type and no lines")


def _finding(
    exam: Exam, sheet: Sheet, kind: _Kind, boxes: FloatArray, values: FloatArray
) -> Finding:
    """Return what is said of things by their boxes (n, 4) and sizes or widths (n,)."""
    shown = kept_rows(values, boxes)
    marks = tuple(
        Mark(Box(*box), _worded(kind, value), value=round(value, 3), rank=value)
        for box, value in zip(boxes[shown].tolist(), values[shown].tolist(), strict=True)
    )
    least = float(values.min())
    need = "the minimum" if "least" in kind.key else "wanted"
    things = count(len(values), "line" if kind.unit == "mm" else "piece of type", (
        "lines" if kind.unit == "mm" else "pieces of type"
    ))  # fmt: skip
    return exam.finding(
        CHECK,
        "built" if kind.what == "built of" else "left-out",
        kind.severity,
        f"{things} {kind.what} {kind.inks} inks"
        f"{down_to(len(values), _worded(kind, least))}; {kind.required:g} "
        f"{kind.unit} is {need} where inks must register.",
        "Please set this in one ink, or larger."
        if kind.what == "built of"
        else "Please set this type larger or bolder, or on a ground of one ink.",
        limit=kind.key,
        page=sheet.number,
        measured=round(least, 3),
        subject=str(kind.inks),
        marks=marks,
    )


def _worded(kind: _Kind, value: float) -> str:
    return f"{value:.2f} mm" if kind.unit == "mm" else f"{value:.1f} pt"


def _type(exam: Exam, sheet: Sheet) -> Iterator[tuple[_Kind, Box, float]]:
    text, most = exam.spec.text, exam.spec.ink.most_fine_inks or 1
    wanted = text.wanted_several_pt
    if wanted is None:
        return
    said_elsewhere = max(text.least_reversed_pt, text.wanted_reversed_pt or 0.0)
    on_piece = type_on_piece(exam, sheet)
    sizes = on_piece.size_pt
    small = under_fine(sizes, wanted) & ~under_fine(sizes, said_elsewhere)
    fine = on_piece.taken(np.flatnonzero(small))
    looks = [_look(style.fill, style.stroke) for style in fine.styles]
    built = np.array([look.built for look in looks], np.intp)[fine.style]
    kinds = {row: ("built of", int(built[row])) for row in np.flatnonzero(built > most).tolist()}
    kinds |= {row: kind for row, kind in _left_out(sheet, fine, looks) if kind[1] > most}
    rows = np.array(sorted(kinds), np.intp)
    seen = seen_type(sheet, fine.taken(rows))
    for row in compress(rows.tolist(), seen):
        kind = _Kind(Severity.QUERY, *kinds[row], "text.wanted_several_pt", wanted, "pt")
        yield kind, fine.box(row), float(fine.size_pt[row])


class _Look(NamedTuple):
    """How many inks type is built of, and its lightest paint where that may be left out of what
    lies round it."""

    built: int
    knocks_out: Paint | None


def _look(fill: Paint | None, stroke: Paint | None) -> _Look:
    own = [paint for paint in (fill, stroke) if paint is not None and not four_ink_black(paint)]
    built = max((len(built_of(paint)) for paint in own), default=0)
    if built > 1 or not own:
        return _Look(built, None)
    lightest = max(own, key=lambda paint: paint.lightness)
    is_dark = lightest.lightness < LEAST_LIGHT
    return _Look(built, None if lightest.overprint or is_dark else lightest)


def _left_out(
    sheet: Sheet, runs: TypeTable, looks: Sequence[_Look]
) -> Iterator[tuple[int, tuple[str, int]]]:
    """Yield the number of each run that is left out of a darker ground, how it meets the inks
    there, and how many they are."""
    rows = np.flatnonzero(np.array([look.knocks_out is not None for look in looks])[runs.style])
    around = grounds(sheet, runs.taken(rows))
    for row, light in zip(rows.tolist(), around, strict=True):
        paint = looks[runs.style[row]].knocks_out
        if paint is not None and light_on_dark(paint, light):
            own, inks = built_of(paint), ground_inks(sheet, above_and_below(runs[row]))
            under = [i for i, amount in inks.items() if amount >= _UNDER_TYPE and i not in own]
            yield row, ("reversed out of", len(under))


def _lines(exam: Exam, sheet: Sheet) -> Iterator[tuple[_Kind, FloatArray, FloatArray]]:
    """Yield of what lines are built of too many inks, with their boxes (n, 4) and widths (n,)."""
    line, most, lines = exam.spec.line, exam.spec.ink.most_fine_inks or 1, sheet.lines
    things = ThinThings(lines.some(~under_fine(lines.widths, line.least_mm)))
    limits = [
        (Severity.STOP, "line.least_several_mm", line.least_several_mm),
        (Severity.QUERY, "line.wanted_several_mm", line.wanted_several_mm),
    ]
    broken = np.full(len(things.widths), -1, np.intp)
    for at, (_, _, limit) in reversed([*enumerate(limits)]):
        if limit is not None:
            broken[under_fine(things.widths, limit)] = at
    inks = np.array([len(built_of(paint)) for paint in things.paints], np.intp)[things.paint]
    found = np.flatnonzero((broken >= 0) & (inks > most) & ~things.on(exam.step_layers))
    found = found[are_on_art(exam, sheet, things.boxes[found])]
    found = found[~in_outlined(exam, sheet, things.paths(found), things.boxes[found])]
    found = found[seen_lines(sheet, things, found)]
    for at, number in dict.fromkeys(zip(broken[found].tolist(), inks[found].tolist(), strict=True)):
        severity, key, limit = limits[at]
        rows = found[(broken[found] == at) & (inks[found] == number)]
        kind = _Kind(severity, "built of", number, key, limit or 0.0, "mm")
        yield kind, things.boxes[rows], things.widths[rows]
