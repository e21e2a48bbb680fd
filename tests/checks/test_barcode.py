"""Barcodes on whole sleeves: drawn at known places and sizes, found, measured and judged.

Bars come from python-barcode and reportlab, so that no symbol is drawn by what reads it. Sizes and
quiet zones are those of the GS1 General Specifications: module 0.264, 0.330 and 0.660 mm at 80, 100
and 200 %, quiet zones of 3.63 and 2.31 mm at 100 %.
"""

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from reportlab.graphics import renderPDF
from reportlab.graphics.barcode.eanbc import Ean5BarcodeWidget, Ean13BarcodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import CMYKColor
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Finding, Status
from prepcheck.geometry import Affine, Box, Point
from prepcheck.judging.on_parts import run_checks
from prepcheck.judging.registry import all_checks
from prepcheck.measure.barcode import Kind, Symbol
from prepcheck.measure.barcode.seek import decoded
from prepcheck.order import gtin_check_digit
from prepcheck.sheets.barcodes import mark_of
from prepcheck.sheets.exam import Exam
from tests.checks.barcodes import (
    AT,
    EAN,
    FACE,
    Bars,
    add_on,
    block,
    ean13,
    examined,
    modules_of,
    pictured,
    sleeve,
    sleeve_pdf,
    spec_with_barcode,
)
from tests.checks.exams import findings, make_exam
from tests.factories import PT
from tests.truth._delivered import delivered

IDENTIFIERS = (
    "barcode.contrast",
    "barcode.digits",
    "barcode.fold",
    "barcode.mismatch",
    "barcode.missing",
    "barcode.quiet-zone",
    "barcode.resolution",
    "barcode.size",
    "barcode.truncated",
    "barcode.unreadable",
)
CHECKS = [check for check in all_checks() if check.module.startswith("barcode")]
LOCATED_MM = 0.2


def judged(exam: Exam) -> dict[str, list[Finding]]:
    """Return the findings of the barcode checks by identifier; none may crash or be silent."""
    said = run_checks(exam, CHECKS)
    assert [o for o in said.outcomes if o.status is Status.CRASHED] == []
    assert {o.check for o in said.outcomes} == set(IDENTIFIERS)
    found: dict[str, list[Finding]] = {}
    for finding in said.findings:
        found.setdefault(finding.check, []).append(finding)
        assert finding.message.endswith(".")
        assert finding.source
    return found


def symbol(exam: Exam) -> Symbol:
    ((one,),) = (found.symbols for found in exam.barcodes)
    return one


def only(found: dict[str, list[Finding]], identifier: str) -> Finding:
    """Return the one finding there is."""
    assert list(found) == [identifier]
    (finding,) = found[identifier]
    return finding


def test_a_sound_barcode_is_clear_and_measured(tmp_path: Path) -> None:
    said = run_checks(sleeve(tmp_path, Bars(ean13(EAN))), CHECKS)
    assert said.findings == ()
    assert {o.status for o in said.outcomes} == {Status.CLEAR}
    assert said.measured["barcode"] == EAN
    assert said.measured["barcode_x_mm"] == pytest.approx(0.33, abs=0.001)
    assert said.measured["barcode_height_mm"] == pytest.approx(22.85, abs=0.05)
    assert said.measured["barcode_bar_gain_mm"] == pytest.approx(0.0, abs=0.002)
    assert said.measured["barcode_contrast_grade"] == "A"


@pytest.mark.parametrize(
    ("percent", "x", "height"), [(80, 0.264, 18.28), (100, 0.33, 22.85), (200, 0.66, 45.70)]
)
def test_sizes_of_the_gs1_table_are_measured_and_allowed(
    percent: int, x: float, height: float, tmp_path: Path
) -> None:
    exam = sleeve(tmp_path, Bars(ean13(EAN), x=x, height=height))
    one = symbol(exam)
    assert one.x_mm == pytest.approx(x, abs=0.001)
    assert one.height_mm == pytest.approx(height, abs=0.05)
    assert one.width_mm == pytest.approx({80: 25.08, 100: 31.35, 200: 62.70}[percent], abs=0.05)
    found = judged(exam)
    assert not {"barcode.size", "barcode.truncated", "barcode.quiet-zone"} & found.keys()


