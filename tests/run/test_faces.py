"""Faces of one piece that come as files of their own, as pages of one file, or as one flat."""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.art.open import open_art
from prepcheck.errors import OrderError
from prepcheck.findings import PartResult
from prepcheck.run.examine import inspect
from prepcheck.run.pages import pages_apart
from prepcheck.spec.load import load_spec, spec_names
from tests.factories import Pdf
from tests.run.art import QUICK, flat_pdf

HEAD = """
[order]
number = "1"
client = "Lanternfold"
title = "Salt Roads"
catalogue = "LFR 014"
format = "12-inch"
discs = 2
"""


def order(folder: Path, *parts: str) -> Path:
    path = folder / "order.toml"
    path.write_text(HEAD + "".join(f"\n[[part]]\n{part}\n" for part in parts))
    return path


def part(name: str, file: str, more: str = "") -> str:
    return f'name = "{name}"\nfile = "{file}"\nspec = "gatefold-12in"\n{more}'


def outcome(result: PartResult, check: str) -> str:
    return next(o.status.value for o in result.outcomes if o.check == check)


def test_outside_and_inside_as_files_of_their_own(tmp_path: Path) -> None:
    flat_pdf(tmp_path / "out.pdf", 636.0, 315.0)
    flat_pdf(tmp_path / "in.pdf", 633.5, 314.5)
    result = inspect(
        order(
            tmp_path,
            part("Outside", "out.pdf", 'face = "outside"'),
            part("Inside", "in.pdf", 'face = "Inside"'),
        ),
        settings=QUICK,
    )
    outside, inside = result.parts
    assert [outcome(each, "file.pages") for each in (outside, inside)] == ["clear", "clear"]
    # 633.5 mm misses the inside of 635 mm by 1.5 mm; against the outside it would be 2.5 mm.
    (trim,) = [f for f in inside.findings if f.check == "size.trim"]
    assert "635.0" in str(trim.required)
    assert outcome(outside, "size.trim") == "clear"


def test_a_face_that_the_spec_has_not(tmp_path: Path) -> None:
    flat_pdf(tmp_path / "out.pdf", 636.0, 315.0)
    with pytest.raises(OrderError, match=r"no face 'lid'; its faces are 'outside', 'inside'"):
        inspect(order(tmp_path, part("Lid", "out.pdf", 'face = "lid"')), settings=QUICK)


def flats(pdf: Pdf, *sizes: tuple[float, float], text: str = "") -> Pdf:
    """Add sheets of these trimmed sizes, magenta out to the bleed, with a line of type."""
    font = pdf.add({"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica"})
    for width, height in sizes:
        pdf.page(
            f"0 1 0 0 k 0 0 {width + 6} {height + 6} re f 0 0 0 1 k "
            f"BT /F 12 Tf 90 60 Td ({text}) Tj ET",
            (width + 6, height + 6),
            trim_mm=(3, 3, width + 3, height + 3),
            bleed_mm=(0, 0, width + 6, height + 6),
            resources={"Font": {"F": font}},
        )
    return pdf


OUTSIDE, INSIDE = (636.0, 315.0), (635.0, 314.5)


@pytest.mark.parametrize(
    ("first", "other", "text", "why"),
    [
        (("x.pdf", OUTSIDE), ("y.pdf", INSIDE), "", "its size"),
        (("x.pdf", INSIDE), ("y.pdf", OUTSIDE), "", "its size"),
        (("inside.pdf", OUTSIDE), ("cover.pdf", OUTSIDE), "", "its name"),
        (("x.pdf", OUTSIDE), ("y.pdf", OUTSIDE), "9 522014 000179", "barcode's number"),
    ],
)
def test_faces_in_files_of_their_own_are_right_without_an_order(
    first: tuple[str, tuple[float, float]],
    other: tuple[str, tuple[float, float]],
    text: str,
    why: str,
    tmp_path: Path,
) -> None:
    files = []
    for name, size in (first, other):
        own = text if name == "y.pdf" else "Salt Roads"
        (tmp_path / name).write_bytes(flats(Pdf(), size, text=own).bytes())
        files.append(tmp_path / name)
    result = inspect(files, settings=QUICK)
    faces = {p.file: p.recognised_by.partition("taken as the ")[2] for p in result.parts}
    inside = "inside.pdf" if first[0] == "inside.pdf" else "x.pdf"
    inside = next((n for n, s in (first, other) if s == INSIDE), inside)
    assert faces[inside].startswith("inside")
    (outside,) = faces.keys() - {inside}
    assert faces[outside].startswith("outside")
    assert why in faces[outside] + faces[inside]
    assert [outcome(part, "file.pages") for part in result.parts] == ["clear", "clear"]


def test_one_face_alone_lacks_the_other(tmp_path: Path) -> None:
    (tmp_path / "outside.pdf").write_bytes(flats(Pdf(), OUTSIDE).bytes())
    (part,) = inspect(tmp_path / "outside.pdf", settings=QUICK).parts
    assert outcome(part, "file.pages") == "stop"


@pytest.mark.parametrize(("faces", "apart"), [((OUTSIDE, INSIDE), 3), ((OUTSIDE, OUTSIDE), 0)])
def test_a_gatefold_and_its_label_in_one_file(
    faces: tuple[tuple[float, float], ...], apart: int, tmp_path: Path
) -> None:
    pdf = flats(Pdf(), *faces, (100.0, 100.0))
    (tmp_path / "all.pdf").write_bytes(pdf.bytes())
    shipped = tuple(load_spec(name) for name in spec_names())
    assert len(pages_apart(open_art(tmp_path / "all.pdf"), shipped)) == apart


def test_one_flat_is_recognised_by_its_size(tmp_path: Path) -> None:
    flat = flat_pdf(tmp_path / "flat.pdf", 630.0, 650.25)
    (result,) = inspect(flat, settings=QUICK).parts
    assert result.spec == "gatefold-12in-flat"
    # Two flaps of 313 x 25 mm in solid magenta less 3 mm of overlap; the pixels are coarse.
    (inked,) = [f for f in result.findings if f.check == "flap.inked"]
    assert inked.measured == pytest.approx(2 * 313 * 22, rel=0.07)
