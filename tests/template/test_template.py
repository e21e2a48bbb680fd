"""Templates: boxes, layers and lines, read back by programs and libraries that are not ours.

Sizes are worked by hand from the shipped specs; the names of processing steps are those of
ISO 19593-1 as a public machine-readable model of PDF lists them.
"""

from __future__ import annotations

import shutil
import subprocess
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pypdfium2
import pypdfium2.raw
import pytest
from click.testing import CliRunner, Result
from PIL import Image
from pypdf import PdfReader

from prepcheck.cli import cli
from prepcheck.errors import ExitCode
from prepcheck.spec.load import load_spec, spec_names

MM = 25.4 / 72
SIZES = {
    "label-12in": [(100, 100)],
    "label-7in": [(92, 92)],
    "label-7in-large-hole": [(92, 92)],
    "sticker-round-50mm": [(50, 50)],
    "sticker-square-50mm": [(50, 50)],
    "jacket-7in": [(184 + 3 + 184, 184)],
    "jacket-12in": [(315 + 3 + 315, 315)],
    "jacket-12in-2disc": [(315 + 5 + 315, 315)],
    "jacket-12in-flaps": [(312.74 + 4.09 + 312.74, 314.63 + 2 * 19.05)],
    "gatefold-12in": [(315 + 6 + 315, 315), (314.5 + 6 + 314.5, 314.5)],
    "gatefold-12in-flat": [(313 + 4 + 313, 312.25 + 313 + 25)],
    "gatefold-7in-flat": [(183 + 4 + 183, 183.5 + 184 + 20)],
    "inner-7in": [(177.8, 177.8)] * 2,
    "insert-12in": [(279.4, 279.4)] * 2,
    "obi-12in": [(30 + 3 + 60, 315)],
}
STRUCTURAL = {"Cutting", "Drilling", "Creasing", "Gluing", "InkFree", "Bleed"}
POSITIONS = {"ContentArea", "Barcode"}
SVG = "{http://www.w3.org/2000/svg}"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, [str(arg) for arg in args], prog_name="prepcheck")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("templates")
    assert run("template", "--all", "--out", out).exit_code == 0
    assert run("template", "--all", "--format", "svg", "--out", out).exit_code == 0
    return out


def test_every_spec_has_a_template(folder: Path) -> None:
    assert {path.name for path in folder.glob("*.pdf")} == {
        f"{name}-template.pdf" for name in spec_names()
    }


@pytest.mark.parametrize("name", SIZES)
def test_boxes_are_exact(folder: Path, name: str) -> None:
    reader = PdfReader(folder / f"{name}-template.pdf")
    assert reader.pdf_header == "%PDF-1.7"
    assert len(reader.pages) == len(SIZES[name])
    for page, (width, height) in zip(reader.pages, SIZES[name], strict=True):
        trim, bleed, media = page.trimbox, page.bleedbox, page.mediabox
        assert float(trim.width) * MM == pytest.approx(width, abs=1e-4)
        assert float(trim.height) * MM == pytest.approx(height, abs=1e-4)
        for inner, outer, by in (
            (trim.left, bleed.left, 3), (trim.bottom, bleed.bottom, 3),
            (bleed.right, trim.right, 3), (bleed.top, trim.top, 3),
        ):  # fmt: skip
            assert (float(inner) - float(outer)) * MM == pytest.approx(by, abs=1e-4)
        assert float(media.left) < float(bleed.left)
        assert float(media.right) > float(bleed.right)
        assert float(media.top) > float(bleed.top)


