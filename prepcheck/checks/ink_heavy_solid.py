"""Labels with heavy solids over much of the face."""

from collections.abc import Iterator

from prepcheck.findings import Severity
from prepcheck.outline import Disc
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.inks import has_ink, nothing_in_inks, of_known_inks, places
from prepcheck.sheets.surroundings import kept
from prepcheck.spec.model import TOLERANCE_PERCENT

CHECK = "ink.heavy-solid"

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "No heavy solids on the label",
        FoundAt.PRESSING,
        (Severity.QUERY,),
        "A label is baked dry and moulded into the record under heat. Where much of the paper is "
        "sealed by ink, what moisture is left cannot get out: the label blisters, or its ink sets "
        "off on the mould.",
        "common practice, no source",
        codes=("heavy",),
        limits=("ink.heavy_total_percent", "ink.heavy_share_percent"),
    ),
)


@of_known_inks
def examine(exam: Exam) -> Iterator[Said]:
    ink = exam.spec.ink
    total, most = ink.heavy_total_percent, ink.heavy_share_percent
    sheets = [sheet for sheet in exam.sheets if isinstance(sheet.outline, Disc)]
    if not sheets:
        yield NotApplicable(CHECK, "only a label is moulded into the record")
        return
    if total is None or most is None:
        yield NotApplicable(CHECK, "the spec sets no limit")
        return
    if not has_ink(exam):
        yield nothing_in_inks(CHECK, exam)
        return
    shares = []
    for sheet in sheets:
        cells = sheet.cells
        heavy = (cells.total > total + TOLERANCE_PERCENT) & cells.face
        share = 100 * float(heavy.sum()) / max(float(cells.face.sum()), 1.0)
        shares.append(share)
        if share <= most + TOLERANCE_PERCENT:
            continue
        yield exam.finding(
            CHECK,
            "heavy",
            Severity.QUERY,
            f"{share:.0f} % of the label carries more than {total:g} % of ink; beyond {most:g} % "
            "of the face it may blister or set off in the press.",
            "Please build the solid of fewer inks, or of one spot, or tell us that you "
            "take the risk.",
            limit="ink.heavy_share_percent",
            page=sheet.number,
            measured=round(share, 1),
            unit="% of the face",
            marks=kept(places(r for r in cells.regions(heavy) if r.area >= ink.window_mm2)),
        )
    if max(shares) <= most + TOLERANCE_PERCENT:
        yield Clear(
            CHECK,
            f"{max(shares):.0f} % of the face carries more than {total:g} % of ink",
            round(max(shares), 1),
            most,
            "% of the face",
        )
