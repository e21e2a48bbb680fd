"""Makes parts under examination by hand, for tests of checks.

The specs here are pinned in the tests, so that an edit of a shipped spec moves no test; pass a
name instead to load a shipped one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.facts import Annotation, DocumentFacts, FontFacts, PageBoxes
from prepcheck.art.model import (
    PROCESS_INKS,
    ArtKind,
    Artwork,
    Content,
    Page,
    Paint,
    PathItem,
    RasterFacts,
    Samples,
    Space,
    SpaceFamily,
    TextRun,
)
from prepcheck.findings import Finding
from prepcheck.geometry import Affine, Box, FloatArray, Grid, Point, Quad
from prepcheck.judging.registry import all_checks
from prepcheck.measure.trim import TrimPlacement, TrimRule
from prepcheck.order import Order, OrderPart
from prepcheck.outline import Outline
from prepcheck.press.separate.plates import Plates
from prepcheck.press.view import View
from prepcheck.said import Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.model import Spec
from prepcheck.tables import read_table

PITCH = 25.4 / 300
"""Pixel of a hand-made view in mm, where a test does not say otherwise."""

CMYK = Space(SpaceFamily.CMYK, 4)
BLACK = Paint(CMYK, (0, 0, 0, 1), (("Black", 1.0),), (0, 0, 0))
CYAN = Paint(CMYK, (1, 0, 0, 0), (("Cyan", 1.0),), (0, 0.62, 0.88))
WHITE = Paint(CMYK, (0, 0, 0, 0), (), (1, 1, 1))

_COMMON: dict[str, Any] = {
    "bleed": {"least_mm": 2, "wanted_mm": 3},
    "images": {
        "continuous": {"least_ppi": 200, "wanted_ppi": 300},
        "one_bit": {"least_ppi": 600, "wanted_ppi": 1200},
    },
    "colour": {
        "allowed": ["cmyk", "grey", "spot"],
        "process_inks": ["Cyan", "Magenta", "Yellow", "Black"],
        "most_spots": 2,
    },
    "ink": {"most_total_percent": 250, "window_mm2": 4},
    "text": {"least_pt": 5, "least_reversed_pt": 7, "most_stretch_percent": 5},
    "line": {"least_mm": 0.15, "least_reversed_mm": 0.25},
    "print_condition": "uncoated",
    "sources": {
        key: f"pinned for tests: {key}"
        for key in (
            "outline", "hole", "bleed", "clearance", "images", "colour", "ink", "text", "line",
            "fold", "spine", "glue", "barcode", "pages",
        )
    },
}  # fmt: skip


def label_spec(**changes: Any) -> Spec:
    """Return a 12-inch label: disc 100 mm, hole 7.24 mm; `changes` replace top-level tables."""
    values: dict[str, Any] = {
        **_COMMON,
        "name": "label-pinned",
        "title": "Label pinned for tests",
        "outline": {"kind": "disc", "diameter_mm": 100, "trim_tolerance_mm": 0.5},
        "hole": {"diameter_mm": 7.24},
        "clearance": {
            "print_to_cut_mm": 1.5,
            "trim": {"least_mm": 2, "wanted_mm": 3, "frame_wanted_mm": 5},
            "hole": {"least_mm": 3.0, "wanted_mm": 4.4},
        },
        "pages": [{"name": "label"}],
        **changes,
    }
    return read_table(Spec, values)


def sleeve_spec(width_mm: float = 60.0, height_mm: float = 60.0, **changes: Any) -> Spec:
    """Return a small sleeve: two faces and a 3 mm spine; trim tolerance 1 mm."""
    face = {"kind": "face", "width_mm": width_mm, "height_mm": height_mm}
    values: dict[str, Any] = {
        **_COMMON,
        "name": "sleeve-pinned",
        "title": "Sleeve pinned for tests",
        "outline": {
            "kind": "panels",
            "trim_tolerance_mm": 1.0,
            "panels": [
                {"name": "back", **face},
                {"name": "spine", "kind": "spine", "width_mm": 3, "height_mm": height_mm},
                {"name": "front", **face},
            ],
        },
        "clearance": {
            "print_to_cut_mm": 1.5,
            "trim": {"least_mm": 2, "wanted_mm": 3, "frame_wanted_mm": 5},
            "fold": {"least_mm": 1.5, "wanted_mm": 3},
        },
        "pages": [{"name": "outside"}],
        **changes,
    }
    return read_table(Spec, values)


@dataclass(frozen=True)
class HandPage(Page):
    """A page whose content is given, in the frame that the check will ask for."""

    given: Content = field(default_factory=Content)
    pictures: dict[int, Samples] = field(default_factory=dict)

    def content(self, to_frame: Affine) -> Content:
        return self.given

    def picture(self, key: int) -> Samples | None:
        return self.pictures.get(key)


def make_page(
    *,
    content: Content | None = None,
    boxes: PageBoxes | None = None,
    size: tuple[float, float] = (106.0, 106.0),
    rotate: int = 0,
    user_unit: float = 1.0,
    annotations: tuple[Annotation, ...] = (),
    fonts: tuple[FontFacts, ...] = (),
    pictures: dict[int, Samples] | None = None,
    index: int = 0,
) -> HandPage:
    """Return a page; `size` makes a MediaBox where `boxes` are not given."""
    return HandPage(
        index,
        boxes or PageBoxes(Box(0.0, 0.0, *size)),
        rotate,
        user_unit,
        annotations,
        fonts,
        content or Content(),
        pictures or {},
    )


def placed(
    outline: Outline,
    media: Box,
    *,
    found_by: TrimRule = TrimRule.TRIM_BOX,
    factor: float = 1.0,
    turned: int = 0,
    trim: Box | None = None,
) -> TrimPlacement:
    """Return the placement of a trim; by default of the outline's size on the page's centre."""
    trim = trim or Box.centred(outline.bounds.width, outline.bounds.height, at=media.centre)
    x, y = trim.centre
    to_piece = Affine.move(-x, -y).then(Affine.turn(turned)).then(Affine.scale(factor))
    return TrimPlacement(trim, found_by, factor, turned, to_piece)


def make_exam(
    spec: str | Spec = "label-pinned",
    *,
    content: Content | Sequence[Content] | None = None,
    view: View | Callable[[Outline], View] | None = None,
    plates: Callable[[Outline], Plates] | None = None,
    boxes: PageBoxes | None = None,
    rotate: int = 0,
    placement: TrimPlacement | None = None,
    document: DocumentFacts | None = None,
    raster: RasterFacts | None = None,
    annotations: tuple[Annotation, ...] = (),
    fonts: tuple[FontFacts, ...] = (),
    pictures: dict[int, Samples] | None = None,
    kind: ArtKind | None = None,
    troubles: tuple[str, ...] = (),
    part: OrderPart | None = None,
    order: Order | None = None,
) -> Exam:
    """Return a part of one sheet, or of one a content when `content` is a sequence.

    `view` is given ready, or as a function of the outline; without it the page is bare paper.
    So are the plates without `plates`.
    Page boxes default to a page of trim + 3 mm with its TrimBox.
    """
    spec = resolve(spec)
    contents = list(content) if isinstance(content, Sequence) else [content or Content()]
    sheets = []
    for index, each in enumerate(contents):
        outline = spec.outline_of(index)
        bounds = outline.bounds
        media = Box(0.0, 0.0, bounds.width + 6, bounds.height + 6)
        own = boxes or PageBoxes(media, trim=media.grown(-3), bleed=media)
        page = make_page(
            content=each, boxes=own, rotate=rotate, annotations=annotations, fonts=fonts,
            pictures=pictures, index=index,
        )  # fmt: skip
        place = placement or placed(outline, own.media, trim=own.trim)
        sheets.append(Sheet(index + 1, page, outline, place, _renderer(view), _separator(plates)))
    artwork = Artwork(
        Path("hand-made.pdf"),
        kind or (ArtKind.PDF if raster is None else ArtKind.TIFF),
        "0" * 64,
        1,
        document or DocumentFacts(),
        tuple(sheet.page for sheet in sheets),
        raster,
        troubles,
    )
    return Exam(spec, artwork, tuple(sheets), part, order)


def _renderer(view: View | Callable[[Outline], View] | None) -> Callable[[Sheet], View]:
    def render(sheet: Sheet) -> View:
        if view is None:
            return paper_view(sheet.outline)
        return view if isinstance(view, View) else view(sheet.outline)

    return render


def _separator(plates: Callable[[Outline], Plates] | None) -> Callable[[Sheet], Plates]:
    make = plates or plate_scene()
    return lambda sheet: make(sheet.outline)


def resolve(spec: str | Spec) -> Spec:
    """Return a pinned spec, a spec as it is, or a shipped one by its name."""
    if isinstance(spec, Spec):
        return spec
    if spec == "label-pinned":
        return label_spec()
    if spec == "sleeve-pinned":
        return sleeve_spec()
    from prepcheck.spec.load import load_spec

    return load_spec(spec)


def examine(identifier: str, exam: Exam) -> list[Said]:
    """Return what the check that declares `identifier` says, in full; a crash propagates.

    A check is run once on an exam, however many of its identifiers are asked for.
    """
    check = next(c for c in all_checks() if identifier in {d.identifier for d in c.declarations})
    key = f"said by {check.module}", 0
    if key not in exam.made:
        exam.made[key] = tuple(check.examine(exam))
    return list(cast("tuple[Said, ...]", exam.made[key]))


def findings(identifier: str, exam: Exam) -> list[Finding]:
    """Return the findings under one identifier."""
    said = examine(identifier, exam)
    return [item for item in said if isinstance(item, Finding) and item.check == identifier]


def spoke(identifier: str, exam: Exam) -> bool:
    """Say whether the check said anything under the identifier; silence is an error."""
    return any(getattr(item, "check", None) == identifier for item in examine(identifier, exam))


# --- views -----------------------------------------------------------------------------------


def paper_view(outline: Outline, *, pitch: float = PITCH, margin: float = 6.0) -> View:
    """Return bare paper over the piece and `margin` mm round it."""
    return ink_view(outline, lambda x, y: np.zeros(np.broadcast(x, y).shape), pitch=pitch,
                    margin=margin)  # fmt: skip


def ink_view(
    outline: Outline,
    amount: Callable[[FloatArray, FloatArray], FloatArray],
    *,
    pitch: float = PITCH,
    margin: float = 6.0,
) -> View:
    """Return one ink drawn by `amount(x, y)` -> 0..1, with x (columns,) and y (rows, 1) in mm.

    Use `edge` to make anti-aliased edges at exact places. The ink looks black.
    """
    grid = Grid.over(outline.bounds.grown(margin), pitch)
    x, y = grid.centres()
    ink: NDArray[np.uint8] = np.rint(
        np.clip(amount(x[None, :], y[:, None]), 0.0, 1.0) * 255
    ).astype(np.uint8)
    light = 255 - ink
    return View(ink, light, np.repeat(light[..., None], 3, axis=2), grid)


def edge(distance: FloatArray, pitch: float = PITCH) -> FloatArray:
    """Return the coverage of pixels whose centres lie `distance` mm inside an edge."""
    return np.clip(distance / pitch + 0.5, 0.0, 1.0)


Cover = Callable[[FloatArray, FloatArray], FloatArray]
"""How much of the pixel at (x, y) a shape covers, 0..1; y is (rows, 1), x (1, columns)."""


def scene(*shapes: tuple[Cover, float], pitch: float = PITCH) -> Callable[[Outline], View]:
    """Return a view of shapes laid over each other, each with its amount of ink (0 is white)."""

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        total = np.zeros(np.broadcast(x, y).shape)
        for cover, amount in shapes:
            share = np.broadcast_to(cover(x, y), total.shape)
            rows = np.flatnonzero(share.any(axis=1))
            if len(rows):
                own = slice(rows[0], rows[-1] + 1)
                total[own] += share[own] * (amount - total[own])
        return total

    return lambda outline: ink_view(outline, ink, pitch=pitch)


PLATE_PITCH = 0.25
"""Pixel of hand-made plates in mm; two a cell."""


def plate_scene(
    *shapes: tuple[Cover, dict[str, float]],
    inks: Sequence[str] = PROCESS_INKS,
    pitch: float = PLATE_PITCH,
    margin: float = 6.0,
    seen: Cover | None = None,
    limits: tuple[str, ...] = (),
    troubles: tuple[str, ...] = (),
) -> Callable[[Outline], Plates]:
    """Return plates of shapes laid over each other, each with its inks in percent.

    Inks that a shape does not name are knocked out. `seen` is the cover of mid-grey RGB.
    """

    def make(outline: Outline) -> Plates:
        grid = Grid.over(outline.bounds.grown(margin), pitch)
        x, y = (axis[None, :] if n == 0 else axis[:, None] for n, axis in enumerate(grid.centres()))
        amounts = np.zeros((len(inks), grid.height, grid.width))
        for cover, colour in shapes:
            share = cover(x, y)
            for n, ink in enumerate(inks):
                amounts[n] = amounts[n] * (1 - share) + colour.get(ink, 0.0) * share
        data = np.rint(amounts * 2.55).astype(np.uint8)
        rgb = None
        if seen is not None:
            grey = (255 - 127 * np.broadcast_to(seen(x, y), data.shape[1:])).astype(np.uint8)
            rgb = np.repeat(grey[..., None], 3, axis=2)
        return Plates(tuple(inks), data, grid, rgb, troubles, limits)

    return make


def everywhere(x: FloatArray, y: FloatArray) -> FloatArray:
    """The cover of a flood."""
    return np.ones(np.broadcast(x, y).shape)


def disc_cover(radius: float, at: tuple[float, float] = (0.0, 0.0), pitch: float = PITCH) -> Cover:
    """Return the cover of a disc."""
    return lambda x, y: edge(radius - np.hypot(x - at[0], y - at[1]), pitch)


def ring_cover(
    radius: float, width: float, at: tuple[float, float] = (0.0, 0.0), pitch: float = PITCH
) -> Cover:
    """Return the cover of a circle's stroke."""
    return lambda x, y: (
        edge(width / 2 - np.abs(np.hypot(x - at[0], y - at[1]) - radius), pitch)
        * min(1.0, width / pitch)
    )


