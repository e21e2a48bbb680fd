"""Invented results and pictures for the proof: places and sizes are known, nothing is checked."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from datetime import date
from functools import cache

from PIL import Image, ImageDraw, ImageFont

from prepcheck.findings import (
    Finding,
    Mark,
    OrderFacts,
    Outcome,
    PartResult,
    Result,
    Severity,
    Status,
)
from prepcheck.geometry import Box, Grid, Point
from prepcheck.proof.close_up_plan import plan_insets
from prepcheck.proof.model import Inset, Picture, ProofPage, ProofPart
from prepcheck.proof.shipped_fonts import FOLDER
from prepcheck.spec.load import load_spec

MADE_ON = date(2031, 3, 14)
SHA = "9f2c51d07ab4e3886f10c2d95b7e4a31c8f06d2e97b1543ad08c6f2b1e7a9d54"


def arc(radius: float, start: float, end: float, steps: int = 40) -> tuple[Point, ...]:
    """Return points on a circle round the origin, degrees anticlockwise from the right."""
    angles = [math.radians(start + (end - start) * i / steps) for i in range(steps + 1)]
    return tuple(Point(radius * math.cos(a), radius * math.sin(a)) for a in angles)


def arc_mark(radius: float, start: float, end: float, label: str = "") -> Mark:
    path = arc(radius, start, end)
    return Mark(Box.around(path), label, path, rank=0.0)


def encode(image: Image.Image, kind: str = "JPEG") -> bytes:
    out = io.BytesIO()
    image.save(out, kind, quality=88)
    return out.getvalue()


@cache
def label_image(pixels: int = 1320) -> Image.Image:
    """A dusk-coloured label, 110 mm square at 12 pixels a mm, with type on it."""
    image = Image.new("RGB", (pixels, pixels), "#ffffff")
    draw = ImageDraw.Draw(image)
    middle, scale = pixels / 2, pixels / 110
    for i in range(300):
        radius = 53 * scale * (1 - i / 300)
        shade = tuple(
            int(a + (b - a) * i / 300) for a, b in zip((28, 52, 66), (222, 138, 86), strict=True)
        )
        draw.ellipse((middle - radius, middle - radius, middle + radius, middle + radius), shade)
    for i in range(9):
        y = middle + (6 + i * i * 0.55) * scale
        half = math.sqrt(max(0.0, (53 * scale) ** 2 - (y - middle) ** 2))
        draw.line((middle - half, y, middle + half, y), "#1c3442", int(scale * (0.3 + 0.12 * i)))
    title = ImageFont.truetype(str(FOLDER / "SourceSerifPro-Regular.ttf"), int(8 * scale))
    small = ImageFont.truetype(str(FOLDER / "SourceSansPro-Regular.ttf"), int(3.2 * scale))
    draw.text((middle, middle - 28 * scale), "Harbour Lights", "#fff4e2", title, "mm")
    draw.text((middle, middle - 20 * scale), "THE LOW TIDE ASSEMBLY", "#fff4e2", small, "mm")
    draw.text((middle - 33 * scale, middle), "SIDE A\n33 rpm", "#fff4e2", small, "lm")
    draw.text((middle + 33 * scale, middle), "KLP 0214", "#fff4e2", small, "rm")
    draw.text((middle, middle + 47 * scale), "℗ & © Kelp Records", "#fff4e2", small, "mm")
    return image


@cache
def jacket_image(width: float = 645, height: float = 325, scale: float = 5) -> Image.Image:
    """A seascape over back, spine and front."""
    image = Image.new("RGB", (int(width * scale), int(height * scale)), "#20323c")
    draw = ImageDraw.Draw(image)
    w, h = image.size
    for row in range(h):
        t = row / h
        sky = (int(30 + 200 * t), int(60 + 90 * t), int(80 + 20 * t))
        sea = (int(24 + 40 * t), int(52 + 20 * t), int(66 + 8 * t))
        draw.line((0, row, w, row), sky if t < 0.6 else sea)
    draw.ellipse((w * 0.72, h * 0.36, w * 0.80, h * 0.36 + w * 0.08), "#f6d8a8")
    for i in range(30):
        y = h * 0.62 + i * i * scale * 0.12
        draw.line((0, y, w, y + math.sin(i) * 6), "#2a4250", 3)
    big = ImageFont.truetype(str(FOLDER / "SourceSerifPro-Regular.ttf"), int(26 * scale))
    mid = ImageFont.truetype(str(FOLDER / "SourceSansPro-Regular.ttf"), int(6 * scale))
    draw.text((w * 0.76, h * 0.17), "Harbour Lights", "#fff4e2", big, "mm")
    draw.text((w * 0.76, h * 0.26), "THE LOW TIDE ASSEMBLY", "#fff4e2", mid, "mm")
    tracks = "A1 Breakwater\nA2 Slack Water\nA3 The Lamp Room\n\nB1 Harbour Lights\nB2 Ebb"
    draw.multiline_text((w * 0.06, h * 0.12), tracks, "#fff4e2", mid, spacing=20)
    draw.rectangle((w * 0.38, h * 0.85, w * 0.44, h * 0.91), "#ffffff")
    return image


def picture_of(image: Image.Image, width_mm: float) -> Picture:
    """Return a picture centred on the piece."""
    pitch = width_mm / image.width
    box = Box.centred(image.width * pitch, image.height * pitch)
    return Picture(encode(image), Grid(image.width, image.height, pitch, box.x0, box.y1))


def crop_of(image: Image.Image, width_mm: float) -> Callable[[Box], Picture]:
    """Return a function that renders a box of the piece from a picture centred on it."""
    scale = image.width / width_mm

    def crop(box: Box) -> Picture:
        x, y = image.width / 2, image.height / 2
        area = (x + box.x0 * scale, y - box.y1 * scale, x + box.x1 * scale, y - box.y0 * scale)
        part = image.crop(tuple(round(v) for v in area)).resize((540, 405))  # type: ignore[arg-type]
        return Picture(encode(part), Grid(540, 405, box.width / 540, box.x0, box.y1))

    return crop


def finding(
    severity: str, message: str, fix: str, *where: Mark, page: int | None = 1, **more: object
) -> Finding:
    return Finding(
        "made.up", Severity(severity), message, fix, str(more.pop("source", "made up")), page,
        where=where, **more,  # type: ignore[arg-type]
    )  # fmt: skip


def box(x: float, y: float, width: float, height: float, label: str = "", rank: float = 0) -> Mark:
    return Mark(Box.centred(width, height, (x, y)), label, rank=rank)


LABEL_FINDINGS = (
    finding(
        "stop", "The bleed stops short of the trim on a 38° arc at the lower right.",
        "Extend the background at least 3 mm past the trim all round.",
        arc_mark(50.0, -62.0, -24.0, "arc of 38°"), measured=0.6, required=2.0, unit="mm",
        source="common practice; printers' label templates ask for 3 mm",
    ),
    finding(
        "stop", "Type stands 1.1 mm from the trim; cutting may take part of it.",
        "Move the line “℗ & © Kelp Records” at least 2 mm inside the trim.",
        box(0, -47, 27, 3.4, "℗ & © Kelp Records"), measured=1.1, required=2.0, unit="mm",
    ),
    finding(
        "query", "Two lines of type run close to the hole.",
        "Move them outwards, so that 4.4 mm stay free round the hole.",
        box(-6.6, 1.6, 2.2, 2.6, "33 rpm", 0.1), box(6.4, -0.8, 1.6, 2.2, "K", 0.3),
        box(0.4, 6.1, 1.4, 1.2, "", 0.4), measured=3.2, required=4.4, unit="mm",
    ),
    finding(
        "query", "One picture has 212 ppi as placed; in print it will look a little soft.",
        "Place a picture with at least 300 ppi at this size.",
        box(8, 22, 44, 16, "horizon.jpg"), measured=212.4, required=300.0, unit="ppi",
        source="common practice: 300 ppi is twice the screen ruling of 60 lines per cm",
    ),
    finding(
        "query", "Thin lines, light on dark, in 14 places.",
        "Draw them at least 0.25 mm thick.",
        *(box(-30 + 4 * i, -20 - i, 3, 0.2, rank=i) for i in range(14)),
        measured=0.18, required=0.25, unit="mm",
    ),
    finding(
        "note", "The file claims PDF/X-4 with the output condition FOGRA39.",
        "Nothing to do; the label paper is uncoated, so the printer will convert.", page=None,
        measured="PDF/X-4", source="ISO 15930-7",
    ),
)  # fmt: skip

JACKET_FINDINGS = (
    finding(
        "stop", "The art is in RGB on all faces.", "Convert to CMYK with the printer's profile.",
        Mark(Box.centred(633, 315), "background"), measured="RGB", required="CMYK, grey or spot",
    ),
    finding(
        "stop", "Bleed is missing along 96 mm of the lower edge.",
        "Extend the sea at least 3 mm past the trim.",
        Mark(Box(-260, -157.5, -164, -157.5), "96 mm", (Point(-260, -157.5), Point(-164, -157.5))),
        measured=0.0, required=2.0, unit="mm",
    ),
    finding(
        "query", "A picture on the front has 168 ppi as placed.",
        "Place a picture with at least 300 ppi at this size.",
        box(165, -20, 120, 70, "moon.tif"), measured=168.0, required=300.0, unit="ppi",
    ),
    finding(
        "query", "Type crosses the fold between back and spine.",
        "Keep type 2 mm from the folds.", box(-2, 60, 3, 12, "KLP 0214"),
        measured=0.4, required=2.0, unit="mm",
    ),
)  # fmt: skip

OUTCOMES = tuple(
    Outcome(f"made.up-{i}", Status.CLEAR, why, measured, None, unit, title)
    for i, (why, measured, unit, title) in enumerate(
        (
            ("The trim measures what the spec asks for.", "100 × 100", "mm", "Trimmed size"),
            ("All fonts are embedded.", 3.0, "", "Fonts"),
            ("No guide of a template prints.", None, "", "Guides"),
            ("The smallest type is large enough.", 6.5, "pt", "Type"),
            ("The darkest area stays below the most ink the paper takes.", 228.0, "%", "Ink"),
        )
    )
)


def part_of(
    name: str,
    spec_name: str,
    image: Image.Image,
    width_mm: float,
    findings: tuple[Finding, ...],
    **more: object,
) -> ProofPart:
    """Return a part of one page with its insets rendered."""
    spec = load_spec(spec_name)
    bounds = spec.outline_of(0).bounds
    result = PartResult(
        name=name, file=f"{name.replace(' ', '_')}.pdf", sha256=SHA, bytes=4_812_345,
        spec=spec_name, recognised_by="the order", pages=1,
        trim_mm=(bounds.width + 0.2, bounds.height + 0.1), trim_found_by="TrimBox",
        outcomes=OUTCOMES, findings=findings, **more,  # type: ignore[arg-type]
    )  # fmt: skip
    crop = crop_of(image, width_mm)
    insets = tuple(Inset(plan, crop(plan.box)) for plan in plan_insets(result) if plan.page == 1)
    return ProofPart(result, spec, (ProofPage(1, 0, picture_of(image, width_mm), insets),))


def unread_part() -> ProofPart:
    result = PartResult(
        "insert", "insert_v3_FINAL.indd", SHA[::-1], 18_234_000, None, "not recognised", 0,
        None, None, (), (
            finding(
                "stop", "This is a layout program's own document, not a printable file.",
                "Export it as PDF/X-4 with 3 mm bleed and send that.", page=None,
            ),
        ),
    )  # fmt: skip
    return ProofPart(result, None)


ORDER = OrderFacts(
    "2031-0117", "Kelp Records", "The Low Tide Assembly: Harbour Lights", "KLP 0214", "12-inch", 1,
    "33", "9521234567891", 500, "order.toml",
)  # fmt: skip


def order_parts() -> tuple[ProofPart, ...]:
    """A whole order: two labels, one clear, a jacket, an insert and a part that is not read."""
    return (
        part_of("label A", "label-12in", label_image(), 110, LABEL_FINDINGS, side="A"),
        part_of("label B", "label-12in", label_image(), 110, (), side="B"),
        part_of("jacket", "jacket-12in", jacket_image(), 645, JACKET_FINDINGS),
        part_of("insert", "insert-12in", jacket_image(325, 325), 325, JACKET_FINDINGS[2:3]),
        unread_part(),
    )


def result_of(parts: tuple[ProofPart, ...], order: OrderFacts | None = ORDER) -> Result:
    return Result("0.1.0", order, tuple(part.result for part in parts))