@pytest.mark.parametrize("name", spec_names())
def test_layers_carry_the_steps_of_the_standard(folder: Path, name: str) -> None:
    catalog = PdfReader(folder / f"{name}-template.pdf").trailer["/Root"]
    properties = catalog["/OCProperties"]
    groups = {str(ref.get_object()["/Name"]): ref.get_object() for ref in properties["/OCGs"]}
    locked = {str(ref.get_object()["/Name"]) for ref in properties["/D"]["/Locked"]}
    assert set(groups) - locked == {"Art"}
    assert "/GTS_Metadata" not in groups["Art"]
    kinds = set()
    for layer in locked:
        metadata = groups[layer]["/GTS_Metadata"]
        group, kind = metadata["/GTS_ProcStepsGroup"], metadata.get("/GTS_ProcStepsType")
        if group == "/Structural":
            assert kind[1:] in STRUCTURAL
        elif group == "/Positions":
            assert kind[1:] in POSITIONS
        else:
            assert group in ("/Legend", "/Dimensions")
            assert kind is None
        kinds.add(kind)
        usage = groups[layer]["/Usage"]
        assert usage["/Print"]["/PrintState"] == "/OFF"
        assert usage["/View"]["/ViewState"] == "/ON"
    spec = load_spec(name)
    outline = spec.outline_of()
    assert ("/Drilling" in kinds) == (spec.hole is not None)
    assert ("/Creasing" in kinds) == bool(outline.folds)
    assert ("/Gluing" in kinds) == any(panel.kind == "flap" for panel in outline.panels)
    assert {"/Cutting", "/Bleed", "/ContentArea"} <= kinds
    assert ("/Barcode" in kinds) == (name.startswith(("jacket", "gatefold")))


def test_each_guide_is_a_spot_of_its_own_and_overprints(folder: Path) -> None:
    page = PdfReader(folder / "gatefold-12in-flat-template.pdf").pages[0]
    spaces = page["/Resources"]["/ColorSpace"].values()
    assert {"/" + name for name in (STRUCTURAL - {"Drilling"}) | POSITIONS} | {
        "/Legend", "/Dimensions",
    } == {space.get_object()[1] for space in spaces}  # fmt: skip
    assert all(space.get_object()[0] == "/Separation" for space in spaces)
    states = [state.get_object() for state in page["/Resources"]["/ExtGState"].values()]
    assert any(s.get("/OP") and s.get("/op", True) for s in states)


@pytest.mark.outside
@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="poppler is not installed")
def test_poppler_draws_each_ring_where_the_spec_has_it(folder: Path, tmp_path: Path) -> None:
    """100 mm trim, 3 mm bleed and safety, 7.24 mm hole, 4.4 mm round it: by the spec's table."""
    ppi = 600
    path = folder / "label-12in-template.pdf"
    subprocess.run(["pdftoppm", "-r", str(ppi), "-png", path, tmp_path / "p"], check=True)
    pixels = np.asarray(Image.open(tmp_path / "p-1.png").convert("L"), np.float64)
    page = PdfReader(path).pages[0]
    scale = ppi / 72
    x = (float(page.trimbox.left) + float(page.trimbox.width) / 2) * scale
    y = (float(page.mediabox.height) - float(page.trimbox.bottom)) * scale
    y -= float(page.trimbox.height) / 2 * scale
    radius = np.arange(2.0, 54.0, 0.02)
    angle = np.linspace(0, 2 * np.pi, 1440, endpoint=False)
    at = np.stack((np.outer(radius, np.cos(angle)), -np.outer(radius, np.sin(angle))))
    column = (x + at[0] * ppi / 25.4).astype(int)
    row = (y + at[1] * ppi / 25.4).astype(int)
    ink = 255 - pixels[row, column].mean(axis=1)
    for wanted in (3.62, 3.62 + 4.4, 47.0, 50.0, 53.0):
        near = np.abs(radius - wanted) < 0.4
        weight = ink[near] - ink[near].min()
        assert (radius[near] * weight).sum() / weight.sum() == pytest.approx(wanted, abs=0.02)


def test_guides_show_on_screen_and_do_not_print(folder: Path) -> None:
    """PDFium knows both events of a viewer: looking at a page, and printing it."""
    document = pypdfium2.PdfDocument(folder / "jacket-7in-template.pdf")
    inked = {}
    for printing in (True, False):
        flags = pypdfium2.raw.FPDF_PRINTING if printing else 0
        bitmap = document[0].render(scale=0.7, extra_flags=flags)
        inked[printing] = int((bitmap.to_numpy() < 200).sum())
    assert inked[False] > 1000
    assert inked[True] == 0