@pytest.mark.parametrize("x", [0.264, 0.33])
@pytest.mark.parametrize("turn", [0, 7, 45, 90, 180, 263])
def test_a_turned_symbol_is_found_in_its_place(turn: float, x: float, tmp_path: Path) -> None:
    at = Point(AT.x - 3.21, AT.y + 4.567)
    bars = Bars(ean13(EAN), x=x, height=70 * x, at=at, turn=turn)
    one = symbol(sleeve(tmp_path, bars))
    about = Affine.move(-at.x, -at.y).then(Affine.turn(turn)).then(Affine.move(*at))
    for found, true in zip(one.quad, about.quad(block(bars)), strict=True):
        assert math.dist(found, true) < LOCATED_MM / 2
    assert one.digits == EAN
    assert one.x_mm == pytest.approx(x, abs=0.001)
    assert one.height_mm == pytest.approx(70 * x, abs=0.05)


@pytest.mark.parametrize("turn", [0, 31])
def test_a_small_symbol_is_found_where_the_view_is_coarse(turn: float, tmp_path: Path) -> None:
    """At 130 ppi a module of 0.264 mm is 1.4 pixels wide: too few to decode, enough to see."""
    bars = Bars(ean13(EAN), x=0.264, height=18.28, turn=turn)
    one = symbol(sleeve(tmp_path, bars, ppi=130))
    assert one.digits == EAN
    assert one.x_mm == pytest.approx(0.264, abs=0.001)


@pytest.mark.parametrize("gain", [-0.06, 0.05])
def test_gain_of_the_bars_is_told_from_their_module(gain: float, tmp_path: Path) -> None:
    one = symbol(sleeve(tmp_path, Bars(ean13(EAN), gain=gain)))
    assert one.gain_mm == pytest.approx(gain, abs=0.002)
    assert one.x_mm == pytest.approx(0.33, abs=0.001)


@pytest.mark.parametrize(
    ("x", "gain", "most"),
    [(0.33, 0.12, 0.101), (0.33, -0.13, 0.101), (0.264, 0.06, 0.035), (0.264, -0.05, 0.035)],
)
def test_bars_grown_beyond_what_print_can_make_up_for(
    x: float, gain: float, most: float, tmp_path: Path
) -> None:
    """Tolerances of 0.035 mm at 80 % and 0.101 mm at 100 % are those of the EAN manuals, from
    memory."""
    exam = sleeve(tmp_path, Bars(ean13(EAN), x=x, height=22.85, gain=gain))
    finding = only(judged(exam), "barcode.size")
    assert finding.severity == "query"
    assert finding.measured == pytest.approx(gain, abs=0.003)
    assert finding.required == pytest.approx(most, abs=0.002)
    assert ("wider" if gain > 0 else "narrower") in finding.message


@pytest.mark.parametrize(("x", "gain"), [(0.33, 0.09), (0.33, -0.09), (0.264, -0.03)])
def test_bars_grown_or_shrunk_a_little_are_clear(x: float, gain: float, tmp_path: Path) -> None:
    assert judged(sleeve(tmp_path, Bars(ean13(EAN), x=x, height=22.85, gain=gain))) == {}


def test_bars_of_a_module_without_a_tolerance_are_only_too_narrow(tmp_path: Path) -> None:
    """Below 0.229 mm the EAN manuals leave no tolerance (from memory)."""
    spec = spec_with_barcode(rules={"edge_least_mm": 0.0, "edge_wanted_mm": 0.0})
    bars = Bars(ean13(EAN), x=0.22, height=18.3, gain=0.02)
    found = judged(sleeve(tmp_path, bars, spec=spec))
    assert only(found, "barcode.size").required == 0.264


@pytest.mark.parametrize(("x", "severity"), [(0.25, "stop"), (0.7, "query")])
def test_a_module_too_narrow_or_too_wide(x: float, severity: str, tmp_path: Path) -> None:
    spec = spec_with_barcode(rules={"edge_least_mm": 0.0, "edge_wanted_mm": 0.0})
    bars = Bars(ean13(EAN), x=x, height=48.5 if x > 0.5 else 18.3)
    found = judged(sleeve(tmp_path, bars, spec=spec))
    found.pop("barcode.fold", None)
    finding = only(found, "barcode.size")
    assert finding.severity == severity
    assert finding.measured == pytest.approx(x, abs=0.001)
    assert finding.required == {"stop": 0.264, "query": 0.66}[severity]


