"""Type scaled unevenly."""

from collections.abc import Iterator

import numpy as np

from prepcheck.findings import Mark, Severity
from prepcheck.measure.stretch import stretched_percent
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, Said
from prepcheck.sheets.covered import seen_type
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import kept, type_on_piece
from prepcheck.sheets.thresholds import over_fine
from prepcheck.words import count

CHECK = "text.stretched"
LIMIT = "text.most_stretch_percent"
MEASURE = "type_stretched_percent"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Type is not stretched",
        FoundAt.SALE,
        (Severity.QUERY,),
        "A text frame pulled at one side makes letters wide or narrow without anybody having "
        "chosen it: upright strokes become thicker or thinner than level ones. Commonest where "
        "art for one format was squeezed into another, and then pictures are squeezed too.",
        "common practice, no source",
        codes=("stretched",),
        limits=(LIMIT,),
        measures=(MEASURE,),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> Iterator[Said]:
    most = exam.spec.text.most_stretch_percent
    if most is None:
        yield NotApplicable(CHECK, "the spec sets no limit")
        return
    yield from _judge(exam, sheet, most)


def _judge(exam: Exam, sheet: Sheet, most: float) -> Iterator[Said]:
    runs = type_on_piece(exam, sheet)
    off = stretched_percent(runs.stretch)
    far = np.flatnonzero(over_fine(off, most))
    shows = np.array(seen_type(sheet, runs.taken(far)), np.bool_)
    marks = [
        Mark(
            runs.box(row),
            f"{100 * float(runs.stretch[row]):.0f} % as wide",
            value=round(float(off[row]), 1),
            rank=-float(off[row]),
        )
        for row in far[shows].tolist()
    ]
    left = np.delete(off, far[~shows])
    worst = float(left.max(initial=0.0))
    if not len(left):
        yield NotApplicable(CHECK, "no live type; outlined type does not tell")
        return
    yield Measured(MEASURE, round(worst, 1), keep="most")
    if not marks:
        said = f"type at most {worst:.1f} % wider or narrower than drawn"
        yield Clear(
            CHECK, said if worst >= 0.05 else "no type is stretched", round(worst, 1), most, "%"
        )
        return
    widest = min(marks, key=lambda mark: mark.rank)
    yield exam.finding(
        CHECK,
        "stretched",
        Severity.QUERY,
        f"{count(len(marks), 'piece')} of type scaled unevenly, the worst set {widest.label} as "
        f"its face was drawn; {most:g} % either way is the most that is taken as meant.",
        "Please set the type unstretched, in a narrower or wider cut of the face if one is needed, "
        "or tell us that it is meant.",
        limit=LIMIT,
        page=sheet.number,
        measured=round(worst, 1),
        marks=kept(marks),
    )
