"""Colour spaces that the press does not print."""

from collections.abc import Iterator

from prepcheck.art.model import PROCESS_INKS
from prepcheck.findings import Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.paid import paid_inks
from prepcheck.sheets.surroundings import kept, on_art
from prepcheck.sheets.uses import KINDS, colours_of, uses_of
from prepcheck.words import count, listed

CHECK = "colour.space"
_WORDS = {"cmyk": "CMYK", "grey": "grey", "spot": "spot colours", "rgb": "RGB", "lab": "Lab"}

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Colours are inks, not RGB",
        FoundAt.PRINTING,
        (Severity.STOP,),
        "A press lays down inks. Colours made for a screen have to be converted, and then bright "
        "ones turn dull, and black type comes out of four inks, a little beside one another. "
        "Better that the designer converts and sees it than that a machine does and nobody looks.",
        "common practice of plants: CMYK, grey and spots, no RGB",
        codes=("space",),
        limits=("colour.allowed",),
    ),
)


def _fix(exam: Exam) -> str:
    paid = paid_inks(exam)
    if paid and not set(PROCESS_INKS) <= set(paid):
        return (
            f"Please set this in the inks that are ordered, {listed(paid)}, or ask us to print it "
            "in the process inks; where it was converted, send it as it was before."
        )
    return (
        "Please convert the document to CMYK, look whether the colours still please you, and set "
        "black type to black only."
    )


def examine(exam: Exam) -> Iterator[Said]:
    allowed = exam.spec.colour.allowed
    required = listed([_WORDS[kind] for kind in allowed], "or")
    source = exam.spec.source_of("colour.allowed")
    seen: set[str] = set()
    found = False
    for sheet in exam.sheets:
        wrong: dict[str, list[Mark]] = {kind: [] for kind in KINDS}
        content = sheet.content
        seen |= {colour.space.kind for colour in colours_of(content)} & {*allowed}
        for use in uses_of(content, lambda colour: colour.space.kind not in ("none", *allowed)):
            kind = use.space.kind
            if on_art(exam, sheet, use.box):
                wrong[use.kind].append(Mark(use.box, _WORDS[kind], rank=-use.box.area))
            else:
                seen.add(kind)
        for thing, marks in wrong.items():
            if not marks:
                continue
            found = True
            spaces = listed(sorted({mark.label for mark in marks}))
            yield exam.finding(
                CHECK,
                "space",
                Severity.STOP,
                f"{count(len(marks), *KINDS[thing])} in {spaces}; printing takes {required}.",
                _fix(exam),
                limit="colour.allowed",
                source=source,
                page=sheet.number,
                measured=spaces,
                required=required,
                subject=thing,
                marks=kept(marks),
            )
    if found:
        return
    if not seen:
        yield NotApplicable(CHECK, "nothing is painted")
    else:
        words = listed([_WORDS[kind] for kind in allowed if kind in seen])
        yield Clear(
            CHECK, f"painted in {words}" if words else "no colour that is not allowed", words
        )