def test_bars_too_low_at_any_size_stop_and_lower_than_their_width_wants_query(
    tmp_path: Path,
) -> None:
    low = only(judged(sleeve(tmp_path, Bars(ean13(EAN), height=20.0))), "barcode.truncated")
    assert (low.severity, low.unit) == ("query", "mm")
    assert low.measured == pytest.approx(20.0, abs=0.05)
    assert low.required == pytest.approx(22.85, abs=0.05)
    found = judged(sleeve(tmp_path, Bars(ean13(EAN), height=10.0)))
    assert sorted(found) == ["barcode.size"], "one fault, said once"
    assert [(one.code, one.required) for one in found["barcode.size"]] == [("height", 18.28)]


def test_a_barcode_set_too_small_as_a_whole_is_told_so_once(tmp_path: Path) -> None:
    # Bars of 22.85 mm belong to a module of 0.33 mm (GS1 General Specifications).
    for x in (0.2, 0.14):
        exam = sleeve(tmp_path, Bars(ean13(EAN), x=x, height=22.85 * x / 0.33), ppi=155)
        small = judged(exam)
        assert sorted(small) == ["barcode.size"]
        assert [one.code for one in small["barcode.size"]] == ["module-small"]
        assert findings("line.thin", exam) == [], "how thin its bars are has been said"
    both = judged(sleeve(tmp_path, Bars(ean13(EAN), x=0.2, height=9.0)))
    assert {one.code for one in both["barcode.size"]} == {"module-small", "height"}


def test_an_ean_8_may_be_lower(tmp_path: Path) -> None:
    bars = Bars(modules_of("ean8", "9521234"), height=18.23)
    exam = sleeve(tmp_path, bars, number=None)
    assert (symbol(exam).kind, symbol(exam).digits) == (Kind.EAN_8, "95212340")
    assert gtin_check_digit("9521234") == 0
    assert judged(exam) == {}


def test_quiet_zones_at_their_nominal_width_are_enough(tmp_path: Path) -> None:
    exam = sleeve(tmp_path, Bars(ean13(EAN), quiet=(3.63, 2.31)))
    assert symbol(exam).quiet_mm == pytest.approx((3.63, 2.31), abs=0.05)
    assert judged(exam) == {}


@pytest.mark.parametrize(
    ("quiet", "measured", "required"), [((3.1, 5.0), 3.1, 3.63), ((5.0, 1.2), 1.2, 2.31)]
)
@pytest.mark.parametrize("turn", [0, 180])
def test_a_narrow_quiet_zone_stops_the_job(
    quiet: tuple[float, float], measured: float, required: float, turn: float, tmp_path: Path
) -> None:
    exam = sleeve(tmp_path, Bars(ean13(EAN), quiet=quiet, turn=turn))
    finding = only(judged(exam), "barcode.quiet-zone")
    assert finding.severity == "stop"
    assert finding.measured == pytest.approx(measured, abs=0.05)
    assert finding.required == pytest.approx(required, abs=0.01)
    assert "GS1" in finding.source


def test_what_red_light_does_not_see_does_not_narrow_a_quiet_zone(tmp_path: Path) -> None:
    yellow = Bars(ean13(EAN), quiet=(0.5, 0.5), blocker="0 0 1 0 k")
    assert judged(sleeve(tmp_path, yellow)) == {}
    cyan = Bars(ean13(EAN), quiet=(0.5, 0.5), blocker="1 0 0 0 k")
    assert list(judged(sleeve(tmp_path, cyan))) == ["barcode.quiet-zone"]


def test_magenta_bars_need_their_quiet_zones_all_the_same(tmp_path: Path) -> None:
    bars = Bars(ean13(EAN), paint="0 1 0 0 k", quiet=(2.0, 2.0))
    found = judged(sleeve(tmp_path, bars))
    assert sorted(found) == ["barcode.contrast", "barcode.quiet-zone"]
    assert found["barcode.quiet-zone"][0].measured == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize(
    ("paint", "ground", "severity", "grade"),
    [
        ("0 1 0 0 k", None, "stop", "F"),
        ("0 0 1 0 k", None, "stop", "F"),
        ("0 0 0 0.4 k", None, "query", "C"),
        ("0 0 0 0.5 k", None, None, "B"),
        ("1 0 0 0 k", None, None, "A"),
        ("0 0 0 1 k", "0 0 1 0 k", None, "A"),
        ("0 0 0 1 k", "1 0 1 0 k", "stop", "F"),
        ("0 0 0 0 k", "0 0 0 1 k", "stop", "F"),
        ("1 0 0 rg", None, "stop", "F"),
        ("0 0 1 rg", None, None, "A"),
    ],
)
def test_contrast_is_judged_in_red_light(
    paint: str, ground: str | None, severity: str | None, grade: str, tmp_path: Path
) -> None:
    found = judged(sleeve(tmp_path, Bars(ean13(EAN), paint=paint, ground=ground)))
    assert [f.severity for f in found.pop("barcode.contrast", [])] == (
        [severity] if severity else []
    )
    said = run_checks(sleeve(tmp_path, Bars(ean13(EAN), paint=paint, ground=ground)), CHECKS)
    assert said.measured["barcode_contrast_grade"] == grade
    assert found.keys() <= {"barcode.resolution"}
    assert ("barcode.resolution" in found) == paint.endswith("rg")


