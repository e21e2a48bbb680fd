"""Objects that overprint where they should not, spots that clash, and limits of the plates."""

from __future__ import annotations

from pathlib import Path

from drawing.amend import knock_out
from drawing.brand import BLACK, CLAY, NIGHT, PAPER, RUST, RUST_SPOT, Ink
from drawing.page import spot
from drawing.singles.label import fault, label, single

RED: Ink = (0.0, 1.0, 1.0, 0.0)
YELLOW: Ink = (0.0, 0.0, 1.0, 0.0)
SEA: Ink = (0.55, 0.10, 0.0, 0.0)


@single(
    "overprint-white.pdf",
    fault("overprint.white", "stop", "a white disc on night, set to overprint", measured=1,
          x=0.0, y=-25.0),
)  # fmt: skip
def overprint_white(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 12.0, NIGHT)
    with art.overprinting():
        art.disc(0, -25.0, 5.0, PAPER)
    art.save()


@single(
    "overprint-white-type.pdf",
    fault("overprint.white", "stop", "white type on night, set to overprint", measured=1,
          x=0.0, y=-25.0),
)  # fmt: skip
def overprint_white_type(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 12.0, NIGHT)
    with art.overprinting():
        art.text("Low water", 0, -25.0, 10, PAPER, align="middle")
    art.save()


@single(
    "overprint-lost.pdf",
    fault("overprint.lost", "query", "yellow on red, set to overprint", measured=1,
          x=0.0, y=-25.0),
)  # fmt: skip
def overprint_lost(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 12.0, RED)
    with art.overprinting():
        art.disc(0, -25.0, 5.0, YELLOW)
    art.save()


@single(
    "overprint-spot.pdf",
    fault("overprint.lost", "query", "a blue disc that lets the spot under it through",
          measured=1, x=0.0, y=-25.0),
)  # fmt: skip
def overprint_spot(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 12.0, spot(RUST_SPOT, RUST))
    with art.overprinting():
        art.disc(0, -25.0, 5.0, SEA)
    art.save()


@single(
    "overprint-spot-small.pdf",
    fault("overprint.lost", "query", "a dot of a spot under a blue disc that covers it on screen",
          measured=1, x=0.0, y=-25.0),
)  # fmt: skip
def overprint_spot_small(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 14.0, PAPER)
    art.disc(5.0, -25.0, 1.5, spot(RUST_SPOT, RUST))
    with art.overprinting():
        art.disc(0, -25.0, 12.0, SEA)
    art.save()


@single(
    "spot-like-cyan.pdf",
    fault("colour.spot-clash", "query", "a spot built of 100 % cyan", x=0.0, y=-25.0),
)
def spot_like_cyan(path: Path) -> None:
    art = label(path)
    art.disc(0, -25.0, 8.0, spot("LFR Blue", (1.0, 0.0, 0.0, 0.0)))
    art.save()


@single(
    "spots-of-one-make-up.pdf",
    fault("colour.spot-clash", "query", "two spots of one make-up", x=-9.0, y=-25.0),
)
def spots_of_one_make_up(path: Path) -> None:
    art = label(path)
    art.disc(-9.0, -25.0, 8.0, spot(RUST_SPOT, RUST))
    art.disc(9.0, -25.0, 8.0, spot("Brick", RUST))
    art.save()


@single("knockout-group.pdf", fault("plates.limit", "note", "a group that knocks out"))
def knockout_group(path: Path) -> None:
    art = label(path)
    art.canvas.beginForm("overlap", -15, -15, 15, 15)
    art.disc(-4.0, 0.0, 6.0, CLAY)
    art.disc(4.0, 0.0, 6.0, BLACK)
    art.canvas.endForm()
    art.canvas.translate(0, -27.0)
    art.canvas.doForm("overlap")
    art.save()
    knock_out(path)
