"""Spines: type in the middle, the right way round, small enough, and the width itself."""

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from prepcheck.art.facts import DocumentFacts, Layer
from prepcheck.art.model import Content
from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Box
from prepcheck.measure.trim import TrimRule
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import (
    BLACK,
    box_cover,
    box_path,
    examine,
    findings,
    label_spec,
    make_exam,
    path,
    placed,
    scene,
)
from tests.checks.folded import exam_of_file, folded_exam, folded_spec, letters, line, order_of
from tests.factories import Pdf, Stream

FONT = Path(__file__).parents[2] / "sample_art" / "fonts" / "Jost-SemiBold.ttf"

SPINE_CHECKS = ("spine.off-centre", "spine.direction", "spine.too-narrow", "spine.width")


@pytest.mark.parametrize("check", SPINE_CHECKS)
def test_a_label_has_no_spine(check: str) -> None:
    said = examine(check, make_exam(label_spec()))
    assert [item.why for item in said if isinstance(item, NotApplicable)] == [
        "the piece has no spine"
    ]


@pytest.mark.parametrize("check", SPINE_CHECKS[:3])
def test_a_bare_spine_carries_no_type(check: str) -> None:
    said = examine(check, folded_exam(letters(Box(10, 0, 20, 3))))
    assert [item.why for item in said if isinstance(item, NotApplicable)] == [
        "no type stands on the spine"
    ]


def spine_type(off: float = 0.0, size: float = 1.2, top: str = "right") -> Box:
    return Box(off - size / 2, -20, off + size / 2, 20)


# 0.5 mm off is wanted at most, 1 mm allowed, judged with 0.1 mm of measuring tolerance.
@pytest.mark.parametrize(
    ("off", "severity"),
    [
        (0.0, None),
        (0.58, None),
        (0.62, Severity.QUERY),
        (-1.08, Severity.QUERY),
        (1.12, Severity.STOP),
    ],
)
def test_off_centre(off: float, severity: Severity | None) -> None:
    exam = folded_exam(letters(spine_type(off), top="right"))
    found = findings("spine.off-centre", exam)
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    if found:
        assert found[0].measured == pytest.approx(abs(off), abs=0.01)
        toward, back = ("front", "back") if off > 0 else ("back", "front")
        assert f"towards the {toward}" in found[0].message
        assert found[0].fix.endswith(f"towards the {back}.")


def test_several_lines_are_centred_together() -> None:
    runs = (
        letters(Box(-0.6, 5, 0.2, 20), top="right"),
        letters(Box(-0.2, -20, 0.6, -5), top="right"),
    )
    assert findings("spine.off-centre", folded_exam(*runs)) == []


def test_a_headline_across_the_spine_is_none_of_its_type() -> None:
    headline = letters(Box(-10.2, 20, 9.8, 28), count=8)
    alone = examine("spine.off-centre", folded_exam(headline))
    assert isinstance(alone[0], NotApplicable)
    both = folded_exam(headline, letters(spine_type(0.2), top="right"))
    (said, _) = examine("spine.off-centre", both)
    assert said.measured == pytest.approx(0.2)  # type: ignore[union-attr]


def test_a_headline_set_letter_by_letter_across_the_spine_is_none_of_its_type() -> None:
    apart = [letters(Box(x, 20, x + 2, 23)) for x in (-11.0, -8.6, -6.2, -3.8, -1.1, 1.6, 4.0)]
    assert isinstance(examine("spine.too-narrow", folded_exam(*apart))[0], NotApplicable)
    both = folded_exam(*apart, letters(spine_type(0.2), top="right"))
    (said, _) = examine("spine.off-centre", both)
    assert said.measured == pytest.approx(0.2)  # type: ignore[union-attr]


def test_outlined_type_is_measured_as_it_is_drawn() -> None:
    stems = tuple(
        path([(0.3, y), (1.3, y), (1.3, y + 0.4), (0.8, y + 0.6), (0.3, y + 0.4), (0.2, y)],
             fill=BLACK)
        for y in range(-10, 10, 2)
    )  # fmt: skip
    (found,) = findings("spine.off-centre", folded_exam(paths=stems))
    assert found.measured == pytest.approx(0.75, abs=0.01)
    said = examine("spine.direction", folded_exam(paths=stems))
    assert [type(item) for item in said] == [NotApplicable]