def test_bars_of_several_inks_are_out_of_register(tmp_path: Path) -> None:
    finding = only(
        judged(sleeve(tmp_path, Bars(ean13(EAN), paint="0.6 0.5 0.4 1 k"))), "barcode.resolution"
    )
    assert finding.severity == "query"
    assert finding.measured == "Cyan, Magenta, Yellow and Black"


def test_a_wrong_check_digit_is_named(tmp_path: Path) -> None:
    """9521234567890 stands in a public test suite; the digit should be 9."""
    found = judged(sleeve(tmp_path, Bars(ean13("9521234567890")), number=None))
    finding = only(found, "barcode.digits")
    assert (finding.severity, finding.measured, finding.required) == (
        "stop", "9521234567890", "9521234567899",
    )  # fmt: skip
    assert "should be 9, not 0" in finding.message


def test_another_number_than_the_orders(tmp_path: Path) -> None:
    found = judged(sleeve(tmp_path, Bars(ean13("9520000000004"))))
    finding = only(found, "barcode.mismatch")
    assert (finding.severity, finding.measured) == ("stop", "9520000000004")
    assert finding.required == EAN


def test_a_upc_a_is_the_ean_13_with_a_zero(tmp_path: Path) -> None:
    """036000241457 is a published UPC-A."""
    bars = Bars(modules_of("upca", "03600024145"))
    for number in ("036000241457", "0036000241457"):
        exam = sleeve(tmp_path, bars, number=number)
        assert symbol(exam).kind is Kind.UPC_A
        assert judged(exam) == {}


def test_a_sleeve_without_a_barcode(tmp_path: Path) -> None:
    finding = only(judged(sleeve(tmp_path, number=None)), "barcode.missing")
    assert finding.severity == "query"
    # Where the order gives a number it may be on any part: see test_barcode_order.py.
    assert judged(sleeve(tmp_path)) == {}


@pytest.mark.parametrize(
    ("number", "severity", "code"), [(EAN, "stop", "other-kind"), (None, "query", "unread")]
)
def test_bars_that_are_no_ean(number: str | None, severity: str, code: str, tmp_path: Path) -> None:
    bars = Bars(modules_of("code128", "LFR 017"))
    finding = only(judged(sleeve(tmp_path, bars, number=number)), "barcode.unreadable")
    assert (finding.severity, finding.code) == (severity, code)
    assert "Code128" in finding.message.replace(" ", "")
    assert "an EAN or a UPC" in finding.fix
    assert finding.to_confirm == ()
    (mark,) = finding.where
    middle = mark.box.centre
    assert math.dist(middle, AT) < 3


def test_bars_that_nothing_reads_are_for_a_person_to_confirm(tmp_path: Path) -> None:
    """An EAN-13 of which two modules were lost: never clear, never called missing."""
    whole = ean13(EAN)
    exam = sleeve(tmp_path, Bars(whole[:20] + whole[22:]))
    finding = only(judged(exam), "barcode.unreadable")
    assert (finding.severity, finding.code) == ("query", "unread")
    assert finding.to_confirm == (EAN,)
    assert EAN in finding.fix
    unasked = only(
        judged(sleeve(tmp_path, Bars(whole[:20] + whole[22:]), number=None)), "barcode.unreadable"
    )
    assert unasked.to_confirm == ("The bars scan, and say the number under them",)
    assert unasked.fix.startswith("Please scan the bars")
    (mark,) = finding.where
    assert math.dist(mark.box.centre, AT) < 3
    # The digits of an EAN-13 end 3.08 mm below its bars: what is shown holds them.
    assert mark.box.y0 <= min(y for _, y in mark.path) - 3.08