def box_cover(box: Box, turn: float = 0.0, pitch: float = PITCH) -> Cover:
    """Return the cover of a box turned anticlockwise by degrees about the origin."""
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    if not turn:
        return lambda x, y: np.minimum(
            edge(np.minimum(x - box.x0, box.x1 - x), pitch),
            edge(np.minimum(y - box.y0, box.y1 - y), pitch),
        )

    def cover(x: FloatArray, y: FloatArray) -> FloatArray:
        u, v = x * cos + y * sin, y * cos - x * sin
        return edge(
            np.minimum(np.minimum(u - box.x0, box.x1 - u), np.minimum(v - box.y0, box.y1 - v)),
            pitch,
        )

    return cover


def frame_cover(box: Box, width: float, pitch: float = PITCH) -> Cover:
    """Return the cover of a box's stroke."""
    outer, inner = (box_cover(box.grown(by), 0.0, pitch) for by in (width / 2, -width / 2))
    return lambda x, y: outer(x, y) - inner(x, y)


# --- painted things --------------------------------------------------------------------------


def box_quad(box: Box, turn: float = 0.0, about: tuple[float, float] = (0.0, 0.0)) -> Quad:
    """Return a box as a quad, turned anticlockwise by degrees about a place."""
    x, y = about
    return Affine.move(-x, -y).then(Affine.turn(turn)).then(Affine.move(x, y)).quad(box)


