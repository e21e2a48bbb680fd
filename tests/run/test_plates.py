"""The command plates: files read back with another library, numbers by arithmetic."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from prepcheck.cli import cli
from prepcheck.errors import OutputError, UnreadableError, UsageError
from prepcheck.run.platemaking import write_plates
from tests.factories import Pdf, Raw

SIZE = 106.0
CENTRE = SIZE / 2
FACE_MM2 = math.pi * (50**2 - 3.62**2)
NIGHT = {
    "ColorSpace": {
        name: ["Separation", colorant, "DeviceCMYK", Raw("<< /FunctionType 2 /Domain [0 1] "
               "/C0 [0 0 0 0] /C1 [0 0.2 0.8 0.1] /N 1 >>")]
        for name, colorant in (("A", "Night Gold"), ("B", "NIGHT GOLD"))
    }
}  # fmt: skip
ART = (
    f"0.5 0 0 0 k 0 0 {SIZE} {SIZE} re f "
    f"/A cs 1 scn {CENTRE} 0 {CENTRE} {SIZE} re f "
    f"/B cs 0.2 scn 20 {CENTRE} 20 20 re f"
)
"""The left half a 50 % tint of Cyan, the right half one spot, a square of another."""


def made(folder: Path, content: str = ART, size: float = SIZE, pages: int = 1) -> Path:
    pdf = Pdf()
    for _ in range(pages):
        pdf.page(content, (size, size), resources=NIGHT)
    path = folder / "Night label.pdf"
    path.write_bytes(pdf.bytes())
    return path


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, ["plates", *map(str, args)])


def test_a_plate_is_a_tiff_whose_samples_are_ink(tmp_path: Path) -> None:
    write_plates(made(tmp_path), out=tmp_path / "out", spec="label-12in", ppi=100)
    with Image.open(tmp_path / "out" / "Night-label-cyan.tif") as picture:
        tags = picture.tag_v2
        assert tags[262] == 0  # PhotometricInterpretation, TIFF 6.0: WhiteIsZero
        assert tags[285] == "Cyan"  # PageName
        assert "255 is solid" in tags[270]
        assert (float(tags[282]), float(tags[283]), tags[296]) == (100.0, 100.0, 2)
        assert picture.size == (418, 418)  # 106 mm at 100 ppi is 417.3 pixels
        light = np.asarray(picture)  # the library turns WhiteIsZero into light
    assert light[209, 100] == pytest.approx(255 - 127.5, abs=1)
    assert light[209, 300] == 255


def test_names_of_inks_alike_but_for_case_get_files_of_their_own(tmp_path: Path) -> None:
    report, files = write_plates(made(tmp_path), out=tmp_path / "out", ppi=72)
    assert [plate.file for plate in report.pages[0].plates] == [
        "Night-label-cyan.tif",
        "Night-label-magenta.tif",
        "Night-label-yellow.tif",
        "Night-label-black.tif",
        "Night-label-night-gold.tif",
        "Night-label-night-gold-2.tif",
    ]
    assert all(file.is_file() for file in files)
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == sorted(
        file.name for file in files
    )


def test_the_table_adds_up(tmp_path: Path) -> None:
    result = run(made(tmp_path), "--spec", "label-12in", "--out", tmp_path / "out", "--ppi", "150")
    assert result.exit_code == 0
    report = json.loads((tmp_path / "out" / "Night-label-plates.json").read_text())
    assert report["schema"] == "prepcheck-plates/1"
    assert report["spec"] == "label-12in"
    page = report["pages"][0]
    assert page["face_mm2"] == pytest.approx(FACE_MM2, rel=1e-3)
    cyan, gold, square = (page["plates"][i] for i in (0, 4, 5))
    cut = 400  # the square knocks the tint out
    assert gold["percent"] == pytest.approx(50.0, abs=0.1)
    assert gold["solid_mm2"] == pytest.approx(FACE_MM2 / 2, rel=2e-3)
    assert gold["sheet_mm2"] == pytest.approx(math.pi * 53**2 / 2, rel=2e-3)
    assert square["printed_mm2"] == pytest.approx(cut, rel=0.02)
    assert square["solid_mm2"] == pytest.approx(cut * 51 / 255, rel=0.02)
    assert cyan["solid_mm2"] == pytest.approx((FACE_MM2 / 2 - cut) / 2, rel=1e-2)
    assert page["total"]["greatest_percent"] == pytest.approx(100, abs=0.5)
    assert page["total"]["limit_percent"] == 250
    assert page["total"]["over_mm2"] == 0
    assert "Night Gold" in result.stdout
    assert "50.0" in result.stdout
    assert all(len(line) <= 80 for line in result.stdout.splitlines()[:20])


def test_what_has_no_ink_amounts_is_a_file_of_its_own(tmp_path: Path) -> None:
    path = made(tmp_path, f"1 0 0 rg 20 20 30 10 re f 0 0 0 1 k {CENTRE} 60 5 5 re f")
    report, _ = write_plates(path, out=tmp_path / "out", spec="label-12in", ppi=150)
    unknown = report.pages[0].not_in_inks
    assert unknown is not None
    assert unknown.mm2 == pytest.approx(300, rel=0.05)
    with Image.open(tmp_path / "out" / unknown.file) as picture:
        assert np.asarray(picture).min() == 0


def test_a_page_of_no_known_size_is_taken_as_it_is(tmp_path: Path) -> None:
    path = made(tmp_path, "0 0 0 1 k 0 0 20 40 re f", 40.0)
    report, _ = write_plates(path, out=tmp_path / "out")
    assert report.spec is None
    page = report.pages[0]
    assert page.trim_mm == pytest.approx((40, 40), abs=0.01)
    assert page.plates[3].percent == pytest.approx(50, abs=0.2)
    assert page.total.limit_percent is None
    assert page.total.over_mm2 is None
    assert page.ppi == 300


def test_each_page_has_plates(tmp_path: Path) -> None:
    report, files = write_plates(made(tmp_path, pages=2), out=tmp_path / "out", ppi=50)
    assert [page.number for page in report.pages] == [1, 2]
    names = {file.name for file in files}
    assert {"Night-label-1-cyan.tif", "Night-label-2-ink-map.png"} <= names


def test_the_ink_map_is_a_picture_with_a_resolution(tmp_path: Path) -> None:
    write_plates(made(tmp_path), out=tmp_path / "out", spec="label-12in", ppi=100)
    with Image.open(tmp_path / "out" / "Night-label-ink-map.png") as picture:
        assert picture.info["dpi"] == pytest.approx((100, 100), abs=0.1)
        assert picture.height > picture.width - 40


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("none.pdf",), "there is no such file"),
        ((".",), "this is no art file"),
        (("Night label.pdf", "--spec", "label-13in"), "label-13in"),
        (("Night label.pdf", "--ppi", "nine"), "not a valid float"),
        (("Night label.pdf", "--ppi", "5"), "not in the range"),
        (("Night label.pdf", "--ppi", "9000"), "too fine"),
        ((), "Missing argument"),
    ],
)
def test_wrong_arguments_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...], words: str
) -> None:
    made(tmp_path)
    monkeypatch.chdir(tmp_path)
    result = run(*args)
    assert result.exit_code == 2
    assert words in result.stderr
    assert not list(tmp_path.rglob("*.tif"))


def test_damaged_art_is_no_crash(tmp_path: Path) -> None:
    path = tmp_path / "torn.pdf"
    path.write_bytes(b"%PDF-1.6\nnothing more")
    with pytest.raises(UnreadableError):
        write_plates(path, out=tmp_path / "out")
    result = run(path, "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "torn.pdf" in result.stderr
    assert list((tmp_path / "out").iterdir()) == []


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    path = made(tmp_path)
    (tmp_path / "taken").write_bytes(b"")
    with pytest.raises(OutputError, match="--out"):
        write_plates(path, out=tmp_path / "taken", ppi=50)


def test_an_order_is_no_art(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no art file"):
        write_plates(tmp_path / "order.toml", out=tmp_path)