def test_a_short_symbol_aslant_in_a_picture_is_read(tmp_path: Path) -> None:
    """A place of bars is found in blocks of pixels, and so seems longer than it is."""
    bars = Bars(modules_of("ean8", "95200002"), x=0.28, height=13.2, turn=130, paint="1 .6 0 .2 k")
    spec = spec_with_barcode()
    file = delivered(sleeve_pdf((bars,), spec), "tiff lzw", 0, ppi=600)
    path = tmp_path / "sleeve.tif"
    path.write_bytes(file.data)
    (symbol,) = examined(path, spec, None, 155).barcodes[0].symbols
    assert symbol.digits == "95200002"
    assert symbol.x_mm == pytest.approx(0.28, abs=0.003)


def test_stripes_are_not_taken_for_a_barcode(tmp_path: Path) -> None:
    bars = Bars("10" * 47 + "1")
    assert list(judged(sleeve(tmp_path, bars, number=None))) == ["barcode.missing"]


def test_stripes_in_a_rhythm_are_not_read_though_a_check_digit_fits(tmp_path: Path) -> None:
    bars, at = [], -16.3
    for n in range(32):
        bars.append(f"{at:.3f} -7 {0.4 + 0.6 * (n % 2):.3f} 14 re f")
        at += 0.8 + 0.6 * (n % 2)
    exam = sleeve(tmp_path, Bars(extra="0 0 0 1 k " + " ".join(bars), height=0), number=None)
    assert list(judged(exam)) == ["barcode.missing"]


LOWER, UPPER = Point(AT.x, -22.0), Point(AT.x, 20.0)


@pytest.mark.parametrize("turn", [0, 30])
def test_bars_that_are_no_ean_beside_a_sound_one(turn: float, tmp_path: Path) -> None:
    other = Bars(modules_of("code128", "LFR 017"), at=UPPER, height=15.0, turn=turn)
    exam = sleeve(tmp_path, Bars(ean13(EAN), at=LOWER), other)
    finding = judged(exam)["barcode.unreadable"][0]
    assert symbol(exam).digits == EAN
    assert (finding.severity, finding.measured) == ("query", "unread")
    (mark,) = finding.where
    assert math.dist(mark.box.centre, UPPER) < 3


def test_a_second_sound_barcode_is_not_called_unreadable(tmp_path: Path) -> None:
    exam = sleeve(
        tmp_path, Bars(ean13(EAN), at=LOWER), Bars(ean13("9520000000004"), at=UPPER, turn=90)
    )
    assert [len(found.symbols) for found in exam.barcodes] == [2]
    assert "barcode.unreadable" not in judged(exam)


@pytest.mark.parametrize(
    ("x", "distance", "severity"),
    [(-25.0, 5.51, "query"), (-20.0, 0.51, "stop"), (-8.0, -11.49, "stop")],
)
def test_near_a_fold(x: float, distance: float, severity: str, tmp_path: Path) -> None:
    """The fold lies at x = -1.5; the bars are 31.35 mm wide, the right quiet zone 2.31 mm."""
    finding = only(judged(sleeve(tmp_path, Bars(ean13(EAN), at=Point(x, 0.0)))), "barcode.fold")
    assert finding.severity == severity
    assert finding.measured == pytest.approx(distance, abs=0.1)
    assert "fold" in finding.message


def test_near_the_trim(tmp_path: Path) -> None:
    at = Point(AT.x, -FACE / 2 + 22.85 / 2 + 3.0)
    finding = only(judged(sleeve(tmp_path, Bars(ean13(EAN), at=at))), "barcode.fold")
    assert finding.severity == "query"
    assert finding.measured == pytest.approx(3.0, abs=0.1)
    assert "trim" in finding.message


@pytest.mark.parametrize("ppi", [200, 300, 400])
def test_a_coarse_picture(ppi: int, tmp_path: Path) -> None:
    exam = sleeve(tmp_path, pictured(ppi))
    assert symbol(exam).digits == EAN
    assert symbol(exam).x_mm == pytest.approx(0.33, abs=0.002)
    finding = only(judged(exam), "barcode.resolution")
    assert (finding.measured, finding.required) == (pytest.approx(ppi, abs=1), 600)


@pytest.mark.parametrize("ppi", [600, 1200])
def test_a_picture_fine_enough(ppi: int, tmp_path: Path) -> None:
    assert judged(sleeve(tmp_path, pictured(ppi))) == {}


