"""Colours that no plate is made for."""

from __future__ import annotations

from pathlib import Path

from reportlab.lib.colors import CMYKColorSep, Color

from drawing import photo
from drawing.amend import declare_spot
from drawing.brand import NIGHT, RUST, RUST_SPOT, TEAL
from drawing.page import spot
from drawing.singles.label import fault, label, single


@single("photo-rgb.jpg", fault("colour.space", "stop", "a photograph in RGB"))
def photo_rgb(path: Path) -> None:
    photo.in_rgb(photo.label_hills(1252, 29)).save(path, quality=85, subsampling=0, dpi=(300, 300))


@single("shape-rgb.pdf", fault("colour.space", "stop", "a disc painted in RGB", x=0.0, y=-25.0))
def shape_rgb(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 9.0, Color(0.85, 0.3, 0.15))
    art.save()


def spots(path: Path, *names: str) -> None:
    art = label(path)
    for place, name in enumerate(names):
        x = (place - (len(names) - 1) / 2) * 18.0
        art.disc(x, -25.0, 8.0, spot(name, (RUST, TEAL, NIGHT)[place]))
    art.save()


@single(
    "spot-two-spellings.pdf",
    fault("colour.inks", "query", "one spot spelt two ways: LFR Rust, LFR-RUST"),
)
def spot_two_spellings(path: Path) -> None:
    spots(path, RUST_SPOT, "LFR-RUST")


@single(
    "spots-three.pdf",
    fault("colour.inks", "stop", "three spots where two are printed", measured=3, required=2),
)
def spots_three(path: Path) -> None:
    spots(path, RUST_SPOT, "LFR Teal", "LFR Night")


@single("spot-unused.pdf", fault("colour.inks", "note", "a spot named that paints nothing"))
def spot_unused(path: Path) -> None:
    label(path).save()
    declare_spot(path, "LFR Gold")


@single(
    "registration-colour.pdf",
    fault("colour.registration", "stop", "a disc in the colour of all plates", x=0.0, y=-25.0),
)
def registration_colour(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 6.0, CMYKColorSep(1, 1, 1, 1, spotName="All"))
    art.save()
