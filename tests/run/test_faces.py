"""Faces of one piece that come as files of their own, as pages of one file, or as one flat."""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.errors import OrderError
from prepcheck.findings import PartResult
from prepcheck.run.examine import inspect
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


def test_one_flat_is_recognised_by_its_size(tmp_path: Path) -> None:
    flat = flat_pdf(tmp_path / "flat.pdf", 630.0, 650.25)
    (result,) = inspect(flat, settings=QUICK).parts
    assert result.spec == "gatefold-12in-flat"
    # Two flaps of 313 x 25 mm in solid magenta less 3 mm of overlap; the pixels are coarse.
    (inked,) = [f for f in result.findings if f.check == "flap.inked"]
    assert inked.measured == pytest.approx(2 * 313 * 22, rel=0.07)
