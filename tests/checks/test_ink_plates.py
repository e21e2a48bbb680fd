"""What plates carry against what the order pays for."""

import math
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from prepcheck.art.model import Content
from prepcheck.geometry import Box
from prepcheck.measure.ink import carried
from prepcheck.said import Clear, Measured, NotApplicable
from tests.checks.exams import (
    box_cover,
    disc_cover,
    examine,
    findings,
    label_spec,
    make_exam,
    plate_scene,
)
from tests.checks.inked import box, ink_spec, label, ordered
from tests.checks.pictures import RGB, picture
from tests.factories import disc_path

CHECK = "ink.plates"
INKS = ("Cyan", "Magenta", "Yellow", "Black", "Gold")
FACE = box_cover(Box(-30, 10, 30, 30), 0.0, 0.25)


def exam_of(*shapes, part=None, named=(), inks=INKS, **options):
    return make_exam(
        ink_spec(),
        plates=plate_scene(*shapes, inks=inks, **options),
        part=part,
        content=Content(inks=named),
    )


def dot(area: float, **inks: float):
    return disc_cover(math.sqrt(area / math.pi), (0, -25), 0.05), inks


@pytest.mark.parametrize(("area", "found"), [(1, True), (2.8, True), (3.2, False), (20, False)])
def test_a_plate_with_almost_nothing_on_it(area: float, found: bool) -> None:
    exam = exam_of((FACE, {"Black": 50}), dot(area, Gold=100), pitch=0.1)
    said = findings(CHECK, exam)
    assert [f.severity for f in said] == (["query"] if found else [])
    for finding in said:
        assert finding.measured == pytest.approx(area, rel=0.06)
        assert finding.where[0].box.centre == pytest.approx((0, -25), abs=0.4)
        assert "Gold" in finding.message


def test_tints_count_as_the_solid_they_add_up_to() -> None:
    exam = exam_of((FACE, {"Black": 50}), dot(12, Gold=20), pitch=0.1)
    assert [f.measured for f in findings(CHECK, exam)] == [pytest.approx(2.4, rel=0.06)]


def test_a_plate_under_a_misspelt_name_is_not_called_empty() -> None:
    exam = exam_of(
        (FACE, {"LFR Rsut": 50}), part=ordered("LFR Rust"), named=("LFR Rsut",), inks=("LFR Rsut",)
    )
    assert findings(CHECK, exam) == []


def test_a_plate_paid_for_and_empty() -> None:
    exam = exam_of((FACE, {"Black": 50}), part=ordered("Black", "Gold"))
    (finding,) = findings(CHECK, exam)
    assert (finding.severity, finding.measured, finding.required) == (
        "query", "Black", "Black and Gold",
    )  # fmt: skip
    (finding,) = findings(CHECK, exam_of((FACE, {"Black": 50}), part=ordered("CMYK")))
    assert "Cyan, Magenta and Yellow" in finding.message


def test_spellings_of_the_order_do_not_matter() -> None:
    shapes = (FACE, {"Black": 50, "Gold": 40})
    assert findings(CHECK, exam_of(shapes, part=ordered("black", "GOLD"), named=INKS)) == []


def test_an_unpaid_plate_is_a_stop_only_where_the_file_does_not_name_the_ink() -> None:
    shapes, part = (FACE, {"Black": 50, "Gold": 40}), ordered("Black")
    assert findings(CHECK, exam_of(shapes, part=part, named=("Black", "Gold"))) == []
    (finding,) = findings(CHECK, exam_of(shapes, part=part, named=("Black",)))
    assert (finding.severity, finding.required) == ("stop", 0)
    assert finding.measured == pytest.approx(0.4 * 60 * 20, rel=0.02)


def test_what_one_conversion_lays_on_three_plates_is_one_finding() -> None:
    shapes = (FACE, {"Black": 50, "Cyan": 40, "Magenta": 30, "Yellow": 20})
    (finding,) = findings(CHECK, exam_of(shapes, part=ordered("Black"), named=("Black",)))
    assert (finding.code, finding.subject) == ("unpaid", "Cyan, Magenta and Yellow")
    assert "do not pay" not in finding.message
    assert finding.measured == pytest.approx(0.9 * 60 * 20, rel=0.02)


