"""The order with the common faults: the same record as a client in a hurry sends it."""

from __future__ import annotations

import math
from pathlib import Path

from pypdf.generic import ArrayObject, NameObject
from reportlab.lib.colors import CMYKColorSep

from drawing import clear, photo
from drawing.amend import amended, dictionary
from drawing.brand import ARTIST, BLACK, CATALOGUE, FIRM, PAPER, RUST, RUST_SPOT, SAND, TITLE
from drawing.manifest import Fault
from drawing.motifs import byline, dunes, lantern
from drawing.page import ITALIC, PT, STRONG, Art, spot
from drawing.singles.bleed import short_of_bleed
from drawing.singles.label import HOLE, RIM

LABEL_A, LABEL_B = "faulty/label-a.pdf", "faulty/label-b.jpg"
JACKET, INNER, INSERT = "faulty/jacket.pdf", "faulty/inner.pdf", "faulty/insert.pdf"

FAULTS = (
    Fault(LABEL_A, "bleed.short", "stop", "the colour stops 0.8 mm past the trim from 200° to 240°",
          measured=0.8, required=2.0, unit="mm",
          x=RIM * math.cos(math.radians(220)), y=RIM * math.sin(math.radians(220))),
    Fault(LABEL_A, "hole.clearance", "stop", "type 1.5 mm from the hole",
          measured=1.5, required=3.0, unit="mm", x=0.0, y=HOLE + 2.6),
    Fault(LABEL_A, "guide.printing", "stop", "the template's trim and hole in magenta"),
    Fault(LABEL_A, "colour.inks", "stop", "magenta, which the order does not pay for"),
    Fault(LABEL_B, "colour.space", "stop", "saved as RGB"),
    Fault(LABEL_B, "image.resolution", "query", "saved at 240 ppi",
          measured=240.0, required=300.0, unit="ppi"),
    Fault(JACKET, "size.trim-unstated", "query", "no TrimBox", spec="jacket-12in"),
    Fault(JACKET, "image.resolution", "stop", "the cover picture at 150 ppi", spec="jacket-12in",
          measured=150.0, required=200.0, unit="ppi", x=159.0, y=34.0),
    Fault(JACKET, "colour.inks", "stop", "LFR Rust and LFR RUST, neither of them ordered",
          spec="jacket-12in"),
    Fault(JACKET, "colour.registration", "stop", "spine type in the colour of all plates",
          spec="jacket-12in", x=0.0, y=80.0),
    Fault(JACKET, "text.small", "stop", "sand type of 6 pt on the dark dunes", spec="jacket-12in",
          measured=6.0, required=7.0, unit="pt", x=-200.0, y=-150.0),
    Fault(INNER, "file.pages", "stop", "three pages for two faces", spec="inner-12in", page=None,
          measured=3, required=2),
    Fault(INNER, "size.rotated", "query", "/Rotate 90", spec="inner-12in", measured=90, unit="°"),
    Fault(INNER, "text.unembedded", "stop", "Helvetica, not embedded", spec="inner-12in"),
    Fault(INNER, "line.thin", "stop", "rules of 0.08 mm", spec="inner-12in",
          measured=0.08, required=0.15, unit="mm"),
    Fault(INSERT, "size.scale", "stop", "drawn at half its size", spec="insert-12in",
          measured=2.0, unit="×"),
    Fault(INSERT, "file.annotations", "query", "a note left on the art", spec="insert-12in"),
    Fault(INSERT, "image.compression", "query", "a picture saved at JPEG quality 10",
          spec="insert-12in", x=0.0, y=-20.0),
)  # fmt: skip


def label_a(path: Path) -> None:
    """Side A with its bleed cut short on an arc, type at the hole, the template still on."""
    art = Art(path, clear.LABEL)
    art.canvas.saveState()
    clip = art.canvas.beginPath()
    first, *others = short_of_bleed(200.0, 240.0, 0.8)
    clip.moveTo(*first)
    for point in others:
        clip.lineTo(*point)
    clip.close()
    art.canvas.clipPath(clip, stroke=0, fill=0)
    clear.label_a_ground(art)
    art.canvas.restoreState()
    clear.label_a_type(art)
    art.circle_text("HI-FI", HOLE + 1.5, 6, BLACK, track=0.05)
    for radius in (RIM, HOLE):
        art.ring(radius, 0.3, (0.0, 1.0, 0.0, 0.0))
    art.save()


