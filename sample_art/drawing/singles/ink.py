"""Too much ink, too little, and inks that must fit where they cannot."""

from __future__ import annotations

import math
from pathlib import Path

from reportlab.lib.colors import CMYKColor

from drawing.brand import BLACK, CLAY, FIRM, PAPER, RUST, SAND, TITLE, Ink
from drawing.clear import LABEL
from drawing.page import STRONG, Art, spot
from drawing.singles.label import HOLE, RIM, fault, label, single, sound

HEAVY: Ink = (0.70, 0.66, 0.60, 0.34)
"""230 % of ink."""
RICH: Ink = (0.60, 0.40, 0.40, 1.00)
"""240 % of ink."""
RIDGE: Ink = (0.40, 0.30, 0.30, 1.00)
TWO: Ink = (0.80, 0.60, 0.00, 0.00)


@single(
    "ink-total.pdf",
    fault("ink.total", "stop", "a disc built of 300 % of ink", measured=300, required=250,
          unit="%", x=0.0, y=-25.0),
)  # fmt: skip
def ink_total(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 9.0, (0.75, 0.68, 0.67, 0.90))
    art.save()


@sound("ink-total-small.pdf", "300 % of ink, but on less than the window")
def ink_total_small(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 2.0, (0.75, 0.68, 0.67, 0.90))
    art.save()


@single(
    "ink-heavy.pdf",
    fault("ink.heavy-solid", "query", "230 % of ink from 25 mm out to the rim",
          measured=100 * (RIM**2 - 25**2) / (RIM**2 - HOLE**2), required=50, unit="%"),
)  # fmt: skip
def ink_heavy(path: Path) -> None:
    art = Art(path, LABEL)
    art.flood(HEAVY)
    art.disc(0, 0, 25.0, SAND)
    art.outlined(TITLE.upper(), 0, 15.0, 14, BLACK, track=0.05)
    art.save()


@single(
    "ink-faint.pdf",
    fault("ink.faint", "query", "a disc in 2 % of black on bare paper", measured=2, required=3,
          unit="%", x=0.0, y=-25.0),
)  # fmt: skip
def ink_faint(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 10.0, PAPER)
    art.disc(0, -25.0, 8.0, (0.0, 0.0, 0.0, 0.02))
    art.save()


def faded(path: Path, start: Ink) -> None:
    art = label(path)
    art.rect(-14.0, -33.0, 14.0, -17.0, PAPER)
    art.fade(-12.0, -31.0, 12.0, -19.0, start, (0.0, 0.0, 0.0, 0.0))
    art.save()


@single(
    "ink-faint-fade.pdf",
    fault("ink.faint", "query", "a fade from 8 % to bare paper over 24 mm, so 9 mm under 3 %",
          measured=3, required=3, unit="%", x=7.5, y=-25.0),
)  # fmt: skip
def ink_faint_fade(path: Path) -> None:
    faded(path, (0.0, 0.0, 0.0, 0.08))


@sound("fade-to-paper.pdf", "a fade from 60 % to bare paper, whose last 1.2 mm nobody misses")
def fade_to_paper(path: Path) -> None:
    faded(path, (0.0, 0.0, 0.0, 0.6))


@single(
    "plate-nearly-empty.pdf",
    fault("ink.plates", "query", "a dot of 1.6 mm in a spot of its own",
          measured=math.pi * 0.8**2, required=3, unit="mm²", x=0.0, y=-25.0),
)  # fmt: skip
def plate_nearly_empty(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 0.8, spot("LFR Moss", (0.5, 0.1, 0.8, 0.3)))
    art.save()


@single(
    "line-in-three-inks.pdf",
    fault("ink.small-type", "stop", "a line of 0.16 mm built of four inks", measured=0.16,
          required=0.18, unit="mm", x=0.0, y=-25.0),
)  # fmt: skip
def line_in_three_inks(path: Path) -> None:
    art = label(path)
    art.line([(-15.0, -25.0), (15.0, -25.0)], 0.16, RUST)
    art.save()


@single(
    "type-in-two-inks.pdf",
    fault("ink.small-type", "query", "type of 8 pt built of two inks", measured=8, required=9,
          unit="pt", x=0.0, y=-25.0),
)  # fmt: skip
def type_in_two_inks(path: Path) -> None:
    art = label(path)
    art.text("Pressed by the harbour", 0, -25.0, 8, TWO, align="middle")
    art.save()


@single(
    "black-type-in-four-inks.pdf",
    fault("ink.black-type", "query", "black type of 11 pt built of four inks", measured=11,
          required=24, unit="pt", x=0.0, y=-25.0),
)  # fmt: skip
def black_type_in_four_inks(path: Path) -> None:
    art = label(path)
    art.text("Pressed by the harbour", 0, -25.0, 11, RIDGE, align="middle")
    art.save()


@single(
    "black-type-cut-out.pdf",
    fault("ink.black-type", "query", "black type of 10 pt cut out of clay", measured=10,
          required=12, unit="pt", x=0.0, y=-25.0),
)  # fmt: skip
def black_type_cut_out(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 12.0, CLAY)
    art.text("Low water", 0, -25.0, 10, CMYKColor(0, 0, 0, 1), align="middle")
    art.save()


@single(
    "black-alone.pdf",
    fault("ink.black-solid", "note", "a disc of 40 mm in black alone",
          measured=math.pi * 20**2, required=1000, unit="mm²", x=0.0, y=0.0),
)  # fmt: skip
def black_alone(path: Path) -> None:
    art = Art(path, LABEL)
    art.flood(SAND)
    art.disc(0, 0, 20.0, BLACK)
    art.circle_text(FIRM.upper(), 42.0, 9, BLACK, STRONG, track=0.12)
    art.save()


@single(
    "black-too-rich.pdf",
    fault("ink.black-solid", "note", "a disc of 24 mm in 240 % of ink", measured=240,
          required=220, unit="%", x=0.0, y=-27.0),
)  # fmt: skip
def black_too_rich(path: Path) -> None:
    art = label(path)
    art.disc(0, -27.0, 12.0, RICH)
    art.save()
