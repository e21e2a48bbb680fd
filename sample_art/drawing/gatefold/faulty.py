"""The gatefold order as a client in a hurry sends it: eight files, much amiss."""

from __future__ import annotations

from pathlib import Path

from drawing.brand import BARCODE as OLD_BARCODE
from drawing.brand import BLACK
from drawing.gatefold.bags import bag, insert
from drawing.gatefold.brand import (
    ARTIST,
    BARCODE,
    CATALOGUE,
    CORAL,
    CREDITS,
    FERN_SPOT,
    FOREST,
    HARP,
    ORDER,
    PALE,
    TITLE,
)  # fmt: skip
from drawing.gatefold.clear import HEAD, INSERT, SLEEVE, bag_part, side_part
from drawing.gatefold.labels import label
from drawing.gatefold.motifs import Symbol, draw_symbol, frond, left_of
from drawing.gatefold.orders import order_text
from drawing.gatefold.sleeve import INSIDE, OUTSIDE, back, front, outside_ground, spine
from drawing.manifest import Fault
from drawing.page import ITALIC, STRONG, Art

FOLDER = "gatefold-faulty"
ALL, OUT, IN = f"{FOLDER}/order.toml", f"{FOLDER}/outside.pdf", f"{FOLDER}/inside.pdf"
SPEC = "gatefold-12in"
WRONG_CATALOGUE = "LFR 202"
WRONG_HARP = "Ines Holoway"

FOLD = 3.0
"""The folds of the outside lie this far left and right of the middle."""
BAND = 1.6
"""Half of what the art takes for the spine."""
OFF = 1.2
"""How far the type on the spine stands off its middle."""
BESIDE = 0.3
"""How far a line on the front begins past the fold."""
LOW, QUIET, NEAR = 20.0, 1.5, 5.0
"""The barcode: height of its bars, white left of them, room from its quiet zone to the fold."""
BAR_X = -FOLD - NEAR - (95 + 7) * 0.33
BAR_Y = -128.0

FAULTS = (
    Fault(OUT, "fold.clearance", "stop", "a line on the front begins 0.3 mm past the fold",
          SPEC, measured=BESIDE, required=0.5, unit="mm", x=5.0, y=-151.0),
    Fault(OUT, "fold.colour-break", "query", "the spine's colour ends 1.4 mm off its folds",
          SPEC, measured=FOLD - BAND, required=0.5, unit="mm", x=BAND, y=120.0),
    Fault(OUT, "spine.width", "stop", "a spine drawn for a thinner sleeve", SPEC,
          measured=2 * BAND, required="4.0 mm to 7.0 mm", unit="mm", x=-BAND, y=120.0),
    Fault(OUT, "spine.off-centre", "stop", "type 1.2 mm off the middle of the spine", SPEC,
          measured=OFF, required=1.0, unit="mm", x=OFF, y=20.0),
    Fault(OUT, "spine.direction", "query", "the spine reads from bottom to top", SPEC,
          measured="from bottom to top", required="from top to bottom", x=OFF, y=20.0),
    Fault(OUT, "barcode.mismatch", "stop", "the barcode of the record before", SPEC,
          measured=OLD_BARCODE, required=BARCODE, x=BAR_X + 15.0, y=BAR_Y + 10.0),
    Fault(OUT, "barcode.quiet-zone", "stop", "the white box begins 1.5 mm left of the bars", SPEC,
          measured=QUIET, required=11 * 0.33, unit="mm", x=BAR_X + 15.0, y=BAR_Y + 10.0),
    Fault(OUT, "barcode.truncated", "query", "bars cut down to 20 mm", SPEC,
          measured=LOW, required=69.2 * 0.33, unit="mm", x=BAR_X + 15.0, y=BAR_Y + 10.0),
    Fault(OUT, "barcode.fold", "query", "its quiet zone 5 mm from the spine", SPEC,
          measured=NEAR, required=8.0, unit="mm", x=BAR_X + 15.0, y=BAR_Y + 10.0),
    Fault(IN, "fold.colour-break", "query", "a solid that ends exactly on the fold, beside paper",
          SPEC, measured=0.0, required=1.0, unit="mm", x=-FOLD, y=0.0),
    Fault(IN, "panel.upside-down", "query", "the left inside stands on its head", SPEC,
          measured="left inside", required="upright when folded", x=-100.0, y=-60.0),
    Fault(ALL, "order.missing-part", "stop", "no label for side D", "", None,
          measured=3, required=4, unit="labels"),
    Fault(ALL, "order.same-art", "stop", "side A's label sent as side B as well", "", None,
          measured=100.0, unit="%"),
    Fault(ALL, "order.text", "stop", "the harpist's name misspelt on the insert", "", None,
          measured="not found", required=f"'{HARP}'"),
    Fault(ALL, "order.catalogue", "stop", f"{WRONG_CATALOGUE} on the spine", "", None,
          measured=WRONG_CATALOGUE, required=CATALOGUE),
    Fault(ALL, "order.inks", "query", "LFR Fern on one bag, LFR FERN on the other", "", None,
          measured=2, required=1, unit="spellings"),
    Fault(ALL, "order.speed-hole", "stop", "side C says 45 rpm, the order 33", "", None,
          measured="45 rpm", required="33 rpm"),
)  # fmt: skip


