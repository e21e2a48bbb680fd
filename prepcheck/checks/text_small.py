"""Type too small to print."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import compress
from typing import NamedTuple

from prepcheck.art.model import Paint, TextRun
from prepcheck.findings import Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.covered import seen_type
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.limits import under_fine
from prepcheck.sheets.outlined import ABOUT, Sized, sized_type, too_few_letters
from prepcheck.sheets.surroundings import (
    LEAST_LIGHT,
    above_and_below,
    ground,
    kept,
    paints_of,
    reversed_out,
    unseen,
    within_trim,
)
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
    """Sizes of type in pt, each with whether it is an estimate, and rows of too few letters."""

    sizes: list[tuple[float, bool]]
    rows: int


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[_Sizes]:
    sizes = []
    small: dict[_Limit, list[Mark]] = defaultdict(list)
    several: set[_Limit] = set()
    every = [(one, box) for one in sized_type(exam, sheet) if (box := one.run.box) is not None]
    lies = within_trim(sheet, [(one.run, box) for one, box in every])
    found = []
    for sized, box in compress(every, lies):
        sizes.append((sized.run.size_pt, sized.about))
        broken = _told(exam.spec.text, sheet, sized)
        if broken is not None:
            found.append((sized, box, broken))
    seen = seen_type(sheet, [sized.run for sized, _, _ in found])
    for (sized, box, broken), shows in zip(found, seen, strict=True):
        if shows or sized.outlined:
            run, size = sized.run, sized.run.size_pt
            label = f"{'about ' * sized.about}{size:.1f} pt"
            if any(paint.ink_count > 1 for paint in paints_of(run)):
                several.add(broken)
            small[broken].append(Mark(box, label, value=round(size, 2), rank=size))
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
            _fix(exam.spec.text, limit, limit in several),
            limit=f"text.{limit.key}",
            page=sheet.number,
            measured=round(least, 2),
            subject=limit.kind,
            marks=kept(marks),
        )
    return _Sizes(sizes, 0 if small else len(too_few_letters(exam, sheet)))


def conclude(exam: Exam, seen: Sequence[_Sizes]) -> Iterator[Said]:
    sizes = [size for own in seen for size in own.sizes]
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


def _told(text: Text, sheet: Sheet, sized: Sized) -> _Limit | None:
    """Return the gravest limit that type breaks. Where its size is only about known, one that it
    breaks for sure; one that it seems to break is asked about."""
    run = sized.run
    most = run if sized.most_pt == run.size_pt else run._replace(size_pt=sized.most_pt)
    broken = _broken(text, sheet, most)
    if broken is None and sized.about and sized.most_pt > run.size_pt * ABOUT:
        # Lower case without ascenders, or capitals: it is one or the other.
        broken = _broken(text, sheet, run._replace(size_pt=run.size_pt * ABOUT))
        broken = None if broken is None else broken._replace(severity=Severity.QUERY)
    if broken is None or not sized.outlined:
        return broken
    return broken._replace(kind=broken.kind.replace("type", "outlined type"))


def _broken(text: Text, sheet: Sheet, run: TextRun) -> _Limit | None:
    """Return the gravest limit that a run breaks; looks at the ground only where it matters."""
    small = under_fine(run.size_pt, text.least_pt)
    if small and all(p.lightness > 0.5 and unseen(p, _ground(sheet, run)) for p in paints_of(run)):
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


def _hard_to_print(sheet: Sheet, run: TextRun) -> tuple[str, bool] | None:
    """Return the kind of hard type and whether that is certain, None for plain dark type."""
    paints = paints_of(run)
    if any(paint.ink_count > 1 for paint in paints):
        return "type in several inks", True
    light: Paint | None = max(paints, key=lambda paint: paint.lightness, default=None)
    if light is None or light.lightness < LEAST_LIGHT:
        return None
    told = reversed_out(light, _ground(sheet, run))
    if told is None:
        return "type that may be light on dark", False
    return ("light type on dark", True) if told else None


def _ground(sheet: Sheet, run: TextRun) -> float | None:
    return ground(sheet, above_and_below(run))
