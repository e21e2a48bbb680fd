"""The PDF/X claim, and what in the file contradicts it."""

from collections.abc import Iterator

from prepcheck.art.facts import DocumentFacts
from prepcheck.art.model import ArtKind, Content, Paint
from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.surroundings import NO_PDF, on_art
from prepcheck.words import listed

CHECK = "file.conformance"
_SOURCE = "ISO 15930-1, -3, -4, -6, -7 (PDF/X), after secondary pages; Trapped and LZW from memory"

_PAPERS = {
    "coated": ("fogra39", "fogra51", "fogra27", "coated", "gracol", "swop"),
    "uncoated": ("fogra29", "fogra47", "fogra52", "uncoated"),
}
"""Words in the name of an output condition that tell the paper (Fogra's and IDEAlliance's
characterisation data; from memory)."""

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Nothing contradicts the PDF/X claim",
        FoundAt.PLATES,
        (Severity.NOTE,),
        "A file that claims a PDF/X version is trusted to need no further look. Where it breaks "
        "its own claim, or was made for another paper, plate makers may refuse it or the colours "
        "come out differently.",
        _SOURCE,
        codes=("claim", "paper"),
        limits=("print_condition",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    if exam.artwork.kind is not ArtKind.PDF:
        yield NotApplicable(CHECK, NO_PDF)
        return
    facts = exam.artwork.document
    claim = facts.pdfx
    wrong = list(_contradictions(exam, claim)) if claim else []
    if wrong:
        yield exam.finding(
            CHECK,
            "claim",
            Severity.NOTE,
            f"The file claims {claim}, but {listed(wrong)}.",
            "If your program offers it, please export as PDF/X-4 and let it report what it had "
            "to change.",
            source=_SOURCE,
            measured=listed(wrong),
            required=claim,
        )
    condition = _condition(facts)
    made_for, wanted = _paper(condition), _paper(exam.spec.print_condition)
    if made_for and wanted and made_for != wanted:
        yield exam.finding(
            CHECK,
            "paper",
            Severity.NOTE,
            f"The file was made for {made_for} paper ({condition}); this piece is printed on "
            f"{wanted} paper ({exam.spec.print_condition}).",
            f"Colours may look different on {wanted} paper; please convert to its profile if "
            "that matters.",
            source=exam.spec.sources.get("print_condition", _SOURCE),
            measured=condition,
            required=exam.spec.print_condition,
        )
    elif not wrong:
        said = f"claims {claim}, nothing contradicts it" if claim else "no PDF/X claim"
        yield Clear(CHECK, said + (f"; made for {condition}" if condition else ""), claim)


def _contradictions(exam: Exam, claim: str) -> Iterator[str]:
    facts = exam.artwork.document
    if facts.encrypted:
        yield "it is encrypted"
    if any(not f.embedded and f.subtype != "Type3" for s in exam.sheets for f in s.page.fonts):
        yield "not every font is embedded"
    intents = [i for i in facts.output_intents if i.subtype == "GTS_PDFX"]
    if not intents:
        yield "there is no output intent"
    elif not any(i.has_profile or i.registry for i in intents):
        yield "its output intent has neither a profile nor a registered name"
    boxes = [sheet.page.boxes for sheet in exam.sheets]
    if any(b.trim is None and b.art is None for b in boxes):
        yield "a page has neither TrimBox nor ArtBox"
    if any(b.trim is not None and b.art is not None for b in boxes):
        yield "a page has both TrimBox and ArtBox"
    if facts.trapped not in ("True", "False"):
        yield "it does not say whether it is trapped"
    if any(
        on_art(exam, s, s.placement.to_piece.box(a.box))
        for s in exam.sheets
        for a in s.page.annotations
        if a.subtype not in ("PrinterMark", "TrapNet")
    ):
        yield "annotations lie inside the bleed"
    if facts.scripts or facts.form_fields or facts.media:
        yield "it holds scripts, forms or media"
    contents = [sheet.content for sheet in exam.sheets]
    if "X-1" in claim and any(_not_cmyk(content) for content in contents):
        yield "it uses colours other than CMYK, grey and spots"
    if "X-1" in claim or "X-3" in claim:
        if facts.layers:
            yield "it has layers"
        if any(_transparent(content) for content in contents):
            yield "it uses transparency"
        if any("LZWDecode" in i.filters for content in contents for i in content.images):
            yield "a picture is packed with LZW"


def _not_cmyk(content: Content) -> bool:
    kinds = {image.space.kind for image in content.images if not image.is_mask}
    kinds |= {paint.space.kind for paint in _of_type(content)}
    kinds |= {paint.space.kind for paint in content.path_traits.paints}
    kinds |= {shading.space.kind for shading in content.shadings}
    return bool(kinds & {"rgb", "lab"})


def _transparent(content: Content) -> bool:
    return (
        any(image.opacity < 1 for image in content.images)
        or any(paint.opacity < 1 for paint in _of_type(content))
        or any(paint.opacity < 1 for paint in content.path_traits.paints)
    )


def _of_type(content: Content) -> Iterator[Paint]:
    for style in content.type_table.used_styles():
        yield from style.marks_with


def _condition(facts: DocumentFacts) -> str | None:
    names = (intent.condition or intent.info for intent in facts.output_intents)
    return next((name for name in names if name), None)


def _paper(condition: str | None) -> str | None:
    name = (condition or "").casefold().replace(" ", "")
    if "uncoated" in name:
        return "uncoated"
    return next((p for p, words in _PAPERS.items() if any(w in name for w in words)), None)
