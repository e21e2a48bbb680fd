"""The sample art as files: `sample_art/make.py` writes what is committed, and it stays small."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageChops
from pypdf import PdfReader
from pypdf.generic import StreamObject

ART = Path(__file__).parents[1] / "sample_art"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample_art")
    subprocess.run([sys.executable, str(ART / "make.py"), str(folder)], check=True)
    return folder


def substance(path: Path) -> object:
    """Return what a file holds once unpacked, since packed bytes vary with zlib's version."""
    data = path.read_bytes()
    if path.suffix != ".pdf" or path.name in ("locked.pdf", "encrypted.pdf", "damaged.pdf"):
        return data if path.suffix in (".toml", ".svg") else len(data) > 0
    if not data.startswith(b"%PDF"):
        return data
    reader = PdfReader(path)
    objects = [reader.get_object(number) for number in range(1, len(reader.xref[0]) + 1)]
    return [
        item.get_data() if isinstance(item, StreamObject) and item.get("/Subtype") != "/Image"
        else type(item).__name__
        for item in objects
    ]  # fmt: skip


def pictures(path: Path) -> list[Image.Image]:
    if path.suffix in (".jpg", ".tif"):
        return [Image.open(path)]
    if path.suffix != ".pdf" or path.name in ("damaged.pdf", "empty.pdf", "wrong-kind.pdf"):
        return []
    reader = PdfReader(path)
    if reader.is_encrypted:
        return []
    return [image.image for page in reader.pages for image in page.images if image.image]


def test_the_committed_files_are_what_the_script_writes(made: Path) -> None:
    """Byte for byte with the same libraries; with other versions, the same once unpacked."""
    written = sorted(p.relative_to(made) for p in made.rglob("*") if p.is_file())
    for name in written:
        old, new = ART / name, made / name
        if old.read_bytes() == new.read_bytes():
            continue
        assert substance(old) == substance(new), name
        for before, after in zip(pictures(old), pictures(new), strict=True):
            assert before.size == after.size, name
            differ = np.asarray(ImageChops.difference(before, after), np.float64)
            assert differ.mean() < 0.5, name
    folders = {name.parts[0] for name in written if len(name.parts) > 1}
    committed = {p for folder in folders for p in (ART / folder).iterdir()}
    assert {ART / name for name in written} == {*committed, ART / "manifest.toml"}


def test_sample_art_stays_small() -> None:
    assert sum(p.stat().st_size for p in ART.rglob("*") if p.is_file()) < 20e6