def text(
    glyphs: Sequence[Quad | Box],
    string: str = "TYPE",
    *,
    size_pt: float = 8.0,
    fill: Paint | None = BLACK,
    mode: int = 0,
    layer: str | None = None,
    tight: bool = True,
) -> TextRun:
    """Return a text run with the given glyphs."""
    quads = tuple(g if isinstance(g, Quad) else box_quad(g) for g in glyphs)
    return TextRun(string, "Hand Sans", size_pt, quads, fill, None, 0.0, mode, layer, tight)


def path(
    points: FloatArray | Sequence[tuple[float, float]],
    *,
    fill: Paint | None = None,
    stroke: Paint | None = None,
    stroke_mm: float = 0.0,
    closed: bool = True,
    dashed: bool = False,
    layer: str | None = None,
) -> PathItem:
    """Return a painted path of one subpath."""
    corners = np.asarray(points, np.float64)
    if closed:
        corners = np.concatenate((corners, corners[:1]))
    half = stroke_mm / 2 if stroke else 0.0
    box = Box.around((float(x), float(y)) for x, y in corners).grown(half)
    run = tuple(float(value) for value in corners.ravel())
    return PathItem(box, fill, stroke, stroke_mm, dashed, layer, (run,))


def circle_path(
    radius: float,
    *,
    at: tuple[float, float] = (0.0, 0.0),
    fill: Paint | None = None,
    stroke: Paint | None = None,
    stroke_mm: float = 0.0,
    layer: str | None = None,
    dashed: bool = False,
) -> PathItem:
    """Return a painted circle."""
    angle = np.arange(360) * (2 * np.pi / 360)
    ring = np.column_stack((at[0] + radius * np.cos(angle), at[1] + radius * np.sin(angle)))
    return path(ring, fill=fill, stroke=stroke, stroke_mm=stroke_mm, layer=layer, dashed=dashed)


def box_path(box: Box, **options: Any) -> PathItem:
    """Return a painted box; options as for `path`."""
    return path([Point(x, y) for x, y in box.corners], **options)