@pytest.mark.parametrize("kernel", [Image.Resampling.BICUBIC, Image.Resampling.BILINEAR])
@pytest.mark.parametrize(("true", "times"), [(150, 4), (200, 3), (300, 2), (300, 4)])
def test_an_enlarged_picture(
    true: int, times: int, kernel: Image.Resampling, tmp_path: Path
) -> None:
    finding = only(
        judged(sleeve(tmp_path, pictured(true, times=times, kernel=kernel))), "barcode.resolution"
    )
    assert "enlarged" in finding.message
    assert isinstance(finding.measured, float)
    assert finding.measured == pytest.approx(true, rel=0.3)


def test_a_picture_in_rgb_is_read_and_named(tmp_path: Path) -> None:
    exam = sleeve(tmp_path, pictured(300, rgb=True))
    assert symbol(exam).digits == EAN
    found = judged(exam)
    assert list(found) == ["barcode.resolution"]
    assert len(found["barcode.resolution"]) == 2


def test_a_photograph_behind_drawn_bars_is_not_their_picture(tmp_path: Path) -> None:
    photo = pictured(100)
    drawn = Bars(ean13(EAN), ground="0 0 0 0 k")
    behind = Bars(photo.modules, extra=photo.extra, resources=photo.resources, drawn=False)
    assert judged(sleeve(tmp_path, behind, drawn)) == {}


@pytest.mark.parametrize("add_on", [None, "51299"])
def test_a_symbol_drawn_by_reportlab(add_on: str | None, tmp_path: Path) -> None:
    """Its widget counts the row of digits into the height of the bars, 1.2 times the type size."""
    path = tmp_path / "drawn.pdf"
    width, height = 2 * FACE + 3 + 6, FACE + 6
    canvas = Canvas(str(path), (width * PT, height * PT))
    drawing = Drawing(width * PT, height * PT)
    size, black = 8.0, CMYKColor(0, 0, 0, 1)
    drawing.add(
        Ean13BarcodeWidget(
            EAN[:12], x=20 * PT, y=30 * PT, barWidth=0.33 * PT, barHeight=22.85 * PT + 1.2 * size,
            fontSize=size, barFillColor=black, textColor=black,
        )
    )  # fmt: skip
    if add_on:
        # The bars end 9 + 95 modules from the widget's left; the add-on follows 9 modules later.
        drawing.add(
            Ean5BarcodeWidget(
                add_on, x=(20 + 0.33 * 112) * PT, y=30 * PT, barWidth=0.33 * PT,
                barHeight=21.90 * PT + 1.2 * size, fontSize=size, quiet=0, barFillColor=black,
                textColor=black,
            )
        )  # fmt: skip
    renderPDF.draw(drawing, canvas, 0, 0)
    canvas.save()
    exam = examined(path, spec_with_barcode())
    one = symbol(exam)
    assert one.digits == EAN
    assert (None if one.add_on is None else one.add_on.digits) == add_on
    assert one.x_mm == pytest.approx(0.33, abs=0.001)
    assert one.height_mm == pytest.approx(22.85, abs=0.05)
    (said,) = (o for o in run_checks(exam, CHECKS).outcomes if o.check == "barcode.unreadable")
    assert said.why == f"read: EAN-13 {EAN}" + (f" with the add-on {add_on}" if add_on else "")
    left = 20 + 0.33 * 9 - width / 2
    assert one.quad.a.x == pytest.approx(left, abs=LOCATED_MM)
    assert judged(exam) == {}


def with_add_on(digits: str, gap: int = 9, **options: Any) -> Bars:
    """Return an EAN-13 with an add-on `gap` modules to its right, all bars of one height."""
    return Bars(ean13(EAN) + "0" * gap + add_on(digits), x=0.3, **options)


@pytest.mark.parametrize("turn", [0, 90, 171])
@pytest.mark.parametrize("digits", ["05", "42", "51299", "90000"])
def test_an_add_on_is_read_and_measured(digits: str, turn: float, tmp_path: Path) -> None:
    """21.9 mm at 0.33 mm are 19.9 mm at 0.30 mm; zxing-cpp reads the same digits."""
    exam = sleeve(tmp_path, with_add_on(digits, turn=turn, height=21.0))
    add_on = symbol(exam).add_on
    assert add_on is not None
    assert add_on.digits == digits
    assert {one.add_on for one in decoded(exam.sheets[0].view)} == {digits}
    assert add_on.gap_mm == pytest.approx(9 * 0.3, abs=0.02)
    assert add_on.height_mm == pytest.approx(21.0, abs=0.05)
    width = math.dist(add_on.quad.a, add_on.quad.b)
    assert width == pytest.approx((20 if len(digits) == 2 else 47) * 0.3, abs=0.02)
    assert symbol(exam).height_mm == pytest.approx(21.0, abs=0.05)
    assert judged(exam) == {}


