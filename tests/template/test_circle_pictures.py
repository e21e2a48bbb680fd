"""Closing the circle with a picture: art on a template, flattened and made pixels by poppler.

Poppler shares no code with what draws templates or looks for guides. One of each kind of piece is
tried.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from prepcheck.spec.load import load_spec
from tests.template.closing import ONE_OF_EACH, drawn_on, exam_of, missed


@pytest.mark.outside
@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="poppler is not installed")
@pytest.mark.parametrize("name", ONE_OF_EACH)
def test_flattened_into_a_picture_every_line_is_found(name: str, tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    ppi = 300 if load_spec(name).outline_of().bounds.width < 200 else 200
    path.write_bytes(drawn_on(name, flattened=True))
    page = PdfReader(path).pages[0]
    subprocess.run(
        ["pdftoppm", "-r", str(ppi), "-f", "1", "-l", "1", "-singlefile", path, tmp_path / "art"],
        check=True,
    )
    left, bottom, right, top = (float(value) for value in page.bleedbox)
    high = float(page.mediabox.height)
    box = [round(v * ppi / 72) for v in (left, high - top, right, high - bottom)]
    # A pixel more on each side, so that rounding cuts no line at the edge.
    around = (box[0] - 1, box[1] - 1, box[2] + 1, box[3] + 1)
    picture = Image.open(tmp_path / "art.ppm").crop(around)
    picture.convert("CMYK").save(tmp_path / "art.tif", dpi=(ppi, ppi))
    exam = exam_of(tmp_path / "art.tif", name)
    assert missed(exam) == {}
