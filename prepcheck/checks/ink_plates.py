"""What each plate carries against what the order pays for."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from prepcheck.art.model import ALL_INKS, PROCESS_INKS
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.measure.ink import Carried, carried
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.inks import nothing_in_inks, of_known_inks, printed, unknown
from prepcheck.sheets.paid import ink_key, lost_spots, misspelt, paid_inks, paid_keys, used_inks
from prepcheck.sheets.surroundings import on_art
from prepcheck.sheets.uses import uses_of
from prepcheck.words import listed

CHECK = "ink.plates"

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "No plate is empty or too many",
        FoundAt.PLATES,
        (Severity.STOP, Severity.QUERY),
        "Each plate is paid for and printed in a pass of its own. A plate that is paid for and "
        "stays empty is money lost or an ink forgotten; one that carries next to nothing is "
        "usually a slip, such as a line in the wrong swatch. An ink that the file names and the "
        "order does not pay for is said under colour.inks; here it is a stop only where the plate "
        "alone shows it.",
        "common practice of plants, no source",
        codes=("empty", "unpaid", "slip"),
        limits=("ink.least_plate_mm2",),
        measures=("ink_areas",),
    ),
)


class _Plate(NamedTuple):
    """A plate of the whole part: coverage of its faces in percent, ink in mm², places by page."""

    ink: str
    coverage: float
    area: float
    places: tuple[tuple[int, Carried], ...]

    def mark(self) -> tuple[int | None, tuple[Mark, ...]]:
        """Return the page that carries most of it, and the place there."""
        if not self.places:
            return None, ()
        page, most = max(self.places, key=lambda place: place[1].area)
        if most.box is None:
            return page, ()
        return page, (Mark(most.box, self.ink, value=round(most.area, 2), rank=-most.area),)


@of_known_inks
def examine(exam: Exam) -> Iterator[Said]:
    plates = _plates(exam)
    inked = [plate for plate in plates if plate.area > 0]
    yield Measured("ink_areas", tuple(f"{p.ink} {p.coverage:.1f} %" for p in inked))
    others = unknown(exam)
    if not inked:
        yield nothing_in_inks(CHECK, exam, "no plate carries ink")
        return
    extra = _extra(exam, inked)
    # What a profile makes of colours that are no inks is told with those, and is no second mistake.
    told = [plate.ink for plate in extra if plate.ink in PROCESS_INKS and _has_other_colours(exam)]
    unpaid = [plate for plate in extra if plate.ink not in told]
    said = [*_unpaid(exam, unpaid), *_slips(exam, inked)]
    if not others:
        said += _empty(exam, inked)
    yield from said
    if said:
        return
    if told:
        yield NotApplicable(CHECK, f"{listed(told)} come of colours that are no inks, told as such")
    else:
        shown = listed([f"{plate.ink} {_share(plate.coverage)}" for plate in inked])
        yield Clear(CHECK, f"share of the face inked: {shown}{others}")


def _share(percent: float) -> str:
    return f"{percent:.0f} %" if percent >= 0.5 else "under 1 %"


def _plates(exam: Exam) -> list[_Plate]:
    found: dict[str, list[tuple[int, Carried]]] = {}
    for sheet in exam.sheets:
        for one in carried(sheet.cells, printed(exam, sheet)):
            found.setdefault(one.ink, []).append((sheet.number, one))
    return [
        _Plate(
            ink,
            sum(one.coverage for _, one in each) / len(exam.sheets),
            sum(one.area for _, one in each),
            tuple(each),
        )
        for ink, each in found.items()
    ]


def _extra(exam: Exam, inked: Sequence[_Plate]) -> list[_Plate]:
    """Return the plates of inks that the order does not pay for and the file does not name."""
    paid, named = paid_keys(exam), used_inks(exam)
    if paid is None or any(ALL_INKS in sheet.content.inks for sheet in exam.sheets):
        return []
    return [plate for plate in inked if ink_key(plate.ink) not in paid and plate.ink not in named]


def _unpaid(exam: Exam, extra: Sequence[_Plate]) -> Iterator[Finding]:
    if not extra:
        return
    # What one conversion makes of a picture is one thing, on however many plates.
    page, marks = max(extra, key=lambda plate: plate.area).mark()
    area = sum(plate.area for plate in extra)
    names = listed([plate.ink for plate in extra])
    many = len(extra) > 1
    yield exam.finding(
        CHECK,
        "unpaid",
        Severity.STOP,
        f"The plate{'s' if many else ''} {names} {'carry' if many else 'carries'} {area:,.1f} mm² "
        f"of ink; the order does not pay for {'them' if many else 'it'}.",
        f"Please take {'these inks' if many else 'this ink'} out of the art, or ask us to add "
        f"{'them' if many else 'it'} to the order.",
        source="the order",
        page=page,
        measured=round(area, 1),
        required=0.0,
        unit="mm²",
        subject=names,
        marks=marks,
    )


def _has_other_colours(exam: Exam) -> bool:
    """Say whether a profile turned colours into inks that are none, which `colour.space` tells."""
    allowed = ("none", *exam.spec.colour.allowed)
    return any(
        bool(sheet.plates.converted_by)
        and any(
            on_art(exam, sheet, use.box)
            for use in uses_of(sheet.content, lambda one: one.space.kind not in allowed)
        )
        for sheet in exam.sheets
    )


def _empty(exam: Exam, inked: Sequence[_Plate]) -> Iterator[Finding]:
    if exam.part is None or exam.part.inks is None or lost_spots(exam):
        return
    used = {ink_key(plate.ink) for plate in inked}
    # An ink that is there under a misspelt name is told under colour.inks.
    used |= {ink_key(ink) for ink in misspelt(exam).values()}
    empty = [ink for ink in paid_inks(exam) if ink_key(ink) not in used]
    if not empty:
        return
    yield exam.finding(
        CHECK,
        "empty",
        Severity.QUERY,
        f"The order pays for {listed(empty)}, but nothing is printed in "
        f"{'it' if len(empty) == 1 else 'them'}.",
        "Please tell us whether an ink is missing from the art, or one too many was ordered.",
        source="the order",
        measured=listed([plate.ink for plate in inked]),
        required=listed(exam.part.inks),
    )


def _slips(exam: Exam, inked: Sequence[_Plate]) -> Iterator[Finding]:
    least, paid = exam.spec.ink.least_plate_mm2, paid_keys(exam)
    if least is None:
        return
    for plate in inked:
        if plate.area >= least or (paid is not None and ink_key(plate.ink) not in paid):
            continue
        page, marks = plate.mark()
        yield exam.finding(
            CHECK,
            "slip",
            Severity.QUERY,
            f"The plate {plate.ink} carries no more than {plate.area:.1f} mm² of ink: usually a "
            "slip.",
            "Please check whether this is meant; if not, convert it to an ink used elsewhere.",
            limit="ink.least_plate_mm2",
            page=page,
            measured=round(plate.area, 2),
            subject=plate.ink,
            marks=marks,
        )
