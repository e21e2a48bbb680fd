"""Type too small to print."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from prepcheck.art.model import Paint, TextRun, TypeStyle
from prepcheck.findings import Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.covered import seen_outlined, seen_type
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.outlined import ABOUT, sized_type, too_few_letters
from prepcheck.sheets.surroundings import (
    LEAST_LIGHT,
    above_and_below,
    ground,
    kept,
    reversed_out,
    unseen,
    within_trim,
)
from prepcheck.sheets.thresholds import under_fine
from prepcheck.spec.model import Text
from prepcheck.words import count, down_to

CHECK = "text.small"

DECLARATIONS = (
    Declaration(
        CHECK,
        "Type is large enough",
        FoundAt.PRINTING,
        (Severity.STOP, Severity.QUERY),
        "Small letters fill in or break up. Light letters on a dark ground are filled in by the "
        "ink around them, and letters out of several inks blur as soon as the plates are a hair "
        "apart, so both must be larger. Of type turned into outlines the size is told, about, "
        "from the height of its letters.",
        "plants ask for 5 pt, 7 pt light on dark",
        codes=("small",),
        limits=(
            "text.least_pt",
            "text.least_reversed_pt",
            "text.wanted_pt",
            "text.wanted_reversed_pt",
        ),
    ),
)


class _Limit(NamedTuple):
    severity: Severity
    key: str
    required: float
    kind: str


class _Sizes(NamedTuple):
    """The least size of type in pt, with whether it is an estimate, None where there is no type;
    and rows of too few letters."""

    least: tuple[float, bool] | None
    rows: int


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[_Sizes]:
    text = exam.spec.text
    small: dict[_Limit, list[Mark]] = defaultdict(list)
    several: set[_Limit] = set()
    sized = sized_type(exam, sheet)
    runs, most, outlined, _ = sized
    rows = within_trim(sheet, runs)
    # Most type is far from small, and is not looked at one by one.
    needed = np.array([_most_needed(text, style) for style in runs.styles])[runs.style[rows]]
    found = []
    for row in rows[runs.size_pt[rows] < needed].tolist():
        run = runs[row]
        broken = _told(text, sheet, run, float(most[row]), bool(outlined[row]))
        if broken is not None:
            found.append((row, run, broken))
    live = [(row, run) for row, run, _ in found if not outlined[row]]
    drawn = [(row, run) for row, run, _ in found if outlined[row]]
    shows = dict(zip(
        [row for row, _ in (*live, *drawn)],
        seen_type(sheet, [run for _, run in live])
        + seen_outlined(sheet, [(run, sized.line(row)) for row, run in drawn]),
        strict=True,
    ))  # fmt: skip
    for row, run, broken in found:
        if shows[row]:
            size = run.size_pt
            label = f"{'about ' * run.about}{size:.1f} pt"
            if any(paint.ink_count > 1 for paint in runs.styles[runs.style[row]].marks_with):
                several.add(broken)
            small[broken].append(Mark(runs.box(row), label, value=round(size, 2), rank=size))
    for limit, marks in small.items():
        worst = min(marks, key=lambda mark: mark.rank)
        least = worst.rank
        need = "the minimum" if limit.key.startswith("least") else "wanted"
        yield exam.finding(
            CHECK,
            "small",
            limit.severity,
            f"{count(len(marks), 'piece')} of {limit.kind}"
            f"{down_to(len(marks), worst.label)}; {limit.required:g} pt is {need}.",
            _fix(text, limit, limit in several),
            limit=f"text.{limit.key}",
            page=sheet.number,
            measured=round(least, 2),
            subject=limit.kind,
            marks=kept(marks),
        )
    about = runs.where(lambda style: style.about)
    sizes = zip(runs.size_pt[rows].tolist(), about[rows].tolist(), strict=True)
    return _Sizes(min(sizes, default=None), 0 if small else len(too_few_letters(exam, sheet)))


def conclude(exam: Exam, seen: Sequence[_Sizes]) -> Iterator[Said]:
    sizes = [own.least for own in seen if own.least is not None]
    why = "no type, neither live nor outlined"
    least = 0.0
    if sizes:
        least, about = min(sizes)
        why = f"smallest type {'about ' * about}{least:.1f} pt"
    if perhaps := sum(own.rows for own in seen):
        rows = count(perhaps, "row")
        why += f"; {rows} of two or three small shapes may be letters, whose size cannot be told"
    if sizes and not perhaps:
        yield Clear(CHECK, why, round(least, 2), exam.spec.text.least_pt, "pt")
    else:
        yield NotApplicable(CHECK, why, untold=bool(perhaps))


def _fix(text: Text, limit: _Limit, several: bool) -> str:
    """Return what to do; type in several inks set larger must be large enough for those."""
    fitting = max(text.least_reversed_pt, text.wanted_reversed_pt or 0.0)
    fitting = max(fitting, text.wanted_several_pt or 0.0)
    if several:
        return (
            f"Please set this type in one dark ink on a light ground at {text.least_pt:g} pt or "
            f"larger, or at {fitting:g} pt or larger."
        )
    if "reversed" in limit.key:
        return "Please set this type larger, or in one dark ink on a light ground."
    return "Please set this type larger."


def _most_needed(text: Text, style: TypeStyle) -> float:
    """Return the greatest size that any limit asks for of type of a style."""
    most = max(text.least_pt, text.wanted_pt or 0.0)
    if _may_be_hard(style.marks_with):
        return max(most, text.least_reversed_pt, text.wanted_reversed_pt or 0.0)
    return most


def _told(text: Text, sheet: Sheet, run: TextRun, most_pt: float, outlined: bool) -> _Limit | None:
    """Return the gravest limit that type breaks. Where its size is only about known, one that it
    breaks for sure; one that it seems to break is asked about."""
    most = run if most_pt == run.size_pt else run._replace(size_pt=most_pt)
    broken = _broken(text, sheet, most)
    if broken is None and run.about and most_pt > run.size_pt * ABOUT:
        # Lower case without ascenders, or capitals: it is one or the other.
        broken = _broken(text, sheet, run._replace(size_pt=run.size_pt * ABOUT))
        broken = None if broken is None else broken._replace(severity=Severity.QUERY)
    if broken is None or not outlined:
        return broken
    return broken._replace(kind=broken.kind.replace("type", "outlined type"))


def _broken(text: Text, sheet: Sheet, run: TextRun) -> _Limit | None:
    """Return the gravest limit that a run breaks; looks at the ground only where it matters."""
    small = under_fine(run.size_pt, text.least_pt)
    if small and all(p.lightness > 0.5 and unseen(p, _ground(sheet, run)) for p in run.marks_with):
        return None
    hard = None
    most = max(text.least_pt, text.least_reversed_pt, text.wanted_reversed_pt or 0.0)
    if under_fine(run.size_pt, most):
        hard = _hard_to_print(sheet, run)
    kind, sure = hard or ("type", True)
    # Light type is told the size that light type needs, however small it is.
    if hard is not None and sure and under_fine(run.size_pt, text.least_reversed_pt):
        return _Limit(Severity.STOP, "least_reversed_pt", text.least_reversed_pt, kind)
    if small:
        return _Limit(Severity.STOP, "least_pt", text.least_pt, "type")
    if hard is not None:
        if under_fine(run.size_pt, text.least_reversed_pt):
            return _Limit(Severity.QUERY, "least_reversed_pt", text.least_reversed_pt, kind)
        wanted = text.wanted_reversed_pt
        if sure and wanted is not None and under_fine(run.size_pt, wanted):
            return _Limit(Severity.QUERY, "wanted_reversed_pt", wanted, kind)
    if text.wanted_pt is not None and under_fine(run.size_pt, text.wanted_pt):
        return _Limit(Severity.QUERY, "wanted_pt", text.wanted_pt, "type")
    return None


def _may_be_hard(paints: Sequence[Paint]) -> bool:
    """Say whether type in some paints may be of a hard kind, whatever it lies on."""
    return any(paint.ink_count > 1 or paint.lightness >= LEAST_LIGHT for paint in paints)


def _hard_to_print(sheet: Sheet, run: TextRun) -> tuple[str, bool] | None:
    """Return the kind of hard type and whether that is certain, None for plain dark type."""
    paints = run.marks_with
    if not _may_be_hard(paints):
        return None
    if any(paint.ink_count > 1 for paint in paints):
        return "type in several inks", True
    light = max(paints, key=lambda paint: paint.lightness)
    told = reversed_out(light, _ground(sheet, run))
    if told is None:
        return "type that may be light on dark", False
    return ("light type on dark", True) if told else None


def _ground(sheet: Sheet, run: TextRun) -> float | None:
    return ground(sheet, above_and_below(run))
