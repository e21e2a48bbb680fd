"""Drafting specs: there and back for every shipped spec, and templates that others draw.

The foreign templates are written here, by code that shares nothing with the reader.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.perimeterPen import PerimeterPen
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path

from prepcheck.cli import cli
from prepcheck.errors import ExitCode
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.tables import plain
from prepcheck.template.drawn_lines import DrawnLine
from prepcheck.template.roles import word_of
from prepcheck.template.svg_paths import subpaths
from tests.factories import Pdf, disc_path

SAMPLE = Path(__file__).parents[2] / "sample_art"


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, [str(arg) for arg in args], prog_name="prepcheck")


def lengths(value: Any, key: str = "") -> dict[str, float]:
    """Return every length of a spec by its place in it."""
    if isinstance(value, dict):
        inner = {f"{key}.{name}": own for name, own in value.items()}
    elif isinstance(value, list | tuple):
        inner = {f"{key}[{i}]": own for i, own in enumerate(value)}
    else:
        return {key: value} if isinstance(value, float) and key.endswith("_mm") else {}
    return {k: v for name, own in inner.items() for k, v in lengths(own, name).items()}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("templates")
    for kind in ("pdf", "svg"):
        assert run("template", "--all", "--format", kind, "--out", out).exit_code == 0
    return out


@pytest.mark.parametrize("kind", ["pdf", "svg"])
@pytest.mark.parametrize("name", spec_names())
def test_there_and_back(folder: Path, name: str, kind: str, tmp_path: Path) -> None:
    (template, *_) = sorted(folder.glob(f"{name}-template*.{kind}"), key=lambda p: -len(p.name))
    if kind == "svg" and len(load_spec(name).pages) > 1:
        template = folder / f"{name}-template-{load_spec(name).pages[0].name}.svg"
    else:
        template = folder / f"{name}-template.{kind}"
    out = tmp_path / "drafted.toml"
    result = run("draft-spec", template, "--out", out)
    assert result.exit_code == 0, result.stderr
    assert result.stderr == ""
    wanted, got = (lengths(plain(load_spec(one))) for one in (name, out))
    assert set(wanted) == set(got)
    for key, value in wanted.items():
        assert got[key] == pytest.approx(value, abs=0.02), key
    read = tomllib.loads(out.read_text())
    assert read["outline"].keys() & {"diameter_mm", "panels"}
    assert read["bleed"]["wanted_mm"] == 3.0
    assert all(words.startswith("read from the template:") for words in read["sources"].values())


def foreign_label(path: Path, rings: list[tuple[float, str]], name: str | None = None) -> Path:
    """Write a page with circles by diameter in mm, each with its dash, in a spot if named."""
    pdf = Pdf()
    content = "0.2 w\n"
    resources: dict[str, object] = {}
    if name:
        resources = {
            "ColorSpace": {
                "S": ["Separation", name, "DeviceCMYK",
                      {"FunctionType": 2, "Domain": [0, 1], "C0": [0, 0, 0, 0],
                       "C1": [0, 1, 0, 0], "N": 1}],
            }
        }  # fmt: skip
        content += "/S CS 1 SCN\n"
    for diameter, dash in rings:
        content += f"[{dash}] 0 d {disc_path(70, 80, diameter / 2)} S\n"
    pdf.page(content, (140, 160), resources=resources)
    path.write_bytes(pdf.bytes())
    return path


def test_a_label_of_bare_circles(tmp_path: Path) -> None:
    path = foreign_label(
        tmp_path / "plant.pdf",
        [(107.6, "2 1"), (101.6, ""), (95.6, "1 1"), (7.24, ""), (18, "1 1")],
    )
    result = run("draft-spec", path)
    assert result.exit_code == 0
    read = tomllib.loads(result.stdout)
    assert read["outline"]["diameter_mm"] == 101.6
    assert read["hole"]["diameter_mm"] == 7.24
    assert read["bleed"]["wanted_mm"] == 3.0
    assert read["clearance"]["trim"]["wanted_mm"] == 3.0
    assert read["clearance"]["hole"]["wanted_mm"] == 5.38
    assert "circle of 101.6 mm" in read["sources"]["outline.diameter_mm"]


def test_the_template_of_a_plant_without_layers() -> None:
    """Of the sample art: rings of 108, 101.6, 96, 20 and 7.3 mm, named in German beside them."""
    read = tomllib.loads(run("draft-spec", SAMPLE / "templates" / "plant-label.pdf").stdout)
    assert read["outline"]["diameter_mm"] == 101.6
    assert read["hole"]["diameter_mm"] == 7.3
    assert read["bleed"]["wanted_mm"] == 3.2
    assert read["clearance"]["trim"]["wanted_mm"] == 2.8
    assert read["clearance"]["hole"]["wanted_mm"] == 6.35


def test_two_trims_are_a_contradiction(tmp_path: Path) -> None:
    path = foreign_label(tmp_path / "two.pdf", [(101.6, ""), (100, ""), (7.24, "")], "Stanze")
    result = run("draft-spec", path)
    assert result.exit_code == ExitCode.USAGE
    assert "2 lines claim to be the trim" in result.stderr
    assert result.stdout == ""


def test_nothing_recognised(tmp_path: Path) -> None:
    pdf = Pdf()
    pdf.page("0.2 w 10 10 m 20 20 l S", (100, 100))
    path = tmp_path / "bare.pdf"
    path.write_bytes(pdf.bytes())
    result = run("draft-spec", path)
    assert result.exit_code == ExitCode.USAGE
    assert "no piece was recognised; seen: 1 line, of them 0 circles" in result.stderr
    assert len(result.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("role", "names"),
    [
        ("trim", "Cut line|Die|Stanze|Schneidlinie|Découpe|Trait de coupe|Línea de corte|Troquel|"
                 "Fustella|Taglio|Snijlijn|Stanslijn|Wykrojnik|Linia cięcia|"
                 "Výsek|Ořez|トリム|抜き型"),
        ("bleed", "Bleed|Anschnitt|Fond perdu|Sangrado|Abbondanza|Afloop|Spad|Spadávka|塗り足し"),
        ("fold", "Fold|Crease|Falz|Rilllinie|Pli|Rainage|Plegado|Piega|Cordonatura|Vouwlijn|"
                 "Rillijn|Bigowanie|Zagięcie|Ohyb|折り線"),
        ("safe", "Safe area|Sicherheitsabstand|Sécurité|Seguridad|Sicurezza|Veiligheid|"
                 "Bezpieczny|Bezpečná zóna|安全"),
        ("glue", "Glue|Klebelasche|Collage|Cola|Colla|Lijm|Klej|Lepidlo|のり"),
    ],
)  # fmt: skip
def test_names_help_in_nine_languages(role: str, names: str) -> None:
    """Names that print shops give their layers, from memory."""
    points = np.array([(0.0, 0.0), (1.0, 0.0)])
    for name in names.split("|"):
        assert word_of(DrawnLine(points, False, False, layer=name)) == role, name


def test_what_is_no_drawing(tmp_path: Path) -> None:
    path = tmp_path / "words.pdf"
    path.write_text("hello")
    result = run("draft-spec", path)
    assert result.exit_code == ExitCode.USAGE
    assert "neither a PDF nor an SVG" in result.stderr
    assert len(result.stderr.splitlines()) == 1


JACKET = """<svg xmlns="http://www.w3.org/2000/svg" width="700mm" height="380mm"
 viewBox="0 0 1400 760"><g id="outline" fill="none" stroke="red" transform="translate(20,40)">
