"""Drawn to another size, or not where it should be."""

from __future__ import annotations

from pathlib import Path

from drawing.brand import ARTIST, NIGHT, RUST, SAND, TITLE
from drawing.clear import JACKET, LABEL
from drawing.motifs import barcode, byline
from drawing.page import Art
from drawing.singles.label import fault, label, single, words


@single(
    "trim-102.pdf",
    fault("size.trim", "stop", "drawn 102 mm across", measured=102.0, required=100.0, unit="mm"),
)
def trim_102(path: Path) -> None:
    art = Art(path, (102.0, 102.0))
    art.flood(SAND)
    words(art)
    art.save()


@single(
    "half-scale.pdf",
    fault("size.scale", "stop", "drawn at half its size: enlarge by 2", measured=2.0, unit="×"),
)
def half_scale(path: Path) -> None:
    label(path, scale=0.5).save()


@single("no-trimbox.pdf", fault("size.trim-unstated", "query", "no TrimBox"))
def no_trimbox(path: Path) -> None:
    label(path, trim_box=False).save()


@single(
    "off-centre.pdf",
    fault(
        "size.off-centre",
        "query",
        "TrimBox 2 mm right of the page's centre",
        measured=2.0,
        unit="mm",
    ),
)
def off_centre(path: Path) -> None:
    art = Art(path, LABEL, page=(112.0, 106.0), shift=(2.0, 0.0))
    art.rect(-58.0, -53.0, 54.0, 53.0, SAND)
    words(art)
    art.save()


@single("rotated.pdf", fault("size.rotated", "query", "/Rotate 90", measured=90, unit="°"))
def rotated(path: Path) -> None:
    label(path, turned=True).save()


@single(
    "jacket-on-its-side.pdf",
    fault(
        "size.rotated",
        "query",
        "drawn upright, 315 by 633 mm",
        spec="jacket-12in",
        measured=90,
        unit="°",
    ),
)
def jacket_on_its_side(path: Path) -> None:
    art = Art(path, (JACKET[1], JACKET[0]))
    art.flood(SAND)
    art.canvas.rotate(90)
    art.outlined(TITLE.upper(), 159.0, -20.0, 110, NIGHT, track=0.06)
    byline(art, ARTIST, 159.0, -48.0, 40, RUST)
    barcode(art, -75.5, -144.0)
    art.save()