def test_what_a_profile_makes_of_colours_that_are_no_inks_is_told_with_those() -> None:
    plates = plate_scene((FACE, {"Black": 50, "Cyan": 40, "Magenta": 30}), inks=INKS)
    content = Content(images=(picture(space=RGB),), inks=("Black",))
    exam = make_exam(
        ink_spec(),
        plates=lambda outline: replace(plates(outline), converted_by="a profile"),
        part=ordered("Black"),
        content=content,
    )
    assert findings(CHECK, exam) == []
    assert not any(isinstance(item, Clear) for item in examine(CHECK, exam))
    (one,) = findings("colour.space", exam)
    assert (one.required, one.source) == ("Black", "the order")


def test_a_spot_lost_to_a_conversion_is_told_with_the_inks_alone() -> None:
    shapes = (FACE, {"Cyan": 40, "Magenta": 30})
    part, named = ordered("Black", "Gold"), ("Cyan", "Magenta")
    assert findings(CHECK, exam_of(shapes, part=part, named=named)) == []


def test_the_colour_of_all_plates_is_left_to_its_own_check() -> None:
    shapes = (FACE, {"Black": 50, "Cyan": 50})
    exam = exam_of(shapes, part=ordered("Black"), named=("Black", "All"))
    assert findings(CHECK, exam) == []


def test_one_fault_is_said_once() -> None:
    """A dot in an ink that is not paid for is the stop of colour.inks, no second query."""
    exam = exam_of(
        (FACE, {"Black": 50}), dot(1, Gold=100), part=ordered("Black"), named=("Black", "Gold")
    )
    assert findings(CHECK, exam) == []
    assert [f.severity for f in findings("colour.inks", exam)] == ["stop"]


def test_measured_and_clear() -> None:
    said = examine(CHECK, exam_of((box_cover(Box(-60, -60, 60, 60)), {"Cyan": 30, "Gold": 5})))
    (measured,) = [item for item in said if isinstance(item, Measured)]
    assert [text.split()[0] for text in measured.value] == ["Cyan", "Gold"]
    assert [float(text.split()[1]) for text in measured.value] == [
        pytest.approx(30, abs=0.3), pytest.approx(5, abs=0.3),
    ]  # fmt: skip
    assert any(isinstance(item, Clear) for item in said)


def test_paint_without_ink_amounts_leaves_plates_untold() -> None:
    exam = exam_of((FACE, {"Black": 50}), part=ordered("Black", "Gold"), seen=disc_cover(5))
    assert findings(CHECK, exam) == []
    said = examine(CHECK, make_exam(label_spec()))
    assert any(isinstance(item, NotApplicable) for item in said)


def test_end_to_end(tmp_path: Path) -> None:
    """A spot that is painted and then knocked out whole: named in the file, on no plate."""
    gone = box("/Gold cs 1 scn", 0, 10, 10, 10) + " " + box("0 0 0 0.5 k", -5, 5, 20, 20)
    (finding,) = findings(CHECK, label(tmp_path, gone, part=ordered("Black", "Gold")))
    assert finding.severity == "query"
    assert "Gold" in finding.message
    seen = f"{gone} {box('/Gold cs 1 scn', -30, -30, 10, 10)}"
    assert findings(CHECK, label(tmp_path, seen, part=ordered("Black", "Gold"))) == []


@pytest.mark.skipif(shutil.which("gs") is None, reason="Ghostscript is not installed")
def test_ink_areas_against_ghostscript(tmp_path: Path) -> None:
    """Ghostscript's ink_cov device tells each ink's share of the page in percent. It paints every
    pixel that a shape touches, at 600 ppi about 0.4 % more than there is of these."""
    content = " ".join((
        box("0.4 0.1 0 0 k", -30, 10, 30, 20), box("0 0.7 0.9 0.2 k", -10, 5, 25, 15),
        f"0 0 0.3 1 k {disc_path(0, -20, 12)} f", box("0.6 g", 10, -30, 12, 12),
    ))  # fmt: skip
    exam = label(tmp_path, content)
    told = subprocess.run(
        ["gs", "-q", "-dBATCH", "-dNOPAUSE", "-r600", "-sDEVICE=ink_cov", "-o", "-",
         str(tmp_path / "label.pdf")],
        check=True, capture_output=True, text=True,
    ).stdout.split()  # fmt: skip
    page_mm2 = 106.0 * 106.0
    (sheet,) = exam.sheets
    for one, percent in zip(carried(sheet.cells, sheet.cells.within(3)), told, strict=False):
        assert one.area == pytest.approx(float(percent) / 100 * page_mm2, rel=0.012), one.ink
