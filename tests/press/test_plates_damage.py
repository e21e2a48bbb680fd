"""Damaged files: plates are made or our own error is raised, never anything else."""

import random
from pathlib import Path

import pytest

from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate.plates import make_plates
from tests.press.features import FEATURES, page

MUTATIONS = 4
"""Damaged versions of each page."""


def damaged(data: bytes, rng: random.Random) -> bytes:
    """Return data with a few bytes changed, cut out, put in or doubled."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 2, 5, 20))):
        at = rng.randrange(len(out))
        match rng.randrange(4):
            case 0:
                out[at] = rng.randrange(256)
            case 1:
                del out[at : at + rng.randrange(1, 20)]
            case 2:
                out[at:at] = bytes(rng.choices(b"0123456789 /[]<>().-", k=5))
            case _:
                start = rng.randrange(len(out))
                out[at:at] = out[start : start + 40]
    return bytes(out)


@pytest.mark.parametrize("name", FEATURES)
def test_damage_is_survived_or_said(name: str, tmp_path: Path) -> None:
    rng = random.Random(name)
    for number in range(MUTATIONS):
        path = tmp_path / f"{number}.pdf"
        path.write_bytes(damaged(FEATURES[name], rng))
        said = None
        try:
            art = open_art(path).pages[0]
            make_plates(art, Affine.identity(), Box(0, 0, 50.8, 38.1), 40)
        except ArtworkError as error:
            said = str(error)
        assert said is None or path.name in said


def test_a_page_cut_short_keeps_what_came_before(tmp_path: Path) -> None:
    path = tmp_path / "art.pdf"
    path.write_bytes(page("1 0 0 0 k 0 0 144 108 re f q q /Gold cs (unended"))
    art = open_art(path).pages[0]
    plates = make_plates(art, Affine.identity(), Box(5, 5, 40, 30), 40)
    assert (plates.plate("Cyan") == 255).all()