def label_b(path: Path) -> None:
    """Side B as a photograph in RGB, a little too small."""
    side = round(106.0 * 240.0 / 25.4)
    tones = photo.label_hills(side, 29)
    photo.in_rgb(tones).save(path, quality=85, subsampling=0, dpi=(240, 240))


def jacket(path: Path) -> None:
    """The jacket without TrimBox, with a small picture and inks nobody ordered."""
    art = Art(path, clear.JACKET, trim_box=False)
    clear.jacket_ground(art)
    side = round(190.0 * 150.0 / 25.4)
    passing = path.with_suffix(".passing.jpg")
    photo.in_cmyk(photo.hills(side, side, 5)).save(passing, quality=88)
    clear.jacket_front(art, passing)
    clear.jacket_back(art)
    art.disc(-130.0, 104.0, 9.0, spot(RUST_SPOT, RUST))
    art.disc(-108.0, 104.0, 9.0, spot(RUST_SPOT.upper(), RUST, 0.5))
    art.text(
        "Manufactured and distributed by nobody at all.", -200.0, -150.5, 6, SAND, align="middle"
    )
    art.canvas.saveState()
    art.canvas.translate(0, 112.0)
    art.canvas.rotate(-90)
    every_plate = CMYKColorSep(1, 1, 1, 1, spotName="All")
    spine = f"{ARTIST}   ·   {TITLE}   ·   {CATALOGUE}".upper()
    art.text(spine, 0, -0.617, 5, every_plate, STRONG, track=0.16)
    art.canvas.restoreState()
    art.save()
    passing.unlink()


def inner(path: Path) -> None:
    """The inner bag turned, with a page too many, a system font and hairlines."""
    rust = spot(RUST_SPOT, RUST)
    art = Art(path, clear.INNER, turned=True)
    art.flood(spot(RUST_SPOT, RUST, 0.10))
    art.outlined("WORDS", -125.0, 112.0, 58, rust, align="left", track=0.06)
    for row, (name, lines) in enumerate(clear.WORDS):
        y = 78.0 - 56.0 * row
        art.line([(-125.0, y + 10.0), (125.0, y + 10.0)], 0.08, BLACK)
        art.text(name, -125.0, y, 15, rust, STRONG)
        for place, line in enumerate(lines):
            art.text(line, 0.0, y - 7.4 * place, 13, BLACK, "Helvetica" if row == 3 else ITALIC)
    art.next_page()
    art.flood(rust)
    lantern(art, 0, 0, 120.0, PAPER)
    art.next_page()
    art.flood(rust)
    art.text("old version, please ignore", 0, 0, 24, PAPER, align="middle")
    art.save()


def insert(path: Path) -> None:
    """The insert drawn at half its size, with a spoilt picture and a note."""
    art = Art(path, clear.INSERT, scale=0.5)
    art.flood(SAND)
    dunes(art, [(-98.0, 6.0, 190.0, 2, (0.06, 0.26, 0.48, 0.02)), (-116.0, 5.0, 220.0, 5, RUST)])
    passing = path.with_suffix(".passing.jpg")
    wide, high = 1181, 945
    photo.in_cmyk(photo.hills(wide, high, 13)).save(passing, quality=10)
    w, h = wide * 25.4 / 600, high * 25.4 / 600
    art.picture(passing, -w, -20.0 - h, 2 * w, 2 * h)
    art.text("Nine winter tides", 0, 104.0, 36, BLACK, ITALIC, align="middle")
    art.text(f"{FIRM}  ·  {CATALOGUE}", 0, 92.0, 12, BLACK, align="middle", track=0.05)
    byline(art, "please check the colours!", 0, -126.0, 18, PAPER)
    art.save()
    passing.unlink()
    with amended(path) as writer:
        box = [40.0 * PT, 120.0 * PT, 44.0 * PT, 124.0 * PT]
        note = dictionary(
            Type="Annot", Subtype="Text", Rect=box, Contents="=is this the final text?"
        )
        writer.pages[0][NameObject("/Annots")] = ArrayObject([writer._add_object(note)])
