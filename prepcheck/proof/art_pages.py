"""The pages of one page of art: the piece with its callouts, the findings, the close-ups."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from prepcheck.findings import Finding
from prepcheck.proof.art import draw_art, places_of
from prepcheck.proof.art_layout import TITLE_ROOM, ArtLayout, lay_out
from prepcheck.proof.badge import draw_verdict, verdict_width
from prepcheck.proof.close_up_plan import numbered, page_of
from prepcheck.proof.closeups import inset_blocks
from prepcheck.proof.drawing import Feature, features
from prepcheck.proof.entries import list_blocks, unjudged_blocks
from prepcheck.proof.figures import scale_words, titled
from prepcheck.proof.leaf import (
    Leaf,
    Placed,
    Section,
    column_count,
    column_width,
    draw_placed,
    flow_sections,
)
from prepcheck.proof.model import ProofPage, ProofPart
from prepcheck.proof.pen import Align, Pen
from prepcheck.proof.theme import BODY_SOFT, HEADING
from prepcheck.proof.typeset import shortened


def art_leaves(part: ProofPart, page: ProofPage) -> list[Leaf]:
    """Return the pages that show one page of art."""
    spec = part.spec
    outline = None if spec is None else spec.outline_of(page.page_index)
    drawn = () if spec is None or outline is None else features(spec, outline)
    layout = lay_out(page, outline, 0.0 if spec is None else spec.bleed.wanted_mm, drawn)
    first = part.pages[0].number
    known = {p.number for p in part.pages}
    numbers = [
        (number, finding)
        for number, finding in numbered(part.result)
        if page_of(finding) == page.number
        or (page.number == first and page_of(finding) not in known)
    ]
    paper, top = layout.paper, layout.paper.top + TITLE_ROOM + 9
    placed = flow_sections(_sections(part, page, layout, numbers, drawn), paper, layout.lists, top)
    title = page_title(part, page)

    def draw_first(pen: Pen) -> None:
        draw_title(pen, part, page, scale_words(layout.denominator))
        draw_art(pen, layout, page, outline, drawn, places_of(numbers))
        draw_placed(pen, placed[0])

    name = part.result.name
    more = [Leaf(layout.paper, name, _continued(part, page, rest)) for rest in placed[1:]]
    return [Leaf(layout.paper, name, draw_first, (title, 1)), *more]


def _sections(
    part: ProofPart,
    page: ProofPage,
    layout: ArtLayout,
    numbers: Sequence[tuple[int, Finding]],
    drawn: Sequence[Feature],
) -> list[Section]:
    """Return what follows the art: findings, close-ups, and, at the part's end, the rest."""
    count = column_count(layout.paper)
    width = column_width(layout.paper)
    when_none = "Nothing to correct or to decide on this page."
    findings = list_blocks("Findings", numbers, width, when_none)
    is_last = page.number == part.pages[-1].number
    closing = unjudged_blocks(part.result, width) if is_last else []
    if len(layout.lists) < count:  # the list stands beside the art: all of it in one stream
        return [
            Section([*findings, *inset_blocks(page.insets, numbers, drawn, width), *closing], count)
        ]
    gallery = inset_blocks(page.insets, numbers, drawn, layout.paper.measure)
    return [Section(findings, count), Section(gallery, 1), Section(closing, count)]


def _continued(part: ProofPart, page: ProofPage, placed: Sequence[Placed]) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        draw_title(pen, part, page, "continued")
        draw_placed(pen, placed)

    return draw


def page_title(part: ProofPart, page: ProofPage) -> str:
    """Return what a page of art is called: the part, and the page where the piece has several."""
    return titled(part.result.name, part.spec, page.page_index)


def draw_title(pen: Pen, part: ProofPart, page: ProofPage, aside: str) -> None:
    """Set the head of a page of art."""
    paper, top = pen.paper, pen.paper.top
    room = paper.measure - 150
    name = shortened(page_title(part, page), HEADING, room)
    pen.text(paper.left, top + 15, name, HEADING)
    facts = [part.spec.title if part.spec else "", part.result.file, f"page {page.number}"]
    line = " · ".join(fact for fact in facts if fact)
    pen.text(paper.left, top + 30, shortened(line, BODY_SOFT, room), BODY_SOFT)
    verdict = part.result.verdict
    draw_verdict(pen, paper.right - verdict_width(verdict), top + 15, verdict)
    pen.text(paper.right, top + 30, aside, BODY_SOFT, Align.RIGHT)
