"""Black type: built of four inks, or cut out of the colour that it stands on."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np

from prepcheck.art.model import PROCESS_INKS, Paint, SpaceFamily, TextRun, TypeTable
from prepcheck.findings import Mark, Severity
from prepcheck.geometry import Box
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.covered import seen_type
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.inks import black_only, four_ink_black, grounds_of, of_known_inks, patch
from prepcheck.sheets.surroundings import kept, type_on_piece
from prepcheck.spec.model import TOLERANCE_FINE
from prepcheck.words import count, down_to

CHECK = "ink.black-type"
_COLOUR = 50.0
"""Percent of other inks in sum from which a white rim round black type shows."""
_SURE = 60.0
"""Percent of black from which a pixel is one of the type."""

DECLARATIONS = (
    Declaration(
        CHECK,
        "Black type is in black alone and overprints",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "Black type out of four inks gets coloured fringes where plates do not register. Black "
        "type knocked out of the colour under it gets white ones; small black type overprints. In "
        "DeviceGray and in black with a profile, and in CMYK without overprint mode 1, the "
        "setting to overprint clears the colour all the same.",
        "ISO 32000-2, 8.6.7 and 11.7.4.3; published guides of printers: black type overprints up "
        "to 12 pt",
        codes=("four-inks", "cut-out", "clears"),
        limits=("text.wanted_rich_black_pt", "text.overprint_black_pt"),
    ),
)

_SAID = {
    "four-inks": (
        "of black type built of four inks",
        "Please set black type in 100 % black alone.",
        "text.wanted_rich_black_pt",
    ),
    "cut-out": (
        "of black type knocked out of the colour it stands on",
        "Please set this type to overprint.",
        "text.overprint_black_pt",
    ),
    "clears": (
        "of black type set to overprint in a way that clears the colour under it",
        "Please set this type in CMYK (0, 0, 0, 100) with overprint mode 1; in grey or through a "
        "profile, black does not overprint.",
        "text.overprint_black_pt",
    ),
}


def holds(paint: Paint) -> bool:
    """Say whether overprinting black leaves the other process plates alone."""
    if paint.space.family in (SpaceFamily.SEPARATION, SpaceFamily.DEVICE_N):
        return paint.overprint
    direct = paint.space.family is SpaceFamily.CMYK
    return paint.overprint and direct and paint.overprint_mode == 1


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[int]:
    text = exam.spec.text
    if text.wanted_rich_black_pt is None and text.overprint_black_pt is None:
        return 0
    wrong: dict[str, list[Mark]] = defaultdict(list)
    black = type_on_piece(exam, sheet).kept(lambda style: any(map(_black, style.marks_with)))
    faults = _faults(exam, sheet, black)
    rows = sorted(faults)
    for row, shows in zip(
        rows, seen_type(sheet, black.taken(np.array(rows, np.intp))), strict=True
    ):
        if shows:
            size = float(black.size_pt[row])
            mark = Mark(black.box(row), f"{size:.1f} pt", value=round(size, 2), rank=size)
            wrong[faults[row]].append(mark)
    for fault, marks in wrong.items():
        said, fix, key = _SAID[fault]
        least = min(mark.rank for mark in marks)
        yield exam.finding(
            CHECK,
            fault,
            Severity.QUERY,
            f"{count(len(marks), 'piece')} {said}{down_to(len(marks), f'{least:.1f} pt')}.",
            fix,
            limit=key,
            page=sheet.number,
            measured=round(least, 2),
            marks=kept(marks),
        )
    return len(black)


@of_known_inks
def conclude(exam: Exam, judged: Sequence[int]) -> Iterator[Said]:
    text, pieces = exam.spec.text, sum(judged)
    if text.wanted_rich_black_pt is None and text.overprint_black_pt is None:
        yield NotApplicable(CHECK, "the spec sets no limit")
    elif pieces:
        yield Clear(CHECK, f"{count(pieces, 'piece')} of black type: in one ink, none knocked out")
    else:
        yield NotApplicable(CHECK, "no live black type")


def _black(paint: Paint) -> bool:
    return paint.opacity > 0 and (black_only(paint) or four_ink_black(paint))


def _loose(paint: Paint) -> bool:
    return black_only(paint) and not holds(paint)


def _faults(exam: Exam, sheet: Sheet, runs: TypeTable) -> dict[int, str]:
    """Return the fault of each run that has one, by its number."""
    rich, overprint = exam.spec.text.wanted_rich_black_pt, exam.spec.text.overprint_black_pt
    in_four = runs.where(lambda style: any(map(four_ink_black, style.marks_with)))
    found: dict[int, str] = {}
    if rich is not None:
        small = runs.size_pt < rich * (1 - TOLERANCE_FINE)
        found = dict.fromkeys(np.flatnonzero(in_four & small).tolist(), "four-inks")
    if overprint is None:
        return found
    # Whether what is loose in a style overprints, of fill and stroke the first; -1 for nothing.
    loose = [next(filter(_loose, style.marks_with), None) for style in runs.styles]
    own = np.array([-1 if one is None else one.overprint for one in loose], np.int8)[runs.style]
    may = (own >= 0) & ~in_four
    asked = np.flatnonzero(may & (runs.size_pt <= overprint * (1 + TOLERANCE_FINE)))
    inks = np.array(sheet.plates.inks)
    grounds = grounds_of(sheet, runs.taken(asked))
    colours = grounds[:, inks != "Black"].sum(axis=1)
    process = grounds[:, np.isin(inks, PROCESS_INKS[:3])].sum(axis=1)
    for at in np.flatnonzero(colours >= _COLOUR).tolist():
        row = int(asked[at])
        overprints = own[row] == 1
        # A ground of spots any overprinting black leaves alone.
        if overprints and process[at] < _COLOUR:
            continue
        if _cut_out(sheet, runs[row], float(colours[at])):
            found[row] = "clears" if overprints else "cut-out"
    return found


def _cut_out(sheet: Sheet, run: TextRun, colour: float) -> bool:
    """Say whether the colour is missing under the type; where no pixel can tell, it is."""
    found = patch(sheet, (Box.around(glyph) for glyph in run.glyphs))
    inks = list(sheet.plates.inks)
    black = found.inks[:, inks.index("Black")]
    rest = (found.total - black)[black >= _SURE]
    return not len(rest) or float(np.median(rest)) < colour / 2