def make(folder: Path) -> None:
    """Write the order and its files."""
    label(folder / "label-a.pdf", "A")
    label(folder / "label-b.pdf", "A")
    label(folder / "label-c.pdf", "C", speed="45 rpm")
    outside(folder / "outside.pdf")
    inside(folder / "inside.pdf")
    bag(folder / "inner-1.pdf", 1)
    bag(folder / "inner-2.pdf", 2, FERN_SPOT.upper())
    insert(folder / "insert.pdf", WRONG_HARP)
    parts = [*(side_part(side) for side in "ABC"), *SLEEVE, bag_part(1), bag_part(2), INSERT]
    (folder / "order.toml").write_text(order_text({**HEAD, "number": f"{ORDER}-2"}, parts))


def outside(path: Path) -> None:
    """The outside on last year's template, with last year's barcode."""
    art = Art(path, OUTSIDE)
    art.canvas.setTitle(f"{TITLE}, outside")
    outside_ground(art)
    front(art)
    back(art)
    art.rect(-BAND, -160.5, BAND, 160.5, CORAL)
    words = f"{ARTIST}   ·   {TITLE}   ·   {WRONG_CATALOGUE}"
    spine(art, off=OFF, up=True, words=words)
    line = "First pressing of seven hundred"
    art.text(line, FOLD + BESIDE - left_of(line, 11, STRONG), -152.0, 11, PALE, STRONG)
    draw_symbol(art, BAR_X, BAR_Y, Symbol(OLD_BARCODE, height=LOW, left=QUIET))
    art.save()


def inside(path: Path) -> None:
    """The inside: the left a solid to the fold and on its head, the rest bare."""
    art = Art(path, INSIDE)
    art.canvas.setTitle(f"{TITLE}, inside")
    half, high = INSIDE[0] / 2 + 3.0, INSIDE[1] / 2 + 3.0
    art.rect(-half, -high, -FOLD, high, FOREST)
    art.canvas.saveState()
    art.canvas.translate(-160.0, 0.0)
    art.canvas.rotate(180)
    art.text(TITLE, -120.0, 112.0, 40, PALE, ITALIC)
    art.text(f"{ARTIST}  ·  {CATALOGUE}", -120.0, 99.0, 13, PALE, STRONG)
    for row, words in enumerate(CREDITS):
        art.text(words, -120.0, 20.0 - 9.5 * row, 14, PALE)
    art.canvas.restoreState()
    frond(art, (160.0, -110.0), 190.0, 6.0, FOREST, curl=-40.0, leaflets=21)
    art.text("Words and music by Tamsin Ferrow", 160.0, -132.0, 14, BLACK, align="middle")
    art.save()