@pytest.mark.parametrize(
    ("top", "reads", "wrong"),
    [
        ("right", "from top to bottom", False),
        ("left", "from bottom to top", True),
        ("up", "upright", False),
    ],
)
def test_direction(top: str, reads: str, wrong: bool) -> None:
    exam = folded_exam(letters(spine_type(), top=top))
    (said,) = examine("spine.direction", exam)
    assert isinstance(said, Finding if wrong else Clear)
    assert said.measured == reads
    if isinstance(said, Finding):
        assert said.severity is Severity.QUERY


# A spine of 3 mm less twice 0.5 mm has room for 2 mm; tolerance 0.1 mm.
@pytest.mark.parametrize(("size", "stops"), [(1.9, False), (2.08, False), (2.12, True)])
def test_too_narrow(size: float, stops: bool) -> None:
    exam = folded_exam(letters(spine_type(size=size), top="right"))
    found = findings("spine.too-narrow", exam)
    assert [(f.severity, f.measured, f.required) for f in found] == (
        [(Severity.STOP, pytest.approx(size), 2.0)] if stops else []
    )


def creased(width: float, step: tuple[str, str] = ("Structural", "Creasing")) -> dict[str, object]:
    paths = tuple(
        path(line(x, -30, x, 30), stroke=BLACK, stroke_mm=0.1, closed=False, layer="Creases")
        for x in (-width / 2, width / 2)
    )
    return {
        "paths": paths,
        "document": DocumentFacts(layers=(Layer("Creases", True, True, step),)),
    }


# One disc 3 to 4.1 mm, two discs 5 mm, 0.5 mm tolerance and 0.1 mm of measuring tolerance.
@pytest.mark.parametrize(
    ("width", "discs", "stops"),
    [
        (2.38, 1, True),
        (2.42, 1, False),
        (4.68, 1, False),
        (4.72, 1, True),
        (3.0, 2, True),
        (5.0, 2, False),
    ],
)
def test_width_by_creases(width: float, discs: int, stops: bool) -> None:
    exam = folded_exam(order=order_of(discs), **creased(width))  # type: ignore[arg-type]
    found = findings("spine.width", exam)
    assert [f.measured for f in found] == ([pytest.approx(width)] if stops else [])
    if found:
        assert found[0].severity is Severity.STOP
        assert len(found[0].where) == 2


def test_creases_on_a_hidden_layer_count_and_cut_lines_do_not() -> None:
    given = creased(5.0)
    hidden = Content(paths=given["paths"])  # type: ignore[arg-type]
    exam = folded_exam(order=order_of(1), document=given["document"], hidden=hidden)  # type: ignore[arg-type]
    assert [f.measured for f in findings("spine.width", exam)] == [5.0]
    cut = folded_exam(order=order_of(1), **creased(5.0, ("Structural", "Cutting")))  # type: ignore[arg-type]
    assert findings("spine.width", cut) == []


@pytest.mark.parametrize(("width", "stops"), [(3.2, False), (5.0, True)])
def test_width_by_colour(width: float, stops: bool) -> None:
    half = width / 2
    view = scene(
        (box_cover(Box(-70, -40, 70, 40)), 0.3), (box_cover(Box(-half, -40, half, 40)), 1.0)
    )
    found = findings("spine.width", make_exam(folded_spec(), view=view, order=order_of(1)))
    assert [f.measured for f in found] == ([pytest.approx(width, abs=0.05)] if stops else [])


def test_width_by_trim_against_the_discs_of_the_order() -> None:
    spec = folded_spec()
    (found,) = findings("spine.width", make_exam(spec, order=order_of(2)))
    assert (found.measured, found.required) == (3.0, "5.0 mm")
    assert findings("spine.width", make_exam(spec, order=order_of(1))) == []
    assert findings("spine.width", make_exam(spec)) == []
    (said, _) = examine("spine.width", make_exam(spec, order=order_of(3)))
    assert isinstance(said, NotApplicable)


