"""The pages of plates and of ink: what they say, and that nothing runs into anything else."""

from __future__ import annotations

import io
from dataclasses import replace

import pypdfium2 as pdfium
import pytest
from PIL import Image
from pypdf import PdfReader

from prepcheck.geometry import Box, Grid
from prepcheck.proof.model import (
    InkMapPicture,
    Picture,
    PlatePicture,
    Printed,
    ProofPart,
    Swatch,
)
from tests.proof import made_up
from tests.proof.test_write import lines_of, proof_of, squeezed

CONDITION = "Offset on uncoated label paper (FOGRA29)"
STEPS = (
    Swatch("bare paper", "#ffffff"),
    *(Swatch(f"up to {50 * n} %", f"#{255 - 40 * n:02x}8080") for n in range(1, 6)),
    Swatch("above 250 %", "#d63026", "hatched"),
    Swatch("not known", "#b2aca6", "dotted"),
)
LONG = "A spot ink with a name that nobody would ever want to print on a plate, number"


def flat(size: Box, value: int) -> Picture:
    out = io.BytesIO()
    width, height = round(size.width), round(size.height)
    Image.new("L", (width, height), value).save(out, "JPEG")
    return Picture(out.getvalue(), Grid(width, height, size.width / width, size.x0, size.y1))


def printed_part(
    spec: str, size: tuple[float, float], inks: tuple[str, ...], percent: float = 12.5
) -> ProofPart:
    image = Image.new("RGB", (300, 150 if size[0] > size[1] else 300), "#c08040")
    ink = made_up.finding(
        "stop", "Total ink up to 312 %, where 250 % can be printed.", "Use less.",
        made_up.box(10, 10, 5, 5),
    )  # fmt: skip
    small = made_up.finding("query", "Type is small.", "Enlarge it.", made_up.box(-20, 5, 5, 5))
    part = made_up.part_of("thing", spec, image, size[0], (ink, small))
    box = Box.centred(*size)
    plates = tuple(
        PlatePicture(name, flat(box, 255 - 20 * i), percent, 80 * percent, 90 * percent)
        for i, name in enumerate(inks)
    )
    ink_map = InkMapPicture(flat(box, 200), STEPS, 250.0, 312.4, 87.0, 41.2, 20.0, (1,))
    patches = (Swatch("Paper", "#f2f1f6"), *(Swatch(name, "#009ee0") for name in inks))
    printed = Printed(CONDITION, plates, ink_map, patches, ("one thing is not shown",))
    page = replace(part.pages[0], printed=printed, condition=CONDITION)
    return replace(part, pages=(page,))


CASES = {
    "label": ("label-12in", (112.0, 112.0), ("Cyan", "Magenta", "Yellow", "Black")),
    "spots": ("label-7in", (112.0, 112.0), tuple(f"{LONG} {n}" for n in range(13))),
    "jacket": ("jacket-12in", (645.0, 327.0), ("Cyan", "Magenta", "Yellow", "Black", LONG)),
    "bag": ("inner-12in", (330.0, 330.0), ("Black",)),
}


def pages_of(data: bytes, title: str) -> list[str]:
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]
    return [page for page in pages if title in page.splitlines()]


@pytest.mark.parametrize("kind", CASES)
def test_every_plate_is_named_with_its_coverage_and_the_condition(kind: str) -> None:
    data = proof_of(printed_part(*CASES[kind]), proof_for="plant")
    text = squeezed("".join(pages_of(data, "The plates")))
    assert text.count("12.5%") == len(CASES[kind][2])
    assert text.count(squeezed("1000 mm² of solid, 1125 mm² with the bleed")) == len(CASES[kind][2])
    for ink in CASES[kind][2]:
        assert squeezed(ink)[:12] in text
    assert squeezed(CONDITION) in text
    assert squeezed("Paper, solids and overprints") in text
    assert squeezed("One thing is not shown.") in text


def test_the_ink_page_says_how_much_and_numbers_its_findings() -> None:
    (page,) = pages_of(proof_of(printed_part(*CASES["label"]), proof_for="plant"), "Ink")
    text = squeezed(page)
    assert squeezed("The greatest total is 312 %, the limit 250 %: 41 mm² lie above it.") in text
    assert squeezed("20 mm² are painted in RGB or Lab") in text
    assert squeezed("Total ink up to 312 %, where 250 % can be printed.") in text
    assert squeezed("limit 250 %") in text
    assert "small" not in text
    for step in STEPS:
        assert squeezed(step.words) in text


def test_the_condition_and_the_caution_stand_on_the_art_page() -> None:
    data = proof_of(printed_part(*CASES["label"]), proof_for="plant")
    art = squeezed(PdfReader(io.BytesIO(data)).pages[1].extract_text())
    assert squeezed(f"Colours as printed: {CONDITION}") in art
    assert squeezed("not a contract colour proof") in art


def test_plates_that_carry_nothing_are_named_and_not_shown() -> None:
    data = proof_of(printed_part(*CASES["label"], percent=0.0), proof_for="plant")
    text = squeezed("".join(pages_of(data, "The plates")))
    assert squeezed("Cyan, Magenta, Yellow and Black carry nothing.") in text
    assert "ofsolid" not in text


@pytest.mark.parametrize("kind", CASES)
def test_nothing_overlaps_or_leaves_the_margins(kind: str) -> None:
    document = pdfium.PdfDocument(proof_of(printed_part(*CASES[kind]), proof_for="plant"))
    faults = []
    for number in range(len(document)):
        page = document[number]
        width, height = page.get_size()
        boxes = lines_of(page)
        for i, (l0, b0, r0, t0) in enumerate(boxes):
            if l0 < 48 or r0 > width - 50 or b0 < 20 or t0 > height - 20:
                faults.append((number + 1, "outside", (l0, b0, r0, t0)))
            for l1, b1, r1, t1 in boxes[i + 1 :]:
                across, down = min(r0, r1) - max(l0, l1), min(t0, t1) - max(b0, b1)
                if across > 0.5 and down > 0.25 * min(t0 - b0, t1 - b1):
                    faults.append((number + 1, "overlap", (l0, b0, r0, t0), (l1, b1, r1, t1)))
    document.close()
    assert faults == []