@pytest.mark.parametrize("name", ["label-12in", "sticker-round-50mm", "label-7in-large-hole"])
def test_svg_is_in_mm_with_the_same_layers(folder: Path, name: str) -> None:
    root = ET.parse(folder / f"{name}-template.svg").getroot()
    width, height = (root.get(key, "") for key in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {width.removesuffix('mm')} {height.removesuffix('mm')}"
    groups = [group.get(LABEL) for group in root.findall(f"{SVG}g")]
    assert groups[0] == "Art"
    catalog = PdfReader(folder / f"{name}-template.pdf").trailer["/Root"]
    assert groups == [str(ref.get_object()["/Name"]) for ref in catalog["/OCProperties"]["/OCGs"]]
    (cut,) = root.iterfind(f"{SVG}g[@id='Cutting']/{SVG}circle")
    (trim_width, _), = SIZES[name]  # fmt: skip
    assert float(cut.get("r", "0")) == trim_width / 2
    bleed = root.find(f"{SVG}g[@id='Bleed']/{SVG}circle")
    assert bleed is not None
    assert float(bleed.get("r", "0")) == trim_width / 2 + 3


def test_svg_of_a_folded_piece(folder: Path) -> None:
    root = ET.parse(folder / "jacket-12in-template.svg").getroot()
    (cut,) = root.iterfind(f"{SVG}g[@id='Cutting']/{SVG}polygon")
    corners = np.array([pair.split(",") for pair in cut.get("points", "").split()], float)
    assert np.ptp(corners, axis=0) == pytest.approx((633, 315))
    folds = [
        np.array([pair.split(",") for pair in line.get("points", "").split()], float)
        for line in root.iterfind(f"{SVG}g[@id='Creasing']/{SVG}polyline")
    ]
    assert sorted(fold[0, 0] - corners[:, 0].min() for fold in folds) == pytest.approx([315, 318])


def test_the_same_bytes_every_time(folder: Path, tmp_path: Path) -> None:
    for ending in ("pdf", "svg"):
        name = f"label-12in-template.{ending}"
        run("template", "label-12in", "--format", ending, "--out", tmp_path)
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes()
        assert run("template", "label-12in", "--format", ending, "--out", tmp_path).exit_code == 0
        with (tmp_path / name).open("ab") as file:  # drawn on, it is no longer ours
            file.write(b"%")
        assert run("template", "label-12in", "--format", ending, "--out", tmp_path).exit_code == 2


# Spines


def test_the_spine_follows_the_discs(tmp_path: Path) -> None:
    result = run("template", "jacket-12in", "--discs", "3", "--out", tmp_path)
    assert result.exit_code == 0
    (page,) = PdfReader(tmp_path / "jacket-12in-spine-7mm-template.pdf").pages
    assert float(page.trimbox.width) * MM == pytest.approx(637, abs=1e-3)
    assert load_spec(tmp_path / "jacket-12in-spine-7mm.toml").outline_of().bounds.width == 637


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["jacket-12in", "--discs", "4"], "no spine is known for 4 discs"),
        (["jacket-12in", "--spine-mm", "4.5"], "no source supports a spine of 4.5 mm"),
        (["jacket-12in", "--spine-mm", "4", "--discs", "2"], "for 2 discs no source supports"),
        (["label-12in", "--discs", "2"], "the piece has no spine"),
        ([], "nothing to draw"),
        (["label-12in", "--all"], "name no SPEC beside it"),
        (["label-12"], "did you mean label-12in"),
        (["label-12in", "label-7in", "--out", "both.pdf"], "name a folder"),
        (["label-12in", "--format", "pdf", "--out", "x.svg"], "say --format svg"),
    ],
)
def test_what_cannot_be_drawn(
    args: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run("template", *args)
    assert result.exit_code == ExitCode.USAGE
    assert said in result.stderr
    assert list(tmp_path.iterdir()) == []