<rect x="0" y="0" width="1266" height="632" stroke-dasharray="6"/>
<path d="M 6 6 h 1254 v 620 h -1254 z"/>
<line x1="628" y1="-10" x2="628" y2="650" stroke-dasharray="9"/>
<line x1="638" y1="-10" x2="638" y2="650" stroke-dasharray="9"/></g></svg>"""


def test_a_foreign_jacket_in_svg(tmp_path: Path) -> None:
    """Trim of 627 × 310 mm, folds 311 and 316 mm from its left edge, worked by hand."""
    path = tmp_path / "jacket.svg"
    path.write_text(JACKET)
    result = run("draft-spec", path, "--extends", "jacket-12in")
    assert result.exit_code == 0, result.stderr
    panels = tomllib.loads(result.stdout)["outline"]["panels"]
    assert [panel["width_mm"] for panel in panels] == [311.0, 5.0, 311.0]
    assert {panel["height_mm"] for panel in panels} == {310.0}
    assert [panel["name"] for panel in panels] == ["back", "spine", "front"]


CURVES = (
    "M10 10 A 30 20 0 0 1 60 40 A 30 20 25 1 0 20 70",
    "M5,5a25 25 0 1150 0a25 25 0 11-50 0z",  # flags without anything between them
    "M0 0 Q 20 40 40 0 T 80 0 t 40 0",
    "M0 0 C 10 30 30 30 40 0 S 70 -30 80 0 s 30 30 40 0",
    "M0 0 a 1 2 30 0 0 40 10 l 5 5 T 90 20",
)


@pytest.mark.parametrize("source", CURVES)
def test_curves_of_svg_run_as_another_reader_has_them(source: str) -> None:
    """Against fontTools, whose own reader turns arcs into curves; the length of outlines too."""
    theirs = BoundsPen(None)
    parse_path(source, theirs)
    length = PerimeterPen(None, tolerance=1e-6)
    recorded = RecordingPen()
    parse_path(source, recorded)
    recorded.replay(length)
    ours = list(subpaths(source))
    corners = np.concatenate(ours)
    box = (*corners.min(axis=0), *corners.max(axis=0))
    assert box == pytest.approx(theirs.bounds, abs=0.02)
    run_along = sum(float(np.hypot(*np.diff(run, axis=0).T).sum()) for run in ours)
    assert run_along == pytest.approx(length.value, rel=2e-3)


def test_rings_drawn_as_arcs_are_circles(tmp_path: Path) -> None:
    rings = "".join(
        f'<path fill="none" stroke="#000" d="M{60 - r} 60 a{r} {r} 0 0 1 {2 * r} 0 '
        f'{r} {r} 0 0 1 {-2 * r} 0 z"{dash}/>'
        for r, dash in ((53.0, ' stroke-dasharray="2 1"'), (50.0, ""), (3.62, ""))
    )
    path = tmp_path / "arcs.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="120mm" '
        f'viewBox="0 0 120 120">{rings}</svg>'
    )
    read = tomllib.loads(run("draft-spec", path).stdout)
    assert read["outline"]["diameter_mm"] == 100.0
    assert read["hole"]["diameter_mm"] == 7.24
    assert read["bleed"]["wanted_mm"] == 3.0
    assert read["extends"] == "label-12in"  # 10-inch labels are as large; both are named
    assert "label-10in fits as well as label-12in" in run("draft-spec", path).stdout


def test_an_svg_of_several_pages_is_read_page_by_page(tmp_path: Path) -> None:
    """The inside of this gatefold has another spine; pages stand as a drawing program has them."""

    def page(x: float, spine: float) -> str:
        width = 2 * 314 + spine
        folds = "".join(
            f'<line x1="{x + at}" x2="{x + at}" y1="2" y2="320" stroke-dasharray="9"/>'
            for at in (10 + 314, 10 + 314 + spine)
        )
        return f'<rect x="{x + 10}" y="5" width="{width}" height="310"/>{folds}'

    path = tmp_path / "gatefold.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" '
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        'xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" '
        'width="700mm" height="320mm" viewBox="0 0 700 320"><sodipodi:namedview>'
        '<inkscape:page x="0" y="0" width="700" height="320" id="a"/>'
        '<inkscape:page x="800" y="0" width="700" height="320" id="b"/></sodipodi:namedview>'
        f'<g fill="none" stroke="#000">{page(0, 6)}{page(800, 4)}</g></svg>'
    )
    result = run("draft-spec", path, "--extends", "gatefold-12in")
    assert result.exit_code == 0, result.stderr
    read = tomllib.loads(result.stdout)
    assert [panel["width_mm"] for panel in read["outline"]["panels"]] == [314.0, 6.0, 314.0]
    inside = read["pages"][1]
    assert [panel["width_mm"] for panel in inside["panels"]] == [314.0, 4.0, 314.0]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"<svg", "not well-formed"),
        (b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg/>", "declares entities"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no piece was recognised"),
    ],
)
def test_bad_svg(content: bytes, said: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.svg"
    path.write_bytes(content)
    result = run("draft-spec", path)
    assert result.exit_code == ExitCode.USAGE
    assert said in result.stderr
