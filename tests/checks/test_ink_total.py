"""Too much ink: limits, places, and pictures by their samples."""

from pathlib import Path

import numpy as np
import pytest

from prepcheck.art.model import Content, ImageItem, Paint, Samples, Space, SpaceFamily
from prepcheck.geometry import Box
from prepcheck.said import Clear, Measured, NotApplicable
from tests.checks.exams import (
    CMYK,
    box_cover,
    box_path,
    box_quad,
    examine,
    findings,
    make_exam,
    plate_scene,
)
from tests.checks.inked import box, flood, from_file, ink_spec, label
from tests.factories import Pdf, Stream

CHECK = "ink.total"
PLACE = Box(-5, 15, 5, 25)


def four(total: float) -> dict[str, float]:
    return dict.fromkeys(("Cyan", "Magenta", "Yellow", "Black"), total / 4)


def exam_of(*shapes, **options):
    scene = {key: options.pop(key) for key in ("seen", "inks") if key in options}
    return make_exam(ink_spec(), plates=plate_scene(*shapes, **scene), **options)


@pytest.mark.parametrize(("total", "found"), [(240, []), (250, []), (250.8, []), (254, [254])])
def test_the_limit_is_inclusive_within_a_percent(total, found) -> None:
    exam = exam_of((box_cover(PLACE, 0.0, 0.25), four(total)))
    assert [f.measured for f in findings(CHECK, exam)] == [pytest.approx(v, abs=1) for v in found]


def test_what_is_said() -> None:
    exam = exam_of(
        (box_cover(PLACE, 0.0, 0.25), four(300)),
        (box_cover(Box(20, -25, 26, -19), 0.0, 0.25), four(280)),
    )
    said = examine(CHECK, exam)
    (finding,) = [item for item in said if not isinstance(item, Measured)]
    assert finding.severity == "stop"
    assert (finding.measured, finding.required, finding.unit) == (
        pytest.approx(300, abs=1),
        250,
        "%",
    )
    assert [mark.value for mark in finding.where] == [
        pytest.approx(100, rel=0.06),
        pytest.approx(36, rel=0.1),
    ]
    assert finding.where[0].box.centre == pytest.approx((0, 20), abs=0.5)
    assert finding.where[1].box.centre == pytest.approx((23, -22), abs=0.5)
    assert "2 places" in finding.message
    assert [item.value for item in said if isinstance(item, Measured)] == [
        pytest.approx(300, abs=1)
    ]


def test_five_inks_add_up() -> None:
    inks = ("Cyan", "Magenta", "Yellow", "Black", "Gold")
    exam = exam_of((box_cover(PLACE), {"Cyan": 100, "Magenta": 100, "Gold": 70}), inks=inks)
    assert [f.measured for f in findings(CHECK, exam)] == [pytest.approx(270, abs=1)]


def test_paint_without_ink_amounts_is_told_of() -> None:
    exam = exam_of((box_cover(PLACE), four(100)), seen=box_cover(Box(-30, -30, -10, -10)))
    (clear,) = [item for item in examine(CHECK, exam) if isinstance(item, Clear)]
    assert clear.measured == pytest.approx(100, abs=1)
    assert "mm² painted in RGB or Lab" in clear.why
    (only,) = [
        item
        for item in examine(CHECK, exam_of(seen=box_cover(PLACE)))
        if isinstance(item, NotApplicable)
    ]
    assert "RGB or Lab" in only.why


def test_registration_colour_is_left_to_its_own_check() -> None:
    every = Space(SpaceFamily.SEPARATION, 1, CMYK, ("All",))
    paint = Paint(every, (1.0,), (("All", 1.0),), (0, 0, 0))
    content = Content(paths=(box_path(PLACE, fill=paint),))
    exam = exam_of((box_cover(PLACE, 0.0, 0.25), four(400)), content=content)
    assert findings(CHECK, exam) == []


def picture(visible: Box) -> ImageItem:
    return ImageItem("Im1", box_quad(Box(-10, 10, 10, 30)), visible, (200, 200), 8, CMYK,
                     ("FlateDecode",), (254.0, 254.0), False, None, False, None, key=7)  # fmt: skip


def test_the_greatest_value_comes_from_the_samples() -> None:
    """Stripes of 340 and 220 % average to 280 on the plates; the samples know better."""
    data = np.zeros((200, 200, 4), np.uint8)
    data[:, 0::2] = round(3.40 * 255 / 4)
    data[:, 1::2] = round(2.20 * 255 / 4)
    content = Content(images=(picture(Box(-10, 10, 10, 30)),))
    exam = exam_of(
        (box_cover(Box(-10, 10, 10, 30)), four(280)),
        content=content,
        pictures={7: Samples(data, CMYK)},
    )
    assert [f.measured for f in findings(CHECK, exam)] == [pytest.approx(340, abs=1)]


def test_a_picture_that_something_else_covers_is_not_asked() -> None:
    content = Content(images=(picture(Box(-10, 10, 10, 30)),))
    exam = exam_of(
        (box_cover(Box(-10, 10, 10, 30)), four(280)),
        content=content,
        pictures={7: Samples(np.full((200, 200, 4), 255, np.uint8), CMYK)},
    )
    assert [f.measured for f in findings(CHECK, exam)] == [pytest.approx(280, abs=1)]


def test_end_to_end(tmp_path: Path) -> None:
    """Overprinting adds up: 100 % of two inks over a flood of two others."""
    content = f"{flood('0.6 0.6 0 0 k')} /OP1 gs {box('0 0 0.9 0.9 k', 0, 10, 10, 10)}"
    (finding,) = findings(CHECK, label(tmp_path, content))
    assert finding.measured == pytest.approx(300, abs=1)
    assert finding.where[0].value == pytest.approx(100, rel=0.05)
    knocked_out = content.replace("OP1", "OP0")
    assert findings(CHECK, label(tmp_path, knocked_out)) == []


def test_a_picture_in_a_pdf(tmp_path: Path) -> None:
    samples = bytes([217, 217, 217, 217]) * 4
    image = Stream(samples, {"Type": "XObject", "Subtype": "Image", "Width": 2, "Height": 2,
                             "BitsPerComponent": 8, "ColorSpace": "DeviceCMYK"})  # fmt: skip
    pdf = Pdf()
    pdf.page(
        "q 20 0 0 20 43 43 cm /Im Do Q", (106, 106), trim_mm=(3, 3, 103, 103),
        resources={"XObject": {"Im": pdf.add(image)}},
    )  # fmt: skip
    path = tmp_path / "picture.pdf"
    path.write_bytes(pdf.bytes())
    (finding,) = findings(CHECK, from_file(path, None, ink_spec()))
    assert finding.measured == pytest.approx(4 * 217 / 2.55, abs=1)
