"""One small file a fault of folds and barcodes: obi strips and jackets, wrong in one way."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from drawing.amend import add_layer, on_layer
from drawing.brand import BLACK, Ink
from drawing.gatefold.brand import (
    ARTIST,
    BARCODE,
    CATALOGUE,
    CORAL,
    FERN,
    FOREST,
    MIST,
    MOON,
    PALE,
    TITLE,
)
from drawing.gatefold.motifs import (
    Symbol,
    draw_digits,
    draw_symbol,
    frond,
    ink_height,
    moon,
    ridge,
    white_box,
)
from drawing.gatefold.sleeve import spine
from drawing.motifs import byline, lantern
from drawing.page import ITALIC, STRONG, Art
from drawing.singles.label import fault, single

OBI, OBI_SPEC = (93.0, 315.0), "obi-12in"
SEVEN, SEVEN_SPEC = (371.0, 184.0), "jacket-7in"
FLAPS, FLAPS_SPEC = (629.57, 352.73), "jacket-12in-flaps"
ON_SPINE = f"{ARTIST} · {TITLE}"
TALL = ink_height(ON_SPINE.upper(), 10.0, STRONG)
"""Height of the type on a spine when it is set in 10 pt, in mm."""


# -- barcodes, on an obi strip: back 30 mm, spine 3 mm, front 60 mm -------------------------------

FRONT = 16.5
"""Middle of the obi's front."""
OBI_FOLD = -13.5
"""Fold between its spine and its front."""
FIRST, FOOT = FRONT - 1.0 - 95 * 0.33 / 2, -136.0
PLACE = {"spec": OBI_SPEC, "x": FIRST + 15.0, "y": FOOT + 10.0}


def obi(path: Path) -> Art:
    """Return a strip with all but its barcode."""
    art = Art(path, OBI)
    art.flood(PALE)
    art.disc(FRONT, 66.0, 20.0, CORAL)
    ridge(art, -62.0, 4.0, 90.0, 4, MIST, bleed=3.0)
    frond(art, (FRONT - 4.0, -70.0), 108.0, 3.0, FERN, curl=-24.0, leaflets=19)
    ridge(art, -70.0, 3.0, 70.0, 6, MIST)
    art.text(TITLE, FRONT, 124.0, 19, BLACK, STRONG, align="middle")
    byline(art, ARTIST, FRONT, 114.0, 13, BLACK)
    lantern(art, -31.5, 132.0, 14.0, FOREST)
    spine(art, pt=5.0, ink=BLACK, words=f"{ARTIST}   ·   {TITLE}", at=(-15.0, 60.0))
    return art


def obi_with(path: Path, symbol: Symbol, x: float = FIRST) -> None:
    """Draw a strip with a barcode."""
    art = obi(path)
    draw_symbol(art, x, FOOT, symbol)
    art.save()


MISTYPED = BARCODE[:-1] + str((int(BARCODE[-1]) + 4) % 10)


@single(
    "barcode-check-digit.pdf",
    fault("barcode.digits", "stop", "the last digit of the barcode is wrong",
          measured=MISTYPED, required=BARCODE, **PLACE),
)  # fmt: skip
def barcode_check_digit(path: Path) -> None:
    obi_with(path, Symbol(MISTYPED))


@single(
    "barcode-70-percent.pdf",
    fault("barcode.size", "stop", "the barcode at 70 %", measured=0.231, required=0.264,
          unit="mm", **PLACE),
)  # fmt: skip
def barcode_70_percent(path: Path) -> None:
    obi_with(path, Symbol(BARCODE, module=0.231))


@single(
    "barcode-crowded.pdf",
    fault("barcode.quiet-zone", "stop", "the white box ends 1.2 mm right of the bars",
          measured=1.2, required=7 * 0.33, unit="mm", **PLACE),
)  # fmt: skip
def barcode_crowded(path: Path) -> None:
    art = obi(path)
    art.rect(FIRST - 6.0, FOOT - 10.0, FIRST + 36.0, FOOT + 28.0, FOREST)
    draw_symbol(art, FIRST, FOOT, Symbol(BARCODE, right=1.2))
    art.save()


@single(
    "barcode-magenta.pdf",
    fault("barcode.contrast", "stop", "magenta bars, which red light does not see", **PLACE),
)
def barcode_magenta(path: Path) -> None:
    obi_with(path, Symbol(BARCODE, ink=(0.0, 1.0, 0.0, 0.0)))


@single(
    "barcode-low.pdf",
    fault("barcode.truncated", "query", "bars cut down to 19 mm", measured=19.0,
          required=69.2 * 0.33, unit="mm", **PLACE),
)  # fmt: skip
def barcode_low(path: Path) -> None:
    obi_with(path, Symbol(BARCODE, height=19.0))


@single(
    "barcode-at-fold.pdf",
    fault("barcode.fold", "stop", "its quiet zone 1.0 mm from the fold", measured=1.0,
          required=1.5, unit="mm", spec=OBI_SPEC, x=OBI_FOLD + 20.0, y=FOOT + 10.0),
)  # fmt: skip
def barcode_at_fold(path: Path) -> None:
    obi_with(path, Symbol(BARCODE), OBI_FOLD + 1.0 + 11 * 0.33)


@single(
    "barcode-in-four-inks.pdf",
    fault("barcode.resolution", "query", "bars built of four inks", **PLACE),
)
def barcode_in_four_inks(path: Path) -> None:
    rich: Ink = (0.4, 0.4, 0.4, 1.0)
    obi_with(path, Symbol(BARCODE, ink=rich))


