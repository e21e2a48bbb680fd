"""Tints too faint to print."""

from collections.abc import Iterator, Sequence

from prepcheck.findings import Mark, Severity
from prepcheck.measure.faint import WIDEST_MM, Faint, faint_places
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.inks import has_ink, nothing_in_inks, of_known_inks, printed
from prepcheck.sheets.surroundings import kept
from prepcheck.words import count

CHECK = "ink.faint"

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Tints are strong enough to hold",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "The smallest dots are lost between plate and paper, and which of them is a matter of "
        "luck: a tint of 2 % prints as bare paper or as patches. Every fade to bare paper loses "
        "its last stretch so and ends a little early, which nobody sees; but where a fade is so "
        "slow that the stretch is wide, it ends in a hard edge instead.",
        "common practice of plants: published guides warn of tints under 5 and 10 %",
        codes=("faint",),
        limits=("ink.least_tint_percent", "ink.least_tint_mm2", "ink.widest_fade_end_mm"),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[float]:
    ink, short = exam.spec.ink, 0.0
    least, area = ink.least_tint_percent, ink.least_tint_mm2
    if least is None or area is None:
        return short
    lost = []
    for place in faint_places(sheet.cells, printed(exam, sheet), least, area):
        if place.is_even or place.width_mm > (ink.widest_fade_end_mm or 0.0):
            lost.append(place)
        else:
            short = max(short, place.width_mm)
    if lost:
        yield exam.finding(
            CHECK,
            "faint",
            Severity.QUERY,
            f"{_kinds(lost)} under {least:g} % over {sum(one.area for one in lost):,.0f} mm²: "
            "dots as small as that do not hold.",
            f"Please make tints {least:g} % or more, better 10 %, and let fades end at that, in a "
            "clean edge, or sooner.",
            limit="ink.least_tint_percent",
            page=sheet.number,
            measured=round(min(one.most for one in lost), 1),
            marks=kept(
                Mark(one.box, _label(one), value=round(one.most, 1), rank=-one.area) for one in lost
            ),
        )
    return short


@of_known_inks
def conclude(exam: Exam, seen: Sequence[float]) -> Iterator[Said]:
    least, area = exam.spec.ink.least_tint_percent, exam.spec.ink.least_tint_mm2
    if least is None or area is None:
        yield NotApplicable(CHECK, "the spec sets no limit")
    elif has_ink(exam):
        short = max(seen, default=0.0)
        ends = f"; fades go from that to 0.6 % within {short:.1f} mm" if short else ""
        yield Clear(CHECK, f"no tint under {least:g} % over {area:g} mm² or more{ends}")
    else:
        yield nothing_in_inks(CHECK, exam)


def _kinds(lost: list[Faint]) -> str:
    """Return how many tints and ends of fades there are, with how wide the widest end is."""
    ends = [one for one in lost if not one.is_even]
    tints = len(lost) - len(ends)
    kinds = [count(tints, "even tint")] if tints else []
    if ends:
        widest = _width(max(one.width_mm for one in ends))
        many = f"up to {widest}" if len(ends) > 1 else widest
        kinds.append(
            f"{count(len(ends), 'end of a fade', 'ends of fades')} ({many} wide from 0.6 % up)"
        )
    return " and ".join(kinds)


def _label(place: Faint) -> str:
    if place.is_even:
        return f"{place.most:.0f} %"
    return f"end of a fade, {_width(place.width_mm)}"


def _width(width_mm: float) -> str:
    if width_mm >= WIDEST_MM - 1:
        return f"{WIDEST_MM:.0f} mm or more"
    return f"{width_mm:.0f} mm"
