"""Too much ink in one place."""

from collections.abc import Iterator, Sequence

from prepcheck.art.model import ALL_INKS, ImageItem
from prepcheck.findings import Severity
from prepcheck.measure.ink import Region, total_over
from prepcheck.measure.picture_ink import picture_ink
from prepcheck.said import Clear, Declaration, FoundAt, Measured, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.inks import has_ink, nothing_in_inks, of_known_inks, places, printed, unknown
from prepcheck.sheets.surroundings import kept
from prepcheck.sheets.uses import uses_of
from prepcheck.spec.model import TOLERANCE_PERCENT
from prepcheck.words import count

CHECK = "ink.total"
_ALIKE = 1.1
"""How far the means of a place on the plates and in a picture may differ for the place to be the
picture's own."""
_MOST_PLACES = 40
_MOST_PICTURES = 8
"""Places and pictures that are looked at by their samples, largest places first."""

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Total ink is within the limit",
        FoundAt.PRINTING,
        (Severity.STOP,),
        "All inks printed over each other in one place must dry before the next sheet lands on "
        "it. Beyond what the paper takes they set off on the sheet above, smear, crack in the "
        "crease and blister on labels, and the picture gets no darker for it. What is painted in "
        "the colour of all plates is said under colour.registration.",
        "published guides of record plants: 300 % coated, 250 % uncoated; FOGRA39 and FOGRA29 "
        "characterisations",
        codes=("over",),
        limits=("ink.most_total_percent", "ink.window_mm2"),
        measures=("ink_total_percent", "ink_converted_by"),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[tuple[float, bool]]:
    """Return the greatest total in percent, and whether places were left to another check."""
    ink = exam.spec.ink
    over = total_over(
        sheet.cells, printed(exam, sheet), ink.most_total_percent + TOLERANCE_PERCENT,
        ink.window_mm2,
    )  # fmt: skip
    regions = [region for region in over.regions if not _on_every_plate(sheet, region)]
    left = len(regions) < len(over.regions)
    if not regions:
        return over.greatest, left
    most = _greatest(exam, sheet, regions)
    area = sum(region.area for region in regions)
    yield exam.finding(
        CHECK,
        "over",
        Severity.STOP,
        f"Total ink up to {most:.0f} %, where {ink.most_total_percent:g} % can be printed: "
        f"{area:,.0f} mm² above it in {count(len(regions), 'place')}{unknown(exam)}.",
        "Please convert the pictures with a profile for this paper that keeps to "
        f"{ink.most_total_percent:g} %, and mix solids with less ink under the black.",
        limit="ink.most_total_percent",
        page=sheet.number,
        measured=round(most, 1),
        marks=kept(places(regions)),
    )
    return max(over.greatest, most), left


@of_known_inks
def conclude(exam: Exam, seen: Sequence[tuple[float, bool]]) -> Iterator[Said]:
    ink, greatest = exam.spec.ink, max((most for most, _ in seen), default=0.0)
    profiles = dict.fromkeys(sheet.plates.converted_by for sheet in exam.sheets)
    if any(profiles):
        yield Measured("ink_converted_by", tuple(filter(None, profiles)))
    if not has_ink(exam):
        yield Measured("ink_total_percent", None)
        yield nothing_in_inks(CHECK, exam)
        return
    yield Measured("ink_total_percent", round(greatest, 1))
    why = ""
    if any(left for _, left in seen):
        why = ", in the colour of all plates only"
    elif greatest > ink.most_total_percent + TOLERANCE_PERCENT:
        why = f", but nowhere over more than {ink.window_mm2:g} mm²"
    yield Clear(
        CHECK,
        f"greatest total {greatest:.0f} %{why}{unknown(exam)}",
        round(greatest, 1),
        ink.most_total_percent,
        "%",
    )


def _on_every_plate(sheet: Sheet, region: Region) -> bool:
    """Say whether a place is one painted on every plate, which colour.registration speaks of."""
    room = sheet.cells.grid.pitch
    return any(
        use.box.grown(room).holds(region.box)
        for use in uses_of(sheet.content, lambda colour: ALL_INKS in colour.space.colorants)
    )


def _greatest(exam: Exam, sheet: Sheet, regions: Sequence[Region]) -> float:
    """Return the greatest total of the places; where pictures fill them, that of the samples."""
    cells = sheet.cells
    most = max(region.most for region in regions)
    placed = [item for item in sheet.content.images if _has_samples(exam, item)]
    for key in list(dict.fromkeys(item.key for item in placed))[:_MOST_PICTURES]:
        shared = [
            (item, place)
            for item in placed
            for region in regions[:_MOST_PLACES]
            if item.key == key
            and item.visible is not None
            and (place := item.visible.overlap(region.box)) is not None
        ]
        samples = sheet.page.picture(key) if shared else None
        if samples is None:
            continue
        for item, place in shared:
            ink = picture_ink(samples, item.quad, place, cells.cell_mm2)
            on_plates = cells.total[cells.grid.window(place)]
            if ink is None or not on_plates.size:
                continue
            mean = float(on_plates.mean())
            if ink.mean < mean * _ALIKE and mean < ink.mean * _ALIKE:
                most = max(most, ink.greatest)
    return most


def _has_samples(exam: Exam, item: ImageItem) -> bool:
    """Say whether a picture's samples are amounts of ink that can be asked for."""
    inked = item.space.kind in ("cmyk", "grey", "spot") and not item.is_mask
    return inked and (bool(item.key) or exam.is_raster)
