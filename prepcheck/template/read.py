"""Reads a template: the lines of a PDF, or of an SVG drawing."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from prepcheck.art.model import ArtKind, Page
from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError, UsageError, said_by
from prepcheck.geometry import Affine, Box, FloatArray
from prepcheck.template.drawn_lines import DrawnLine, DrawnPage
from prepcheck.template.svg import STEP_ATTRIBUTE
from prepcheck.template.svg_paths import NUMBER, subpaths
from prepcheck.units import MM_PER_INCH

_MOST_BYTES = 50_000_000
_PX_MM = MM_PER_INCH / 96
"""A CSS pixel, which is what SVG takes a bare number for."""
_UNITS = {"": _PX_MM, "px": _PX_MM, "mm": 1.0, "cm": 10.0, "in": MM_PER_INCH,
          "pt": MM_PER_INCH / 72, "pc": MM_PER_INCH / 6}  # fmt: skip
_INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
_LABEL = f"{_INKSCAPE}label"


def read_drawing(path: Path) -> tuple[DrawnPage, ...]:
    """Return the pages of a template file.

    Raises UsageError with one line for a file that cannot be read as a drawing.
    """
    try:
        head = path.read_bytes()[:1000] if path.is_file() else b""
    except OSError as error:
        raise UsageError(f"{path}: cannot be read ({error.strerror}); check the file") from None
    if not path.is_file():
        raise UsageError(f"{path}: there is no such file; name a template as PDF or SVG")
    if b"<svg" in head or path.suffix.lower() == ".svg":
        return _read_svg(path)
    try:
        art = open_art(path)
    except ArtworkError as error:
        if b"%PDF" not in head:
            raise UsageError(
                f"{path}: this is neither a PDF nor an SVG file; name a template as PDF or SVG"
            ) from None
        raise UsageError(*error.lines) from None
    if art.kind is not ArtKind.PDF:
        raise UsageError(f"{path}: {art.kind} holds no lines to read; name a PDF or an SVG file")
    steps = {layer.name: layer.step for layer in art.document.layers}
    return tuple(_read_page(page, steps) for page in art.pages)


def _read_page(page: Page, steps: dict[str, tuple[str, str | None] | None]) -> DrawnPage:
    content = page.content(Affine.identity())
    lines: list[DrawnLine | None] = []
    for part in (content, content.hidden):
        for path in part.paths if part else ():
            paint = path.stroke or path.fill
            if path.stroke is None or paint is None:
                continue
            spots = [ink for ink, _ in paint.inks if ink in paint.space.colorants]
            spot, step = spots[0] if spots else None, steps.get(path.layer or "")
            lines += [_line(own, path.dashed, path.layer, spot, step) for own in path.lines()]
    boxes = page.boxes
    return DrawnPage(tuple(line for line in lines if line is not None), boxes.trim, boxes.bleed)


def _line(
    points: FloatArray, dashed: bool, layer: str | None, spot: str | None,
    step: tuple[str, str | None] | None,
) -> DrawnLine | None:  # fmt: skip
    points = np.asarray(points, np.float64)
    if len(points) < 2:
        return None
    keep = np.append(True, np.hypot(*np.diff(points, axis=0).T) > 1e-6)
    points = points[keep]
    closed = len(points) > 3 and bool(np.hypot(*(points[0] - points[-1])) < 0.01)
    if len(points) < 2:
        return None
    return DrawnLine(points[:-1] if closed else points, closed, dashed, layer, spot, step)


# --- SVG


def _read_svg(path: Path) -> tuple[DrawnPage, ...]:
    data = path.read_bytes()
    if len(data) > _MOST_BYTES:
        raise UsageError(f"{path}: larger than {_MOST_BYTES // 10**6} MB; save it without pictures")
    if b"<!ENTITY" in data:
        raise UsageError(f"{path}: declares entities, which are not read; save it as plain SVG")
    try:
        root = ET.fromstring(data)
    except ET.ParseError as error:
        raise UsageError(
            f"{path}: is not well-formed SVG ({said_by(error)}); save it again"
        ) from None
    if _tag(root) != "svg":
        raise UsageError(f"{path}: is XML but no SVG drawing; name a PDF or an SVG file")
    to_mm = _to_mm(root)
    found: list[DrawnLine] = []
    for points, dashed, layer, step in _walk(root, to_mm, None, None, False):
        line = _line(points, dashed, layer, None, step)
        if line is not None:
            found.append(line)
    return _by_page(found, _pages(root, to_mm))


def _pages(root: ET.Element, to_mm: Affine) -> list[Box]:
    """Return the pages that a drawing is parted into, in mm; none where it is one page.

    SVG knows no pages: drawing programs keep them in a view of their own.
    """
    boxes = []
    for page in root.iter(f"{_INKSCAPE}page"):
        numbers = [NUMBER.match(page.get(key, "")) for key in ("x", "y", "width", "height")]
        x, y, width, height = (float(n[0]) if n else 0.0 for n in numbers)
        if width > 0 and height > 0:
            boxes.append(to_mm.box(Box(x, y, x + width, y + height)))
    return boxes


def _by_page(lines: Sequence[DrawnLine], pages: Sequence[Box]) -> tuple[DrawnPage, ...]:
    """Return the lines page by page, each with those whose middle lies on it."""
    if len(pages) < 2:
        return (DrawnPage(tuple(lines)),)
    return tuple(
        DrawnPage(
            tuple(line for line in lines if page.holds(Box(*line.box.centre, *line.box.centre)))
        )
        for page in pages
    )


def _to_mm(root: ET.Element) -> Affine:
    box = [float(n) for n in NUMBER.findall(root.get("viewBox", ""))]
    width, height = (_length(root.get(key, "")) for key in ("width", "height"))
    if len(box) != 4 or not box[2] or not box[3]:
        box = [0.0, 0.0, (width or 0.0) / _PX_MM, (height or 0.0) / _PX_MM]
    x = width / box[2] if width and box[2] else _PX_MM
    y = height / box[3] if height and box[3] else x
    return Affine(x, 0.0, 0.0, -y, -box[0] * x, (box[1] + box[3]) * y)


def _length(text: str) -> float | None:
    match = re.fullmatch(r"\s*([-+.\deE]+)\s*([a-z]*)\s*", text)
    if match is None or match[2] not in _UNITS:
        return None
    try:
        return float(match[1]) * _UNITS[match[2]]
    except ValueError:
        return None


Step = tuple[str, str | None]
_Found = tuple[FloatArray, bool, str | None, Step | None]


def _walk(
    node: ET.Element, to_mm: Affine, layer: str | None, step: Step | None, dashed: bool,
    stroke: str = "none",
) -> Iterator[_Found]:  # fmt: skip
    for child in node:
        tag = _tag(child)
        if tag in ("defs", "symbol", "clipPath", "mask", "pattern", "metadata", "use"):
            continue
        style = _style(child)
        if style.get("display") == "none":
            continue
        own = _transform(child.get("transform", "")).then(to_mm)
        dash = style.get("stroke-dasharray")
        own_stroke = style.get("stroke", stroke)
        is_dashed = dashed if dash is None else dash not in ("none", "")
        if tag in ("g", "svg", "a"):
            name = child.get(_LABEL) or child.get("id")
            stated = child.get(STEP_ATTRIBUTE)
            marked = step
            if stated:
                group, _, kind = stated.partition("/")
                marked = (group, kind or None)
            yield from _walk(child, own, name or layer, marked, is_dashed, own_stroke)
            continue
        if own_stroke == "none":
            continue
        for points in _shape(child, tag):
            yield own.array(points), is_dashed, layer, step


def _tag(node: ET.Element) -> str:
    return node.tag.rpartition("}")[2] if isinstance(node.tag, str) else ""


def _style(node: ET.Element) -> dict[str, str]:
    keys = ("stroke", "stroke-dasharray", "display")
    found = {key: value for key in keys if (value := node.get(key)) is not None}
    for part in node.get("style", "").split(";"):
        key, _, value = part.partition(":")
        if key.strip() in keys:
            found[key.strip()] = value.strip()
    return found


def _transform(text: str) -> Affine:
    result = Affine.identity()
    for name, inner in re.findall(r"(\w+)\s*\(([^)]*)\)", text):
        n = [float(value) for value in NUMBER.findall(inner)]
        match name, n:
            case "translate", [x, *rest]:
                own = Affine.move(x, rest[0] if rest else 0.0)
            case "scale", [x, *rest]:
                own = Affine.scale(x, rest[0] if rest else x)
            case "rotate", [angle]:
                own = Affine.turn(angle)
            case "rotate", [angle, x, y]:
                own = Affine.move(-x, -y).then(Affine.turn(angle)).then(Affine.move(x, y))
            case "matrix", [a, b, c, d, e, f]:
                own = Affine(a, b, c, d, e, f)
            case _:
                continue
        result = own.then(result)
    return result


def _shape(node: ET.Element, tag: str) -> Iterator[FloatArray]:
    def value(key: str) -> float:
        match = NUMBER.match(node.get(key, "0").strip() or "0")
        return float(match[0]) if match else 0.0

    match tag:
        case "circle" | "ellipse":
            rx = value("r") if tag == "circle" else value("rx")
            ry = rx if tag == "circle" else value("ry")
            angle = np.linspace(0.0, 2 * math.pi, 361)
            yield np.column_stack(
                (value("cx") + rx * np.cos(angle), value("cy") + ry * np.sin(angle))
            )
        case "rect":
            x, y, w, h = (value(key) for key in ("x", "y", "width", "height"))
            yield np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)])
        case "line":
            yield np.array([(value("x1"), value("y1")), (value("x2"), value("y2"))])
        case "polyline" | "polygon":
            flat = [float(n) for n in NUMBER.findall(node.get("points", ""))]
            points = np.array(flat[: len(flat) // 2 * 2], np.float64).reshape(-1, 2)
            if len(points) > 1:
                yield np.concatenate((points, points[:1])) if tag == "polygon" else points
        case "path":
            yield from subpaths(node.get("d", ""))
