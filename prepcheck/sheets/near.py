"""What the checks of clearance and of guides share: what prints near the trim and the hole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import Content
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Circle, FloatArray
from prepcheck.measure.clearance import (
    Glyphs,
    hole_clearances,
    printed_glyphs,
    trim_clearances,
)
from prepcheck.measure.edges import LiveEdge, boxes_near, drawn_edges, thinned
from prepcheck.measure.folds import Fold, inside, type_clearances
from prepcheck.measure.guides import (
    FollowedGuide,
    FoundGuide,
    Guide,
    drawn_guides,
    followed_guides,
    pictured_guides,
    without_doubles,
)
from prepcheck.measure.hole import OUTLINED, DrawnHole, drawn_hole
from prepcheck.measure.picture_edges import picture_edges
from prepcheck.measure.pictured_words import pictured_words, without_those_of
from prepcheck.measure.ridges import LookPlanes
from prepcheck.measure.rim import Rim
from prepcheck.measure.seen_as import seen_as
from prepcheck.measure.stray_guides import Stray, is_ornament, stray_lines, without_ornaments
from prepcheck.measure.texture import Textures
from prepcheck.said import Clear, Measured, NotApplicable, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.guide_places import guide_places
from prepcheck.sheets.near_type import NearType
from prepcheck.sheets.surroundings import kept
from prepcheck.sheets.thresholds import short_of
from prepcheck.spec.model import TOLERANCE_MM, AtLeastMm
from prepcheck.words import count, in_places, listed, mm

TYPE_ROOM_MM = 0.3
"""Room round type and drawn edges that is not searched for edges in pictures."""


class FoldRoom(NamedTuple):
    """How far glyphs (n,) stay from folds: those on a spine, and those on faces; infinite for the
    others."""

    spine: FloatArray
    face: FloatArray

    @property
    def all(self) -> FloatArray:
        return np.minimum(self.spine, self.face)


def printing(exam: Exam, sheet: Sheet) -> Content:
    """Return the content without what lies on processing-steps layers (ISO 19593-1)."""
    steps = exam.step_layers
    content = sheet.content
    if not steps:
        return content
    return replace(
        content,
        images=tuple(item for item in content.images if item.layer not in steps),
        texts=content.type_table.kept(lambda style: style.layer not in steps),
        paths=tuple(item for item in content.paths if item.layer not in steps)
        if steps & {*content.path_traits.layers}
        else content.paths,
    )


def glyphs_of(exam: Exam, sheet: Sheet) -> Glyphs:
    """Return every glyph that prints on a sheet."""
    return exam.once("glyphs", sheet, lambda: printed_glyphs(printing(exam, sheet).type_table))


def trim_room_of_type(exam: Exam, sheet: Sheet) -> FloatArray:
    """Return how far inside the trim each glyph (n,) that prints stays."""

    def look() -> FloatArray:
        corners = glyphs_of(exam, sheet).corners
        return trim_clearances(corners, sheet.outline, exam.spec.clearance.trim.wanted_mm)

    return exam.once("type at the trim", sheet, look)


def hole_room_of_type(exam: Exam, sheet: Sheet, hole: Circle) -> FloatArray:
    """Return how far from the hole each glyph (n,) that prints stays."""

    def look() -> FloatArray:
        return hole_clearances(glyphs_of(exam, sheet).corners, hole)

    return exam.once("type at the hole", sheet, look)


def fold_room_of_type(exam: Exam, sheet: Sheet, folds: Sequence[Fold]) -> FoldRoom:
    """Return how far from the nearest fold each glyph that prints stays."""

    def look() -> FoldRoom:
        corners = glyphs_of(exam, sheet).corners
        clearances = np.min([type_clearances(corners, fold) for fold in folds], axis=0)
        on_spine = np.zeros(len(corners), np.bool_)
        for panel in sheet.outline.panels:
            if panel.kind == "spine":
                on_spine |= inside(corners, panel.box)
        return FoldRoom(
            np.where(on_spine, clearances, np.inf), np.where(on_spine, np.inf, clearances)
        )

    return exam.once("type at the folds", sheet, look)


def _looks(exam: Exam, sheet: Sheet) -> LookPlanes:
    return exam.once("looks", sheet, lambda: LookPlanes(sheet.view))


def found_guides(exam: Exam, sheet: Sheet) -> tuple[FoundGuide, ...]:
    """Return the template guides that print on a sheet."""
    return exam.once("guides", sheet, lambda: _found_guides(exam, sheet))


def _guide_places(exam: Exam, sheet: Sheet) -> tuple[Guide, ...]:
    return exam.once("places of guides", sheet, lambda: guide_places(exam.spec, sheet.outline))


def lines_on_guides(exam: Exam, sheet: Sheet) -> tuple[FollowedGuide, ...]:
    """Return the template guides that lines are drawn on, whether those are seen or not."""

    def look() -> tuple[FollowedGuide, ...]:
        return followed_guides(printing(exam, sheet), _guide_places(exam, sheet))

    return exam.once("lines on guides", sheet, look)


def _found_guides(exam: Exam, sheet: Sheet) -> tuple[FoundGuide, ...]:
    content = printing(exam, sheet)
    guides = _guide_places(exam, sheet)
    looks = _looks(exam, sheet)
    drawn = drawn_guides(content, lines_on_guides(exam, sheet), looks)
    steps = exam.step_layers
    of_steps = tuple(p for p in sheet.content.paths if p.layer in steps) if steps else ()
    apart = Content(paths=of_steps)
    on_steps = drawn_guides(apart, followed_guides(apart, guides), looks)
    known = {id(found.guide) for found in (*drawn, *on_steps)}
    rest = [guide for guide in guides if id(guide) not in known]
    seen = {id(f.guide): f for f in (*drawn, *pictured_guides(looks, rest, guides))}
    found = without_doubles([seen[id(guide)] for guide in guides if id(guide) in seen])
    return without_ornaments(looks, found, guides)


def hole_in_art(exam: Exam, sheet: Sheet, hole: Circle) -> DrawnHole | None:
    """Return the hole that is drawn in the art of a sheet; one of many rings in the art is none."""

    def look() -> DrawnHole | None:
        found = drawn_hole(printing(exam, sheet), sheet.view, hole)
        if found is None or found.how != OUTLINED:
            return found
        ring = Guide("hole", found.circle.points(72), True, found.circle)
        known = _guide_places(exam, sheet)
        return None if is_ornament(_looks(exam, sheet), ring, known) else found

    return exam.once("drawn hole", sheet, look)


def strays(exam: Exam, sheet: Sheet) -> tuple[Stray, ...]:
    """Return the lines along the trim, near it, that another template would have."""

    def look() -> tuple[Stray, ...]:
        guides = _guide_places(exam, sheet)
        looks = _looks(exam, sheet)
        lines = stray_lines(looks, sheet.outline, guides, exam.spec.bleed.wanted_mm)
        held = [one.guide for one in found_guides(exam, sheet)]
        return tuple(one for one in lines if not is_ornament(looks, one.guide, held))

    return exam.once("stray lines", sheet, look)


def template_lines(exam: Exam, sheet: Sheet) -> list[Guide]:
    """Return the lines of this template, or of another, that print: they are told of by themselves,
    and as nothing else."""
    lines = [stray.guide for stray in strays(exam, sheet)]
    return lines + [one.guide for one in found_guides(exam, sheet)]


def live_edges(sheet: Sheet, content: Content, rim: Rim, glyphs: Glyphs) -> tuple[LiveEdge, ...]:
    """Return the live edges near a rim: drawn ones exactly, others as they look."""
    drawn = drawn_edges(content, rim, sheet.view)
    return (*drawn, *pictured_edges(sheet, content, rim, glyphs, drawn))


def pictured_edges(
    sheet: Sheet, content: Content, rim: Rim, glyphs: Glyphs, drawn: Sequence[LiveEdge]
) -> tuple[LiveEdge, ...]:
    """Return the edges that end near a rim in pictures, shadings, patterns and what a clip cuts."""
    traits = content.path_traits
    patterns = [n for n, paint in enumerate(traits.paints) if paint.pattern]
    pictures = (
        content.images or content.shadings or traits.clipped.any()
        or np.isin(traits.fill, patterns).any()
    )  # fmt: skip
    if not pictures:
        return ()
    ignored = _ignored(sheet, rim, glyphs, drawn)
    boxes = [image.visible for image in content.images if image.visible is not None]
    held = bool(boxes) and boxes_near(np.array(boxes, np.float64), rim).any()
    words = pictured_words(sheet.view, rim, ignored) if held else ()
    return (*without_those_of(picture_edges(sheet.view, rim, ignored), words), *words)


def of_things(
    exam: Exam, sheet: Sheet, rim: Rim, edges: Sequence[LiveEdge]
) -> tuple[LiveEdge, ...]:
    """Return the edges beside a rim without those of textures that run on across it, those in
    pictures named as what they are seen as."""
    if not edges:
        return ()
    textures = exam.once("textures", sheet, lambda: Textures(_looks(exam, sheet), sheet.outline))
    held = textures.run_across(rim, edges)
    kept = [edge for edge, one in zip(edges, held, strict=True) if not one]
    return seen_as(kept, sheet.view, sheet.content.images)


def _ignored(
    sheet: Sheet, rim: Rim, glyphs: Glyphs, drawn: Sequence[LiveEdge]
) -> NDArray[np.bool_]:
    grid = sheet.view.grid
    mask = np.zeros((grid.height, grid.width), bool)
    if len(glyphs.corners):
        near = np.flatnonzero(rim.room(glyphs.corners.mean(axis=1)) < rim.depth_mm + 10.0)
        for index in near.tolist():
            mask[grid.window(glyphs.box(index).grown(TYPE_ROOM_MM))] = True
    for half in sorted({edge.half_mm for edge in drawn}):
        places = np.concatenate([np.array(edge.path) for edge in drawn if edge.half_mm == half])
        for rows, columns in grid.windows(places, half + 2 * TYPE_ROOM_MM):
            mask[rows, columns] = True
    return mask


def short_text(text: str, most: int = 24) -> str:
    """Return a text for a label: on one line, cut when long."""
    words = " ".join(text.split())
    return words if len(words) <= most else words[: most - 1] + "…"


def type_finding(
    exam: Exam,
    check: str,
    sheet: Sheet,
    found: Sequence[NearType],
    *,
    rim: str,
    limits: AtLeastMm,
    keys: tuple[str, str],
    advice: str,
) -> Finding:
    """Return the finding on type too near a rim: a stop below the least, else a query.

    `keys` are those of the least and the wanted room in the spec.
    """
    least_mm, wanted_mm = limits.least_mm, limits.wanted_mm
    nearest = min(near.clearance_mm for near in found)
    stops = short_of(nearest, least_mm, TOLERANCE_MM)
    required = least_mm if stops else wanted_mm
    cut = sum(near.clearance_mm < 0 for near in found)
    how = f"lies {mm(nearest)} from the {rim}" if not cut else f"is cut by the {rim}"
    whose = f" ({count(cut, 'line')} cut)" if cut and len(found) > cut else ""
    kind = "Outlined type" if all(near.outlined for near in found) else "Type"
    marks = [
        Mark(
            near.box,
            f"{near.text if near.outlined else _quoted(near.text)} {_far(near.clearance_mm, rim)}",
            value=round(near.clearance_mm, 2),
            rank=round(near.clearance_mm, 3),
        )
        for near in found
    ]
    return exam.finding(
        check,
        "type",
        Severity.STOP if stops else Severity.QUERY,
        f"{kind} {how}{whose}; {mm(required)} {'is the minimum' if stops else 'is wanted'}"
        f"{in_places(len(found))}.",
        advice,
        limit=keys[0] if stops else keys[1],
        page=sheet.number,
        measured=round(nearest, 2),
        marks=kept(marks),
    )


def _quoted(text: str) -> str:
    return f"'{short_text(text)}'"


def _far(clearance_mm: float, rim: str) -> str:
    """Return how far a thing lies from a rim, or by how much it is cut."""
    return mm(clearance_mm) if clearance_mm >= 0 else f"{mm(-clearance_mm)} over the {rim}"


def _edge_label(what: str, clearance_mm: float) -> str:
    far = mm(clearance_mm) if clearance_mm >= 0 else f"{mm(-clearance_mm)} over"
    return f"{what} {far}"


def things(edges: Sequence[LiveEdge]) -> str:
    """Return what edges are of, with their number: 'A line', '2 shapes and 1 picture'."""
    kinds = Counter(edge.what for edge in edges)
    if len(edges) == 1:
        (kind,) = kinds
        return f"{'An' if kind[0] in 'aeiou' else 'A'} {kind}"
    plural = {"edge in a picture": "edges in pictures", "seam in a picture": "seams in pictures"}
    return listed(count(number, kind, plural.get(kind)) for kind, number in kinds.most_common())


def how_near(edges: Sequence[LiveEdge], cut: str, lies: str, verbs: tuple[str, str]) -> str:
    """Return what edges are of and where they end: 'A word is cut by the trim, and a line ends
    1.4 mm inside it'.

    `cut` says what is done to those that reach over the rim, `lies` where the others end, as
    'inside the trim'; `verbs` are what one of them does and what several do.
    """
    over = [edge for edge in edges if edge.clearance_mm < 0]
    rest = [edge for edge in edges if edge.clearance_mm >= 0]
    told = f"{things(over)} {'is' if len(over) == 1 else 'are'} {cut}" if over else ""
    if not rest:
        return told
    nearest = mm(min(edge.clearance_mm for edge in rest))
    what = f"{things(rest)} {verbs[len(rest) > 1]} {nearest} {lies}"
    return f"{told}, and {what[:1].lower()}{what[1:]}" if told else what


def edge_marks(edges: Sequence[LiveEdge]) -> tuple[Mark, ...]:
    """Return one mark a live edge."""
    return kept(
        [
            Mark(
                edge.box,
                _edge_label(edge.what, edge.clearance_mm),
                thinned(np.array(edge.path)) if len(edge.path) > 1 else (),
                round(edge.clearance_mm, 2),
                round(edge.clearance_mm, 3),
            )
            for edge in edges
        ]
    )


def said_of_room(
    check: str,
    findings: Sequence[Finding],
    nearest: float | None,
    wanted_mm: float,
    lies: str,
    what: str,
) -> Iterator[Said]:
    """Yield the findings, or that there is room: how far the nearest thing `lies`.

    `what` names what it lies near, for a page that has nothing there.
    """
    yield from findings
    if findings:
        return
    if nearest is None:
        yield NotApplicable(check, f"no type, and no edge that ends near {what}")
    else:
        why = f"the nearest type or edge lies {mm(nearest)} {lies} {what}"
        yield Clear(check, why, round(nearest, 2), wanted_mm, "mm")


def room_of(name: str, nearest: float | None) -> Measured:
    """Return the least distance of a page in mm; nothing where it has none."""
    return Measured(name, None if nearest is None else round(nearest, 2), "least")
