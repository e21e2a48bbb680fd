"""The proof of a comparison: what became of the findings, then each page before, after and
where the two differ."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from pathlib import Path

from prepcheck.comparison import (
    Change,
    Comparison,
    Fate,
    PageChanges,
    PartChanges,
    letter_of,
    page_words,
    totals,
)
from prepcheck.findings import Finding, Result
from prepcheck.geometry import Box
from prepcheck.outline import Outline
from prepcheck.output import write_whole
from prepcheck.proof.badge import RADIUS, draw_tick, draw_verdict, verdict_width
from prepcheck.proof.cover import FactsBlock, TitleBlock, VerdictBlock
from prepcheck.proof.drawing import Projection, draw_features, draw_picture, features
from prepcheck.proof.entries import Paragraph, RuledHeading, finding_blocks
from prepcheck.proof.figures import counted, day, millimetres, number, scale_words, titled
from prepcheck.proof.leaf import (
    Block,
    Leaf,
    Placed,
    column_width,
    columns,
    draw_placed,
    flow,
    on_grid,
)
from prepcheck.proof.model import ComparedPage, ComparedPart, Picture
from prepcheck.proof.pen import XY, Align, Pen, Rect
from prepcheck.proof.theme import (
    A3_ACROSS,
    A4_UPRIGHT,
    BODY,
    BODY_SOFT,
    HEADING,
    INTRO,
    LABEL,
    NUMBER,
    SMALL,
    STRONG,
    LineStyle,
    Palette,
)
from prepcheck.proof.typeset import shortened, wrap
from prepcheck.proof.write import document, running_head
from prepcheck.spec.model import Spec
from prepcheck.units import pt_from_mm
from prepcheck.words import capital

_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
_AROUND_MM = 1.5
"""How much is shown outside the bleed."""
_GAP = 24.0
_ASKED, _UNASKED = LineStyle(Palette.TEXT, 0.7), LineStyle(Palette.QUERY, 1.0, (3.0, 1.5))
_CLOSE_UPS = 8
_CLOSE_ACROSS = 4
_CLOSE_ROOM = Rect(0, 0, 120, 84)
_LEAST_CROP_MM = 8.0
_WIDE = 1.4
"""Width against height from which before and after stand over each other."""


def write_comparison(
    path: Path, comparison: Comparison, parts: Sequence[ComparedPart], *, made_on: date
) -> None:
    """Write the proof of a comparison to `path`, whole or not at all; raises OutputError."""
    leaves = list(comparison_leaves(comparison, parts, made_on))
    new = comparison.new
    write_whole(path, document(leaves, f"{running_head(new)} · compared", new.version, made_on))


def comparison_leaves(
    comparison: Comparison, parts: Sequence[ComparedPart], made_on: date
) -> Iterator[Leaf]:
    """Yield the pages in order."""
    yield from _cover(comparison, parts, made_on)
    for part in parts:
        for page in part.pages:
            if page.before is not None and page.after is not None and part.spec is not None:
                yield _page_leaf(part, page, part.spec, page.before, page.after)


class _Kind(Paragraph):
    """What became of the findings under it, with how many there are."""

    keep = True

    def __init__(self, words: str, number: int, width: float) -> None:
        super().__init__(f"{words}: {counted(number, 'finding')}", STRONG, width, 3)


class Cured(Block):
    """A finding that is no longer there."""

    def __init__(self, finding: Finding, width: float) -> None:
        self.lines = wrap(finding.message, BODY, width - 24)
        self.height = on_grid(len(self.lines) * 12 + 6)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        draw_tick(pen, (x + RADIUS, y + 6))
        pen.lines(x + 24, y + 9, self.lines, BODY)


class Then(Block):
    """What a finding was before, where it has eased or grown worse."""

    def __init__(self, words: str, width: float) -> None:
        self.lines = wrap(words, BODY_SOFT, width - 24)
        self.height = on_grid(len(self.lines) * 12 + 6)

    def draw(self, pen: Pen, x: float, y: float) -> None:
        pen.lines(x + 24, y + 9, self.lines, BODY_SOFT)


def _cover(comparison: Comparison, parts: Sequence[ComparedPart], made_on: date) -> list[Leaf]:
    width = column_width(A4_UPRIGHT)
    only = comparison.parts[0].name if len(comparison.parts) == 1 else None
    standing = comparison.standing
    title = TitleBlock(standing.order, only, width)
    title.label = "WHAT HAS CHANGED"
    blocks: list[Block] = [
        title,
        VerdictBlock(standing, width, _looked(comparison)),
        FactsBlock(_facts(comparison, made_on), width),
        Paragraph(totals(comparison), INTRO, width, 9),
    ]
    fate = comparison.order
    if fate.new or fate.still or fate.open or fate.cured:
        blocks.append(RuledHeading(capital(comparison.new.whole), "", width))
        blocks += _fate_blocks(fate, width)
    for changes in comparison.parts:
        blocks += _part_blocks(changes, width)
    rooms = columns(A4_UPRIGHT)
    return [
        Leaf(A4_UPRIGHT, "", _drawn(placed), ("What has changed", 0) if i == 0 else None)
        for i, placed in enumerate(flow(blocks, rooms, rooms))
    ]


def _drawn(placed: Sequence[Placed]) -> Callable[[Pen], None]:
    return lambda pen: draw_placed(pen, placed)


def _facts(comparison: Comparison, made_on: date) -> list[tuple[str, str]]:
    def files(result: Result) -> str:
        if result.order is not None:
            return result.order.file or result.order.number or ""
        return ", ".join(part.file for part in result.parts)

    version = comparison.new.version
    return [
        ("Earlier", files(comparison.old)),
        ("Newer", files(comparison.new)),
        ("Verdict before", comparison.old.verdict.value),
        ("Compared", f"{day(made_on)}, prepcheck\u00a0{version}"),
    ]


def _looked(comparison: Comparison) -> str:
    again = sum(1 for part in comparison.parts if part.after is not None)
    words = f"{counted(again, 'part')} looked at again"
    waiting = len(comparison.waiting)
    return f"{words}, {waiting} not sent again" if waiting else words


def _part_blocks(changes: PartChanges, width: float) -> list[Block]:
    blocks: list[Block] = [RuledHeading(changes.name, _verdicts(changes), width)]
    before, after = changes.before, changes.after
    if before is None and after is not None:
        since = "had not come before" if changes.awaited else "was not there to compare with"
        words = f"{after.file} {since}."
    elif after is None and before is not None:
        words = f"{before.file} was not sent again; what was found on it is still open."
    elif changes.same_file and after is not None:
        words = f"{after.file} is the same file as before, byte for byte."
    elif before is not None and after is not None and before.file != after.file:
        words = f"{before.file}, now {after.file}"
    else:
        words = "" if after is None else after.file
    said = [Paragraph(words, BODY_SOFT, width, 3)] if words else []
    for page in changes.pages:
        lead = f"Page {page.number}: " if len(changes.pages) > 1 else ""
        said.append(Paragraph(lead + page_words(page), BODY, width))
    fates = _fate_blocks(changes.fate, width)
    # A part's heading does not stand at the foot of a page with no more than a file's name.
    for block in said[: 2 if fates else 1]:
        block.keep = block is not said[-1] or bool(fates)
    return [*blocks, *said, *fates]


def _verdicts(changes: PartChanges) -> str:
    before, after = changes.before, changes.after
    if before is None or after is None:
        if before is None and after is not None:
            return f"new, {after.verdict.value}"
        return "not sent again"
    if before.verdict is after.verdict:
        return f"{after.verdict.value}, as before"
    return f"{before.verdict.value} before, now {after.verdict.value}"


def _fate_blocks(fate: Fate, width: float) -> list[Block]:
    """Return findings by what became of them, with the numbers that the letter has."""
    blocks: list[Block] = []
    if fate.new:
        blocks.append(_Kind("New", len(fate.new), width))
        blocks += finding_blocks([(finding.number, finding) for finding in fate.new], width)
    if fate.still:
        blocks.append(_Kind("Still there", len(fate.still), width))
        for before, now in fate.still:
            blocks += finding_blocks(((now.number, now),), width)
            if before.message != now.message:
                blocks.append(Then(f"Before ({before.severity.value}): {before.message}", width))
    if fate.open:
        blocks.append(_Kind("Still open, since it was not sent again", len(fate.open), width))
        blocks += finding_blocks([(finding.number, finding) for finding in fate.open], width)
    if fate.cured:
        blocks.append(_Kind("Cured", len(fate.cured), width))
        blocks += [Cured(finding, width) for finding in fate.cured]
    return blocks


def _page_leaf(
    part: ComparedPart, page: ComparedPage, spec: Spec, before: Picture, after: Picture
) -> Leaf:
    """Return the page that shows one page of art before, after and where they differ."""
    outline = spec.outline_of(page.page_index)
    title = titled(part.changes.name, spec, page.page_index)

    def draw(pen: Pen) -> None:
        _head(pen, title, part, page.changes)
        rooms = _rooms(pen, outline)
        shown = outline.bounds.grown(spec.bleed.wanted_mm + _AROUND_MM)
        views = (
            ("Before", before, page.shown_by[0]),
            ("After", after, page.shown_by[1]),
            ("Difference", page.difference or after, ""),
        )
        for (name, picture, shown_by), room in zip(views, rooms, strict=True):
            scale = _scale(shown, room)
            place = _place(shown, room, scale)
            to_page = Projection.centred(place.centre, shown.centre, scale)
            left = pen.text(room.x, room.y - 6, name.upper(), LABEL) + 9
            right = pen.text(room.right, room.y - 6, scale_words(scale), SMALL, Align.RIGHT) + 9
            words = shortened(shown_by, SMALL, room.width - left - right)
            pen.text(room.x + left, room.y - 6, words, SMALL)
            with pen.clipped([place.corners]):
                draw_picture(pen, to_page, picture)
                draw_features(pen, to_page, features(spec, outline)[-1:])
            if name == "Difference":
                _mark(pen, to_page, place, page.changes.changes)
        below = max(room.bottom for room in rooms) + 33
        _close_ups(pen, below, page.changes, before, after)

    return Leaf(A3_ACROSS, part.changes.name, draw, (title, 0))


def _head(pen: Pen, title: str, part: ComparedPart, changes: PageChanges) -> None:
    paper, top = pen.paper, pen.paper.top
    pen.text(paper.left, top + 15, shortened(title, HEADING, paper.measure - 150), HEADING)
    after = part.changes.after
    if after is not None:
        at = paper.right - verdict_width(after.verdict)
        draw_verdict(pen, at, top + 15, after.verdict)
    x = paper.right
    for ink, words in ((Palette.FOLD, "has come"), (Palette.ZONE, "is gone")):
        x -= pen.text(x, top + 30, words, SMALL, Align.RIGHT) + 10
        pen.rect(Rect(x, top + 24.5, 6, 6), fill=ink)
        x -= 12
    if changes.unasked:
        x -= pen.text(x, top + 30, "nobody asked for it", SMALL, Align.RIGHT) + 10
        pen.rect(Rect(x, top + 24.5, 6, 6), _UNASKED)
        x -= 12
    pen.text(
        paper.left, top + 30, shortened(page_words(changes), BODY_SOFT, x - paper.left), BODY_SOFT
    )


def _rooms(pen: Pen, outline: Outline) -> tuple[Rect, Rect, Rect]:
    """Return the room for before, after and difference."""
    paper, top = pen.paper, pen.paper.top + 60
    bounds = outline.bounds
    if bounds.width < _WIDE * bounds.height:
        width = (paper.measure - 2 * _GAP) / 3
        first, second, third = (
            Rect(paper.left + i * (width + _GAP), top, width, width) for i in range(3)
        )
        return first, second, third
    small, height = (paper.measure - _GAP) / 3, 366.0
    half = (height - _GAP) / 2
    large = paper.measure - _GAP - small
    return (
        Rect(paper.left, top, small, half),
        Rect(paper.left, top + half + _GAP, small, half),
        Rect(paper.right - large, top, large, height),
    )


def _scale(shown: Box, room: Rect) -> float:
    most = max(pt_from_mm(shown.width) / room.width, pt_from_mm(shown.height) / room.height)
    return next((scale for scale in _SCALES if scale >= most - 1e-6), most)


def _place(shown: Box, room: Rect, scale: float) -> Rect:
    """Return where a piece stands in its room: at the left, as high as it goes."""
    width, height = pt_from_mm(shown.width) / scale, pt_from_mm(shown.height) / scale
    return Rect(room.x, room.y, width, height)


def _mark(pen: Pen, to_page: Projection, place: Rect, changes: Sequence[Change]) -> None:
    """Frame each change, those that nobody asked for in another way; the largest carry a letter."""
    for index in reversed(range(len(changes))):
        frame = to_page.rect(changes[index].box).grown(2.5)
        pen.rect(frame, _UNASKED if changes[index].unasked else _ASKED, halo=0.5)
        if index < _CLOSE_UPS:
            at = (frame.x, frame.y)
            at = (max(at[0], place.x + RADIUS), max(at[1], place.y + RADIUS))
            _badge(pen, at, index, changes[index])


def _badge(pen: Pen, centre: XY, index: int, change: Change) -> None:
    ink = (_UNASKED if change.unasked else _ASKED).ink
    pen.circle(centre, RADIUS - 1, LineStyle(Palette.PAPER, 1.0), fill=ink)
    style = NUMBER.in_ink(Palette.PAPER)
    pen.text(centre[0], centre[1] + style.size * 0.33, letter_of(index), style, Align.CENTRE)


def _close_ups(pen: Pen, top: float, changes: PageChanges, before: Picture, after: Picture) -> None:
    """Show the largest changes enlarged, before and after, each with its measures."""
    paper = pen.paper
    step = (paper.measure + _GAP) / _CLOSE_ACROSS
    row = _CLOSE_ROOM.height + 48
    rows = max(int((paper.bottom - top + 12) // row), 0)
    shown = changes.changes[: min(_CLOSE_UPS, rows * _CLOSE_ACROSS)]
    for index, change in enumerate(shown):
        x = paper.left + (index % _CLOSE_ACROSS) * step
        y = top + (index // _CLOSE_ACROSS) * row
        room = (step - _GAP - 6) / 2
        for side, picture in enumerate((before, after)):
            place = Rect(x + side * (room + 6), y, room, _CLOSE_ROOM.height)
            _crop(pen, place, change.box, picture)
        _badge(pen, (x + RADIUS, y + RADIUS), index, change)
        for line, words in enumerate(_measures(change)):
            text = shortened(words, BODY if line == 0 else SMALL, step - _GAP)
            pen.text(x, y + _CLOSE_ROOM.height + 12 + 9 * line, text, BODY if line == 0 else SMALL)
    more = changes.places - len(shown)
    if more and changes.changes:
        words = f"{counted(more, 'smaller place')} more; the report lists them."
        pen.text(paper.right, top - 12, words, SMALL, Align.RIGHT)


def _crop(pen: Pen, place: Rect, box: Box, picture: Picture) -> None:
    """Show the surroundings of a place, enlarged so that they fill a rectangle."""
    share = place.width / place.height
    width = max(box.width * 1.3, box.height * 1.3 * share, _LEAST_CROP_MM)
    factor = place.width / width
    centre = box.centre
    at = place.centre
    to_page = Projection(at[0] - centre.x * factor, at[1] + centre.y * factor, factor)
    with pen.clipped([place.corners]):
        draw_picture(pen, to_page, picture)
    pen.rect(place, LineStyle(Palette.RULE, 0.5))


def _measures(change: Change) -> tuple[str, str]:
    box = change.box
    size = f"{millimetres(box.width, box.height)}, {number(change.area_mm2)}\u202fmm²"
    if change.unasked:
        size += "; nobody asked for it"
    at = f"centre at x {number(box.centre.x)}, y {number(box.centre.y)} mm"
    return size, f"{at}; {', '.join(change.inks)}" if change.inks else at
