"""Type and lines too fine to print."""

from __future__ import annotations

from pathlib import Path

from drawing.brand import BLACK, NIGHT, PAPER
from drawing.singles.label import fault, label, single


@single("font-unembedded.pdf", fault("text.unembedded", "stop", "Helvetica, not embedded"))
def font_unembedded(path: Path) -> None:
    art = label(path)
    art.text("Stereo", 0, -26.0, 9, BLACK, "Helvetica", align="middle")
    art.save()


@single(
    "type-4pt.pdf",
    fault(
        "text.small", "stop", "type of 4 pt", measured=4.0, required=5.0, unit="pt", x=0.0, y=-25.5
    ),
)
def type_4pt(path: Path) -> None:
    art = label(path)
    art.text("Made for Lanternfold by people who do not exist", 0, -26, 4, BLACK, align="middle")
    art.save()


@single(
    "type-stretched.pdf",
    fault(
        "text.stretched",
        "query",
        "a line set to 80 % of its width",
        measured=20.0,
        required=5.0,
        unit="%",
        x=0.0,
        y=-25.0,
    ),
)
def type_stretched(path: Path) -> None:
    art = label(path)
    art.text("Made for Lanternfold", 0, -26, 9, BLACK, align="middle", wide=0.8)
    art.save()


@single(
    "type-reversed-6pt.pdf",
    fault(
        "text.small",
        "stop",
        "white type of 6 pt on a dark ground",
        measured=6.0,
        required=7.0,
        unit="pt",
        x=0.0,
        y=-25.0,
    ),
)
def type_reversed(path: Path) -> None:
    art = label(path)
    art.rect(-26.0, -31.0, 26.0, -19.0, NIGHT)
    art.text("Made for Lanternfold by people who do not exist", 0, -26, 6, PAPER, align="middle")
    art.save()


@single(
    "line-thin.pdf",
    fault(
        "line.thin",
        "stop",
        "a line of 0.1 mm",
        measured=0.1,
        required=0.15,
        unit="mm",
        x=0.0,
        y=-25.0,
    ),
)
def line_thin(path: Path) -> None:
    art = label(path)
    art.line([(-25.0, -25.0), (25.0, -25.0)], 0.1, BLACK)
    art.save()


@single(
    "line-thin-reversed.pdf",
    fault(
        "line.thin",
        "stop",
        "a white line of 0.2 mm on a dark ground",
        measured=0.2,
        required=0.25,
        unit="mm",
        x=0.0,
        y=-25.0,
    ),
)
def line_thin_reversed(path: Path) -> None:
    art = label(path)
    art.rect(-26.0, -31.0, 26.0, -19.0, NIGHT)
    art.line([(-22.0, -25.0), (22.0, -25.0)], 0.2, PAPER)
    art.save()
