"""Colour spaces that the press does not print."""

from collections.abc import Iterator, Sequence

from prepcheck.art.model import PROCESS_INKS
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.paid import paid_inks
from prepcheck.sheets.surroundings import kept, on_art
from prepcheck.sheets.uses import KINDS, Use, colours_of, uses_of
from prepcheck.words import count, listed

CHECK = "colour.space"
_WORDS = {"cmyk": "CMYK", "grey": "grey", "spot": "spot colours", "rgb": "RGB", "lab": "Lab"}
WHITE = 0.98
"""Red, green and blue above which paint is white."""

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Colours are inks, not RGB",
        FoundAt.PRINTING,
        (Severity.STOP, Severity.NOTE),
        "A press lays down inks. Colours made for a screen have to be converted, and then bright "
        "ones turn dull, and black type comes out of four inks, a little beside one another. "
        "Better that the designer converts and sees it than that a machine does and nobody looks.",
        "common practice of plants: CMYK, grey and spots, no RGB",
        codes=("space", "unseen"),
        limits=("colour.allowed",),
    ),
)


def _ordered(exam: Exam) -> str:
    """Return the inks that are ordered where the process inks are not all among them."""
    paid = paid_inks(exam)
    return "" if set(PROCESS_INKS) <= set(paid) else listed(paid)


def _fix(ordered: str) -> str:
    if ordered:
        return (
            f"Please set this in the inks that are ordered, {ordered}, or ask us to print it "
            "in the process inks; where it was converted, send it as it was before."
        )
    return (
        "Please convert the document to CMYK, check that you still like the colours, and set "
        "black type to black only."
    )


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[set[str]]:
    allowed = exam.spec.colour.allowed
    required = listed([_WORDS[kind] for kind in allowed], "or")
    source = exam.spec.source_of("colour.allowed")
    wrong: dict[str, list[Mark]] = {kind: [] for kind in KINDS}
    covered: list[Mark] = []
    content = sheet.content
    seen = {colour.space.kind for colour in colours_of(content)} & {*allowed}
    for use in uses_of(content, lambda colour: colour.space.kind not in ("none", *allowed)):
        kind = use.space.kind
        if on_art(exam, sheet, use.box) and _is_covered(sheet, use):
            covered.append(Mark(use.box, _WORDS[kind], rank=-use.box.area))
        elif on_art(exam, sheet, use.box):
            wrong[use.kind].append(Mark(use.box, _WORDS[kind], rank=-use.box.area))
        else:
            seen.add(kind)
    if covered:
        yield _unseen(exam, sheet, covered, required)
    for thing, marks in wrong.items():
        if not marks:
            continue
        spaces = listed(sorted({mark.label for mark in marks}))
        ordered = _ordered(exam)
        yield exam.finding(
            CHECK,
            "space",
            Severity.STOP,
            f"{count(len(marks), *KINDS[thing])} in {spaces}; "
            + (f"the order pays for {ordered}." if ordered else f"printing takes {required}."),
            _fix(ordered),
            limit="" if ordered else "colour.allowed",
            source="the order" if ordered else source,
            page=sheet.number,
            measured=spaces,
            required=ordered or required,
            subject=thing,
            marks=kept(marks),
        )
    return seen


def conclude(exam: Exam, seen: Sequence[set[str]]) -> Iterator[Said]:
    kinds = set().union(*seen)
    if not kinds:
        yield NotApplicable(CHECK, "nothing is painted")
    else:
        words = listed([_WORDS[kind] for kind in exam.spec.colour.allowed if kind in kinds])
        yield Clear(
            CHECK, f"painted in {words}" if words else "no colour that is not allowed", words
        )


def _is_covered(sheet: Sheet, use: Use) -> bool:
    """Say whether nothing of a colour without ink amounts is left where something is painted with
    it; white cannot be told from paper."""
    seen = sheet.plates.seen
    if seen is None or sheet.plates.troubles:
        return False
    if use.paint is not None and min(use.paint.rgb) > WHITE:
        return False
    area = seen[sheet.plates.grid.window(use.box)]
    return area.size > 0 and int(area.min()) == 255


def _unseen(exam: Exam, sheet: Sheet, marks: list[Mark], required: str) -> Finding:
    spaces = listed(sorted({mark.label for mark in marks}))
    return exam.finding(
        CHECK,
        "unseen",
        Severity.NOTE,
        f"{count(len(marks), 'thing')} in {spaces} under others that lie over all of "
        f"{'it' if len(marks) == 1 else 'them'}.",
        "Please delete what is covered.",
        limit="colour.allowed",
        page=sheet.number,
        measured=spaces,
        required=required,
        marks=kept(marks),
    )
