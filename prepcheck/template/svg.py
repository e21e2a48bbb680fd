"""Writes a page of a template as SVG in mm, a group a layer, type as outlines."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from html import escape
from io import BytesIO

from prepcheck.geometry import Box
from prepcheck.proof.shaping import EM
from prepcheck.proof.shipped_fonts import FOLDER
from prepcheck.proof.typeset import TypesetRun, clean, runs
from prepcheck.spec.places import Step
from prepcheck.template.model import (
    ART,
    LAYER_NAMES,
    Fill,
    Mark,
    Template,
    Words,
)  # fmt: skip
from prepcheck.template.styles import SPOTS
from prepcheck.units import MM_PER_PT

STEP_ATTRIBUTE = "data-processing-step"
"""Names a group's processing step, as 'Structural/Cutting'."""
_HEAD = (
    'xmlns="http://www.w3.org/2000/svg" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
    'xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"'
)
"""The names by which drawing programs know groups as layers, and locked ones."""


def template_svg(template: Template, index: int) -> bytes:
    """Return a page (0-based) of a template as SVG 1.1; one unit is one mm."""
    page = template.pages[index]
    media = page.media
    glyphs: dict[str, str] = {}
    layers = [line for layer in page.layers for line in _layer(layer.step, layer.marks, media,
                                                               glyphs)]  # fmt: skip
    size = f"{_n(media.width)} {_n(media.height)}"
    wide, high = size.split()
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg {_HEAD} version="1.1" width="{wide}mm" height="{high}mm" viewBox="0 0 {size}">',
        f"<title>Template: {_text(template.title)}, {_text(page.name)}</title>",
        f"<desc>Template of the spec {_text(template.spec)}, at true size. Draw on the layer "
        f"{ART}.</desc>",
        '<sodipodi:namedview inkscape:document-units="mm" inkscape:current-layer="art"/>',
        "<defs>",
        *(f'<path id="{key}" d="{path}"/>' for path, key in glyphs.items()),
        "</defs>",
        f'<g id="art" inkscape:groupmode="layer" inkscape:label="{ART}"/>',
        *layers,
        "</svg>",
    ]
    return ("\n".join(lines) + "\n").encode()


def svg_names(template: Template) -> tuple[str, ...]:
    """Return a name for each page's file, without its ending."""
    if len(template.pages) == 1:
        return (f"{template.spec}-template",)
    return tuple(
        f"{template.spec}-template-{page.name.replace(' ', '-')}" for page in template.pages
    )


def _layer(
    step: Step, marks: tuple[Mark, ...], media: Box, glyphs: dict[str, str]
) -> Iterator[str]:
    named = "/".join(filter(None, step.value))
    yield (
        f'<g id="{step.word}" inkscape:groupmode="layer" inkscape:label="{LAYER_NAMES[step]}" '
        f'sodipodi:insensitive="true" {STEP_ATTRIBUTE}="{named}">'
    )
    for mark in marks:
        yield from _mark(mark, media, glyphs)
    yield "</g>"


def _mark(mark: Mark, media: Box, glyphs: dict[str, str]) -> Iterator[str]:
    colour = _colour(mark)
    if isinstance(mark, Words):
        yield from _words(mark, media, colour, glyphs)
        return
    points = " ".join(f"{_n(x - media.x0)},{_n(media.y1 - y)}" for x, y in mark.points)
    if isinstance(mark, Fill):
        yield f'<polygon points="{points}" fill="{colour}"/>'
        return
    how = f'fill="none" stroke="{colour}" stroke-width="{_n(mark.weight_mm)}"'
    if mark.dash_mm:
        how += f' stroke-dasharray="{" ".join(_n(length) for length in mark.dash_mm)}"'
    if mark.circle is not None:
        x, y, radius = mark.circle
        yield (f'<circle cx="{_n(x - media.x0)}" cy="{_n(media.y1 - y)}" r="{_n(radius)}" {how}/>')
        return
    yield f'<{"polygon" if mark.closed else "polyline"} points="{points}" {how}/>'


def _words(words: Words, media: Box, colour: str, glyphs: dict[str, str]) -> Iterator[str]:
    parts = runs(clean(words.line), words.style)
    tracking = words.style.tracking
    width = sum(part.width for part in parts) - tracking
    place = f"translate({_n(words.x - media.x0)} {_n(media.y1 - words.y)})"
    if words.turn:
        place += f" rotate({_n(-words.turn)})"
    yield f'<g aria-label={_quoted(words.line)} fill="{colour}" transform="{place}">'
    x = -words.set.value * width
    for part in parts:
        per_em = _units_per_em(part.font)
        factor = part.size * MM_PER_PT / per_em
        for path, advance, aside, up in _outlines(part, tracking):
            if path:
                key = glyphs.setdefault(path, f"g{len(glyphs)}")
                yield (
                    f'<use href="#{key}" transform="translate({_n((x + aside) * MM_PER_PT)} '
                    f'{_n(-up * MM_PER_PT)}) scale({factor:.7f} {-factor:.7f})"/>'
                )
            x += advance
    yield "</g>"


@cache
def _font(name: str):  # type: ignore[no-untyped-def]
    from fontTools.ttLib import TTFont

    return TTFont(BytesIO((FOLDER / f"{name.partition('-')[2]}.ttf").read_bytes()), lazy=True)


@cache
def _names(name: str) -> dict[int, str]:
    """Return the glyph that a font has for each character."""
    found: dict[int, str] = _font(name).getBestCmap()
    return found


@cache
def _units_per_em(name: str) -> int:
    return int(_font(name)["head"].unitsPerEm)


def _outlines(run: TypesetRun, tracking: float) -> Iterator[tuple[str, float, float, float]]:
    """Yield each glyph's outline in units of the em, y up, how far it leads, and how far it
    stands off, in points."""
    for glyph in run.glyphs:
        path, _ = _glyph(run.font, _font(run.font).getGlyphName(glyph.number))
        em = run.size / EM
        yield path, em * glyph.advance, em * glyph.x, em * glyph.y
    per_em = _units_per_em(run.font)
    for character in "" if run.glyphs else run.text:
        path, advance = _glyph(run.font, _names(run.font).get(ord(character)))
        yield path, advance / per_em * run.size + tracking, 0.0, 0.0


@cache
def _glyph(name: str, glyph: str | None) -> tuple[str, float]:
    """Return a glyph's outline in units of the em, y up, and its advance; nothing for None."""
    from fontTools.pens.svgPathPen import SVGPathPen

    if glyph is None:
        return "", 0.0
    glyphs = _font(name).getGlyphSet()
    pen = SVGPathPen(glyphs)
    glyphs[glyph].draw(pen)
    return pen.getCommands(), float(glyphs[glyph].width)


def _colour(mark: Mark) -> str:
    """Return a spot's stand-in, lightened by the tint, as it looks on white."""
    return "#" + "".join(
        f"{round(255 - (255 - value) * mark.tint):02x}" for value in SPOTS[mark.ink].rgb
    )


def _n(value: float) -> str:
    return f"{round(value, 4) + 0.0:.4f}".rstrip("0").rstrip(".")


def _quoted(words: str) -> str:
    inside = escape(words, quote=False).replace('"', "&quot;")
    return f'"{inside}"'


def _text(words: str) -> str:
    return words.replace("&", "&amp;").replace("<", "&lt;")