@single(
    "barcode-picture.pdf",
    fault("barcode.resolution", "query", "a picture of a barcode at 300 ppi", measured=300.0,
          required=600.0, unit="ppi", **PLACE),
)  # fmt: skip
def barcode_picture(path: Path) -> None:
    art = obi(path)
    symbol = Symbol(BARCODE)
    white_box(art, FIRST, FOOT, symbol)
    draw_digits(art, FIRST, FOOT, symbol)
    columns, rows = round(symbol.width / 25.4 * 300), round(symbol.height / 25.4 * 300)
    modules = np.array([int(module) for module in symbol.bars()])
    at = np.floor((np.arange(columns) + 0.5) * 25.4 / 300 / symbol.module).astype(int)
    line = np.where(modules[np.minimum(at, 94)] == 1, 0, 255).astype(np.uint8)
    picture = Image.fromarray(np.repeat(line[None, :], rows, axis=0))
    art.picture(picture, FIRST, FOOT, columns * 25.4 / 300, rows * 25.4 / 300)
    art.save()


# -- folds, on the jacket of a single: back 184 mm, spine 3 mm, front 184 mm ----------------------


def seven(path: Path, *, spine_pt: float = 5.0, barcode: bool = True) -> Art:
    """Return the jacket of a 7-inch record."""
    art = Art(path, SEVEN)
    art.flood(MIST)
    moon(art, 93.5, 22.0, 46.0, 0.62, MOON)
    ridge(art, -48.0, 5.0, 180.0, 3, FERN)
    frond(art, (120.0, -60.0), 96.0, -6.0, FERN, curl=30.0)
    art.text(TITLE, 93.5, -70.0, 26, BLACK, STRONG, align="middle")
    byline(art, ARTIST, 93.5, -80.0, 18, BLACK)
    art.text(TITLE, -170.0, 62.0, 24, BLACK, ITALIC)
    art.text(f"{ARTIST}  ·  {CATALOGUE}", -170.0, 52.0, 12, BLACK)
    spine(art, pt=spine_pt, ink=BLACK, words=ON_SPINE, at=(0.0, 10.0))
    if barcode:
        draw_symbol(art, -60.0, -72.0, Symbol(BARCODE))
    return art


@single(
    "barcode-missing.pdf",
    fault("barcode.missing", "query", "a jacket without a barcode", spec=SEVEN_SPEC),
)
def barcode_missing(path: Path) -> None:
    seven(path, barcode=False).save()


@single(
    "spine-type-10pt.pdf",
    fault("spine.too-narrow", "stop", "10 pt type on a spine of 3 mm", spec=SEVEN_SPEC,
          measured=TALL, required=2.0, unit="mm", x=0.0, y=10.0),
    fault("fold.clearance", "stop", "which leaves too little on either side", spec=SEVEN_SPEC,
          measured=(3.0 - TALL) / 2, required=0.5, unit="mm", x=0.0, y=10.0),
)  # fmt: skip
def spine_type_10pt(path: Path) -> None:
    seven(path, spine_pt=10.0).save()


@single(
    "spine-creases-5mm.pdf",
    fault("spine.width", "stop", "creases 5 mm apart, on their layer", spec=SEVEN_SPEC,
          measured=5.0, required="3.0 mm", unit="mm", x=2.5, y=0.0),
)  # fmt: skip
def spine_creases_5mm(path: Path) -> None:
    art = seven(path)

    def creases() -> None:
        for x in (-2.5, 2.5):
            art.line([(x, -92.0), (x, 92.0)], 0.25, (0.0, 1.0, 0.0, 0.0))

    on_layer(art, "Creases", creases)
    art.save()
    add_layer(path, "Creases", "Creases", step=("Structural", "Creasing"))


# -- glue flaps, on a flat of 629.57 by 352.73 mm -------------------------------------------------

FACE_HALF = 314.63 / 2
FLAP_INK = (-230.0, FACE_HALF + 6.0, 100.0, 10.0)
"""Left, bottom, width and height of what was left on the upper flap."""


@single(
    "flap-inked.pdf",
    fault("flap.inked", "stop", "a bar of 100 by 10 mm left on the glue flap", spec=FLAPS_SPEC,
          measured=1000.0, required=0.0, unit="mm²", x=-180.0, y=FACE_HALF + 11.0),
)  # fmt: skip
def flap_inked(path: Path) -> None:
    art = Art(path, FLAPS)
    half = FLAPS[0] / 2 + 3.0
    art.rect(-half, -FACE_HALF - 3.0, half, FACE_HALF + 3.0, MIST)
    moon(art, 158.4, 20.0, 84.0, 0.62, MOON)
    frond(art, (150.0, -120.0), 190.0, 4.0, FERN, curl=-24.0)
    art.text(TITLE, 158.4, -138.0, 40, BLACK, STRONG, align="middle")
    art.text(TITLE, -290.0, 112.0, 40, BLACK, ITALIC)
    art.text(f"{ARTIST}  ·  {CATALOGUE}", -290.0, 98.0, 14, BLACK)
    spine(art, pt=7.0, ink=BLACK, words=f"{ARTIST}   ·   {TITLE}   ·   {CATALOGUE}")
    draw_symbol(art, -70.0, -128.0, Symbol(BARCODE))
    x, y, width, height = FLAP_INK
    art.rect(x, y, x + width, y + height, FERN)
    art.save()
