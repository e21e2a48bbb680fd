"""The pages of one page of art: the piece with its callouts, the findings, the close-ups."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from prepcheck.proof.art import draw_art, places_of
from prepcheck.proof.art_layout import TITLE_ROOM, ArtLayout, layouts
from prepcheck.proof.badge import draw_verdict, verdict_width
from prepcheck.proof.closeups import inset_blocks
from prepcheck.proof.drawing import Feature, features
from prepcheck.proof.entries import Paragraph, Reference, list_blocks, unjudged_blocks
from prepcheck.proof.figures import scale_words, titled
from prepcheck.proof.leaf import Block, Column, Leaf, Placed, columns, draw_placed, flow
from prepcheck.proof.looks import is_plain
from prepcheck.proof.model import Inset, ProofFor, ProofPage, ProofPart
from prepcheck.proof.page_findings import PageFindings, insets_on, told_on
from prepcheck.proof.pen import Align, Pen
from prepcheck.proof.shift import PrintShift, worst_shift
from prepcheck.proof.small_look import SmallLook, is_round
from prepcheck.proof.theme import A3_ACROSS, BODY, BODY_SOFT, HEADING, SMALL
from prepcheck.proof.typeset import shortened
from prepcheck.spec.model import Spec
from prepcheck.words import listed

_TITLE = TITLE_ROOM + 9
_LARGE = (1.6, 1.5, 1.4, 1.3, 1.2, 1.1, 1.0)
"""How much larger close-ups may be shown on pages of their own; the first that fits is taken."""
_SHRUNK = 0.65
"""Of their size, close-ups where there is no room for more: three stand in a column of A3."""


class _Way(NamedTuple):
    """A page of art laid out: what stands where on it, and what had no room."""

    layout: ArtLayout
    placed: list[Placed]
    rest: list[Block]


def art_leaves(part: ProofPart, page: ProofPage, proof_for: ProofFor = "plant") -> list[Leaf]:
    """Return the pages that show one page of art.

    For the client its finished look stands on the page too. What of the list has no room beside
    the art stands on pages that follow.
    """
    spec = part.spec
    outline = None if spec is None else spec.outline_of(page.page_index)
    drawn = () if spec is None or outline is None else features(spec, outline)
    told = told_on(part, page)
    bleed = 0.0 if spec is None else spec.bleed.wanted_mm
    insets = insets_on(part, page)
    laid_out = list(layouts(page, outline, bleed, drawn))
    way = _best(_ways(part, page, laid_out, told, drawn, proof_for, insets))
    further: list[list[Placed]] = []
    if way.rest:
        # Close-ups for which there is no room stand together, and large, on a page of their own.
        alone = _best(_ways(part, page, laid_out, told, drawn, proof_for, ()))
        rooms = columns(A3_ACROSS, A3_ACROSS.top + _TITLE)
        if insets and not alone.rest:
            way, further = alone, _large(insets, told, drawn)
        else:
            further = flow(way.rest, rooms, rooms)
    layout = way.layout
    title = page_title(part, page)

    def draw_first(pen: Pen) -> None:
        draw_title(pen, part, page, scale_words(layout.denominator))
        draw_art(pen, layout, page, outline, drawn, places_of(told.every))
        draw_placed(pen, way.placed)

    name = part.result.name
    more = [Leaf(A3_ACROSS, name, _continued(part, page, rest)) for rest in further]
    return [Leaf(layout.paper, name, draw_first, (title, 1)), *more]


def shown_pages(part: ProofPart) -> tuple[ProofPage, ...]:
    """Return the pages of a part that need a page of the client's proof each.

    Blank faces of which nothing is to be said are told with the first that is shown.
    """
    shown = tuple(page for page in part.pages if not _is_blank(part, page))
    return shown or part.pages[:1]


def _is_blank(part: ProofPart, page: ProofPage) -> bool:
    if part.spec is None or told_on(part, page).every:
        return False
    return is_plain(page.picture, part.spec.outline_of(page.page_index).bounds)


def _best(ways: Iterable[_Way]) -> _Way:
    """Return the first way that has room for everything, else the one that lacks least."""
    lacking: list[_Way] = []
    for way in ways:
        if not way.rest:
            return way
        if way.layout.paper is A3_ACROSS:
            lacking.append(way)
    return min(lacking, key=lambda way: sum(block.height + block.before for block in way.rest))


def _ways(
    part: ProofPart,
    page: ProofPage,
    layouts: Sequence[ArtLayout],
    told: PageFindings,
    drawn: Sequence[Feature],
    proof_for: ProofFor,
    insets: Sequence[Inset],
) -> Iterator[_Way]:
    """Yield a page laid out in all ways: close-ups at their size first, then smaller."""
    by = None
    if proof_for == "client" and part.spec is not None:
        outline = part.spec.outline_of(page.page_index)
        by = (
            worst_shift(part.result, page.number, part.spec, outline) if is_round(outline) else None
        )
    for shrunk in (1.0, _SHRUNK) if insets else (1.0,):
        made: dict[float, list[Block]] = {}
        for layout in layouts:
            width = layout.width
            if width not in made:
                close = inset_blocks(insets, told.every, drawn, width, shrunk)
                made[width] = _blocks(part, page, told, close, width, proof_for)
            if proof_for == "client" and part.spec is not None:
                yield from _with_look(part, page, part.spec, layout, made[width], by)
            else:
                yield _laid(layout, made[width], layout.lists, ())


def _large(
    insets: Sequence[Inset], told: PageFindings, drawn: Sequence[Feature]
) -> list[list[Placed]]:
    """Return close-ups side by side on pages of their own, as large as they fit on as few."""
    rooms = columns(A3_ACROSS, A3_ACROSS.top + _TITLE, 1)
    ways = [
        flow(inset_blocks(insets, told.every, drawn, rooms[0].width, size), rooms, rooms)
        for size in _LARGE
    ]
    return min(ways, key=len)


def _with_look(
    part: ProofPart,
    page: ProofPage,
    spec: Spec,
    layout: ArtLayout,
    blocks: Sequence[Block],
    by: PrintShift | None,
) -> Iterator[_Way]:
    """Yield a page with its finished look beside the art, or at the foot of one of the columns."""
    aside, lists = layout.aside, layout.lists
    if aside is not None:
        look = SmallLook(part, page, spec, aside.width, aside.height, by)
        yield _laid(layout, blocks, lists, (Placed(look, aside.x, aside.y),))
        return
    for index in range(len(lists) - 1, -1, -1):
        room = lists[index]
        look = SmallLook(part, page, spec, room.width, room.bottom - room.top, by)
        at = room.bottom - look.height
        left = room._replace(bottom=at - look.before)
        yield _laid(
            layout,
            blocks,
            (*lists[:index], left, *lists[index + 1 :]),
            (Placed(look, room.x, at),),
        )


def _laid(
    layout: ArtLayout, blocks: Sequence[Block], lists: Sequence[Column], placed: Sequence[Placed]
) -> _Way:
    here, *further = _into(blocks, lists)
    return _Way(layout, [*placed, *here], [one.block for each in further for one in each])


def _into(blocks: Sequence[Block], lists: Sequence[Column]) -> list[list[Placed]]:
    """Return blocks in the columns of a page, and the rest on pages of its own."""
    tall = [Column(0.0, 0.0, 1e9, 1.0)]
    return flow(blocks, lists, tall)


def _blocks(
    part: ProofPart,
    page: ProofPage,
    told: PageFindings,
    close_ups: Sequence[Block],
    width: float,
    proof_for: ProofFor,
) -> list[Block]:
    """Return what follows the art: findings, close-ups, and, at the part's end, the rest."""
    when_none = "Nothing to correct or to decide on this page."
    blocks = list_blocks("Findings", told.listed, width, when_none if not told.again else "")
    blocks += [Reference(number, finding, width) for number, finding in told.again]
    blocks += close_ups
    shown = shown_pages(part) if proof_for == "client" else part.pages
    if page.number == shown[-1].number:
        blocks += unjudged_blocks(part.result, width)
        blank = [page_title(part, other) for other in part.pages if other not in shown]
        if blank:
            verb = "is" if len(blank) == 1 else "are"
            words = f"{listed(blank)} {verb} of one plain colour and not shown by itself."
            blocks.append(Paragraph(words, BODY, width))
    if page.remarks:
        words = " ".join(f"{text[:1].upper()}{text[1:].rstrip('.')}." for text in page.remarks)
        blocks.append(Paragraph(words, SMALL, width))
    return blocks


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
