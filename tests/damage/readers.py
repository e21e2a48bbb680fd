"""What two independent programs make of a PDF's first page, and what prepcheck makes of it."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image

from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError
from prepcheck.geometry import Affine

PPI = 18
SECONDS = 30
NEAR = 6.0
"""Mean difference of grey (0 to 255) below which two pictures count as showing the same."""


class Read(NamedTuple):
    """One reading: the things on all pages, troubles, or the error."""

    things: int
    troubles: tuple[str, ...] = ()
    error: str = ""


def poppler(path: Path) -> Image.Image | None:
    """Return pdftoppm's picture of page 1, None where it makes none."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "page"
        _run("pdftoppm", "-r", str(PPI), "-f", "1", "-l", "1", "-png", "-singlefile", path, out)
        return _picture(out.with_suffix(".png"))


def ghostscript(path: Path) -> Image.Image | None:
    """Return Ghostscript's picture of page 1, None where it makes none."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "page.png"
        _run(
            "gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=png16m", f"-r{PPI}",
            "-dFirstPage=1", "-dLastPage=1", f"-sOutputFile={out}", path,
        )  # fmt: skip
        return _picture(out)


def _run(*command: str | Path) -> None:
    try:
        subprocess.run(command, capture_output=True, timeout=SECONDS, check=False)
    except subprocess.TimeoutExpired:
        return


def _picture(path: Path) -> Image.Image | None:
    if not path.exists() or not path.stat().st_size:
        return None
    with Image.open(path) as picture:
        return picture.convert("L")


def shown(picture: Image.Image | None, sound: Image.Image | None) -> bool:
    """Say whether a picture of a damaged file shows what the sound file's does."""
    if picture is None or sound is None or picture.size != sound.size:
        return False
    one, other = (np.asarray(each, np.float64) for each in (picture, sound))
    return bool(np.abs(one - other).mean() < NEAR)


def prepcheck(path: Path) -> Read:
    """Read all pages as a part's check does."""
    try:
        art = open_art(path)
        contents = [page.content(Affine.scale(1.0)) for page in art.pages]
    except ArtworkError as error:
        return Read(0, error=str(error))
    things = sum(len(c.paths) + len(c.images) + len(c.texts) for c in contents)
    lost = (*art.troubles, *(line for c in contents for line in c.troubles))
    return Read(things, (*art.document.troubles, *lost))
