"""Names of old files: what Python's own character sets put into bytes is read back."""

from pathlib import Path

import pytest

from prepcheck.art.name_bytes import decoded
from prepcheck.art.open import open_art
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate.plates import make_plates
from prepcheck.sheets.guide_names import named_as_guide
from tests.factories import Raw, one_page

WRITTEN = {
    "cp1252": (
        "Découpe", "Größe", "Línea de corte", "PERFURAÇÃO", "Schnittgröße ÄÖÜ", "DÉCOUPE À VIF",
        "Skärlinje", "SÉCURITÉ", "Rød", "Weiß", "ÀÉ", "Pliage – été", "Brand™", "Dorée n° 3",
    ),
    "mac-roman": ("Découpe", "Größe", "Línea de corte", "PERFURAÇÃO", "Skärlinje", "Blå", "Été"),
    "gbk": ("刀线", "模切", "出血线", "金色", "烫金", "潘通 871 C", "（刀版）"),
    "shift-jis": ("抜き型", "ダイライン", "カット 1", "特色1", "折り線"),
    "utf-8": ("Découpe", "抜き型", "刀线", "Вырубка", "Ořez"),
}  # fmt: skip


@pytest.mark.parametrize("charset", WRITTEN)
def test_names_are_read_as_they_were_written(charset: str) -> None:
    names = WRITTEN[charset]
    assert [decoded(name.encode(charset)) for name in names] == [*names]


@pytest.mark.parametrize(
    ("name", "charset"), [("Ořez", "cp1250"), ("Linia cięcia", "cp1250"), ("Вырубка", "cp1251")]
)
def test_a_guide_is_told_in_a_set_that_the_file_does_not_name(name: str, charset: str) -> None:
    assert named_as_guide(decoded(name.encode(charset)))


@pytest.mark.parametrize("name", ["Façade", "Crème brûlée", "Rød", "Grün", "Bleu foncé", "Doré"])
def test_an_ink_with_accents_is_no_guide(name: str) -> None:
    assert not named_as_guide(decoded(name.encode("cp1252")))


@pytest.mark.parametrize("name", [b"D\xe9coupe", b"D#E9coupe", b"D\x8ecoupe", b"D\xc3\xa9coupe"])
def test_a_spot_named_in_an_old_set_is_painted_and_shown(name: bytes, tmp_path: Path) -> None:
    slashed = Raw("/" + name.decode("latin-1"))
    tint = {"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [0] * 4, "C1": [0, 1, 0, 0]}
    space = ["Separation", slashed, "DeviceCMYK", tint]
    content = b"/" + name + b" cs 1 scn 2 2 6 6 re f"
    path = tmp_path / "art.pdf"
    path.write_bytes(one_page(content, (10, 10), resources={"ColorSpace": {slashed: space}}))
    page = open_art(path).pages[0]
    plates = make_plates(page, Affine.identity(), Box(0, 0, 10, 10), 72)
    assert plates.inks[4:] == ("Découpe",)
    assert plates.plate("Découpe").max() == 255