def test_an_unknown_trim_shows_no_spine() -> None:
    spec = folded_spec()
    place = placed(spec.outline_of(), Box(0, 0, 129, 66), found_by=TrimRule.BEST_FIT)
    said = examine("spine.width", make_exam(spec, placement=place, order=order_of(1)))
    assert isinstance(said[0], NotApplicable)


def jacket(tmp_path: Path, turn: int, x: float, layer: bool = False) -> Path:
    """Write a jacket with "HHHH" turned on its spine; baseline at `x`, the spine from 63 to 66."""
    pdf = Pdf()
    face = TTFont(FONT)
    width = face["hmtx"]["H"][0] * 1000 / face["head"].unitsPerEm
    descriptor = pdf.add({
        "Type": "FontDescriptor", "FontName": "Jost-SemiBold", "Flags": 32,
        "FontBBox": [-200, -300, 1200, 1000], "ItalicAngle": 0, "Ascent": 1000, "Descent": -300,
        "CapHeight": 700, "StemV": 100, "FontFile2": pdf.add(Stream(FONT.read_bytes())),
    })  # fmt: skip
    font = pdf.add({
        "Type": "Font", "Subtype": "TrueType", "BaseFont": "Jost-SemiBold", "FirstChar": 72,
        "LastChar": 72, "Widths": [width], "Encoding": "WinAnsiEncoding",
        "FontDescriptor": descriptor,
    })  # fmt: skip
    matrix = f"0 -1 1 0 {x} 50" if turn < 0 else f"0 1 -1 0 {x} 16"
    content = f"BT 0 0 0 1 k /F 2 Tf {matrix} Tm (HHHH) Tj ET"
    resources: dict[str, object] = {"Font": {"F": font}}
    if layer:
        group = pdf.add({
            "Type": "OCG", "Name": b"Creases",
            "GTS_Metadata": {"GTS_ProcStepsGroup": "Structural", "GTS_ProcStepsType": "Creasing"},
        })  # fmt: skip
        pdf.catalog["OCProperties"] = {"OCGs": [group], "D": {"Order": [group], "ON": [group]}}
        resources["Properties"] = {"L": group}
        content += "\n/OC /L BDC 0 0 0 1 K 0.1 w 62 3 m 62 63 l 67 3 m 67 63 l S EMC"
    pdf.page(content, (129, 66), trim_mm=(3, 3, 126, 63), resources=resources)
    file = tmp_path / "jacket.pdf"
    file.write_bytes(pdf.bytes())
    return file


def test_type_turned_on_the_spine_of_a_pdf(tmp_path: Path) -> None:
    face = TTFont(FONT)
    half = face["glyf"]["H"].yMax / face["head"].unitsPerEm * 2 / 2  # of a letter at 2 mm
    down = exam_of_file(jacket(tmp_path, -1, 64.5 - half), folded_spec())
    for check in SPINE_CHECKS:
        assert findings(check, down) == []
    up = exam_of_file(jacket(tmp_path, 1, 64.5 + half), folded_spec())
    assert [f.measured for f in findings("spine.direction", up)] == ["from bottom to top"]
    (off,) = findings("spine.off-centre", exam_of_file(jacket(tmp_path, -1, 64.5), folded_spec()))
    assert off.measured == pytest.approx(half, abs=0.02)


def test_creases_on_a_processing_steps_layer_of_a_pdf(tmp_path: Path) -> None:
    exam = exam_of_file(jacket(tmp_path, -1, 64, layer=True), folded_spec(), order_of(1))
    assert [f.measured for f in findings("spine.width", exam)] == [pytest.approx(5.0, abs=0.01)]


def test_a_ground_on_the_spine_is_no_type() -> None:
    exam = folded_exam(paths=(box_path(Box(-1.5, -20, 1.0, 20), fill=BLACK),))
    assert findings("spine.off-centre", exam) == []
