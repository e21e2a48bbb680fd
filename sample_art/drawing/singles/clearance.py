"""Type and edges too near the trim or the hole, and guides that would print."""

from __future__ import annotations

import math
from pathlib import Path

from reportlab.lib.colors import Color

from drawing.amend import add_layer, on_layer
from drawing.brand import BLACK, CLAY, PAPER, Ink
from drawing.page import CAPITALS, PT, Art
from drawing.singles.label import HOLE, RIM, fault, label, single, sound


@single(
    "type-at-rim.pdf",
    fault(
        "trim.clearance",
        "stop",
        "capitals end 1.1 mm inside the trim",
        measured=1.1,
        required=2.0,
        unit="mm",
        x=48.3 * math.cos(math.radians(315)),
        y=48.3 * math.sin(math.radians(315)),
    ),
)
def type_at_rim(path: Path) -> None:
    art = label(path)
    art.circle_text(
        "LIVE AT THE MILL", RIM - 1.1 - CAPITALS * 6 / PT, 6, BLACK, middle=315.0, track=0.2
    )
    art.save()


@single(
    "type-cut-through.pdf",
    fault("trim.clearance", "stop", "type across the trim", required=2.0, unit="mm",
          x=RIM * math.cos(math.radians(225)), y=RIM * math.sin(math.radians(225))),
)  # fmt: skip
def type_cut_through(path: Path) -> None:
    art = label(path)
    art.circle_text("LIVE AT THE MILL", RIM - 0.7, 6, BLACK, middle=225.0, track=0.2)
    art.save()


@single(
    "ring-at-rim.pdf",
    fault(
        "trim.clearance",
        "query",
        "a ring 3.25 mm inside the trim",
        measured=3.25,
        required=5.0,
        unit="mm",
    ),
)
def ring_at_rim(path: Path) -> None:
    art = label(path)
    art.ring(46.5, 0.5, BLACK)
    art.save()


@single(
    "type-at-hole.pdf",
    fault(
        "hole.clearance",
        "stop",
        "type 1.8 mm from the hole",
        measured=1.8,
        required=3.0,
        unit="mm",
        x=0.0,
        y=HOLE + 1.8 + 0.9,
    ),
)
def type_at_hole(path: Path) -> None:
    art = label(path)
    art.circle_text("HINT", HOLE + 1.8, 6, BLACK, track=0.05)
    art.save()


@single(
    "edge-at-hole.pdf",
    fault(
        "hole.clearance",
        "query",
        "a disc that ends 2 mm from the hole",
        measured=2.0,
        required=3.0,
        unit="mm",
    ),
)
def edge_at_hole(path: Path) -> None:
    art = label(path)
    art.disc(0, 0, HOLE + 2.0, CLAY)
    art.save()


@single("hole-blanked.pdf", fault("hole.drawn", "query", "the hole blanked out", x=0.0, y=0.0))
def hole_blanked(path: Path) -> None:
    art = label(path)
    art.disc(0, 0, HOLE, PAPER)
    art.save()


@single(
    "guide-printing.pdf",
    fault("guide.printing", "stop", "a template's trim and hole in magenta"),
    fault("hole.drawn", "query", "the hole outlined", measured=2 * HOLE, unit="mm", x=0.0, y=0.0),
)
def guide_printing(path: Path) -> None:
    art = label(path)
    guides(art)
    art.save()


def guides(art: Art, paint: Ink | Color = (0.0, 1.0, 0.0, 0.0)) -> None:
    art.ring(RIM, 0.3, paint)
    art.ring(HOLE, 0.3, paint)


@sound("guide-on-its-layer.pdf", "a template's trim and hole on a processing-steps layer")
def guide_on_its_layer(path: Path) -> None:
    art = label(path)
    on_layer(art, "Cut", lambda: guides(art))
    art.save()
    add_layer(path, "Cut", "Cut and drill", step=("Structural", "Cutting"))