def test_the_quiet_zone_on_the_right_of_an_add_on(tmp_path: Path) -> None:
    """5 modules of 0.3 mm are 1.5 mm."""
    bars = with_add_on("51299", height=21.0, quiet=(3.5, 0.9))
    finding = only(judged(sleeve(tmp_path, bars)), "barcode.quiet-zone")
    assert finding.severity == "stop"
    assert finding.measured == pytest.approx(0.9, abs=0.05)
    assert finding.required == 1.5
    enough = with_add_on("51299", height=21.0, quiet=(3.5, 1.55))
    assert judged(sleeve(tmp_path, enough)) == {}


@pytest.mark.parametrize(
    ("gap", "severity", "required"), [(5, "stop", 2.1), (7, None, None), (12, None, None),
                                      (14, "query", 3.6)]
)  # fmt: skip
def test_between_a_symbol_and_its_add_on(
    gap: int, severity: str | None, required: float | None, tmp_path: Path
) -> None:
    """7 to 12 modules: the least is the symbol's own quiet zone."""
    found = judged(sleeve(tmp_path, with_add_on("51299", gap, height=21.0)))
    if severity is None:
        assert found == {}
        return
    finding = only(found, "barcode.quiet-zone")
    assert (finding.severity, finding.required) == (severity, pytest.approx(required, abs=0.01))
    assert finding.measured == pytest.approx(0.3 * gap, abs=0.03)


def test_a_low_add_on_is_cut(tmp_path: Path) -> None:
    """Both are 18.7 mm high; 66.3 modules of 0.3 mm are 19.9 mm, of which 95 % are asked."""
    found = judged(sleeve(tmp_path, with_add_on("42", height=18.7)))
    symbols, add_on = found["barcode.truncated"]
    assert "EAN-13" in symbols.message
    assert "the add-on 42" in add_on.message
    assert add_on.measured == pytest.approx(18.7, abs=0.05)
    assert add_on.required == pytest.approx(19.9, abs=0.02)


def test_a_label_needs_no_barcode() -> None:
    said = run_checks(make_exam("label-12in"), CHECKS)
    assert {o.status for o in said.outcomes} == {Status.NOT_APPLICABLE}
    assert said.measured["barcode"] is None


def test_a_barcode_on_a_piece_that_needs_none_is_judged_all_the_same(tmp_path: Path) -> None:
    spec = spec_with_barcode(rules={"expected": False})
    assert judged(sleeve(tmp_path, spec=spec)) == {}
    found = judged(sleeve(tmp_path, Bars(ean13(EAN), paint="0 1 0 0 k"), spec=spec))
    assert list(found) == ["barcode.contrast"]


def test_jackets_and_gatefolds_are_the_pieces_that_are_sold() -> None:
    from prepcheck.spec.load import load_spec, spec_names

    sold = [name for name in spec_names() if (rules := load_spec(name).barcode) and rules.expected]
    assert sold == [name for name in spec_names() if name.startswith(("gatefold", "jacket"))]


def test_bars_lie_flat_whatever_the_lean(tmp_path: Path) -> None:
    rng = np.random.default_rng(11)
    for turn in rng.uniform(-180, 180, 4):
        one = symbol(sleeve(tmp_path, Bars(ean13(EAN), turn=float(turn))))
        (ax, ay), (bx, by), *_ = one.quad
        found = math.degrees(math.atan2(by - ay, bx - ax))
        assert abs((found - turn + 180) % 360 - 180) < 0.1
        # The digits end 3.08 mm below the bars at a module of 0.33 mm; what is shown holds them.
        down = math.sin(math.radians(turn)), -math.cos(math.radians(turn))
        shown = mark_of(one, "").box.grown(0.05)
        for x, y in ((ax, ay), (bx, by)):
            assert shown.holds(Box.around([(x, y), (x + 3.08 * down[0], y + 3.08 * down[1])]))
