"""Faint tints and the ends of fades."""

from pathlib import Path

import numpy as np
import pytest

from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import (
    box_cover,
    examine,
    findings,
    label_spec,
    make_exam,
    plate_scene,
)
from tests.checks.inked import INK_LIMITS, box, ink_spec, label

CHECK = "ink.faint"
PLACE = box_cover(Box(-5, 15, 5, 25), 0.0, 0.25)


def exam_of(*shapes, spec=None, **options):
    return make_exam(spec or ink_spec(), plates=plate_scene(*shapes, **options))


@pytest.mark.parametrize(("tint", "found"), [(1, True), (2.5, True), (3, False), (5, False)])
def test_tints(tint: float, found: bool) -> None:
    said = findings(CHECK, exam_of((PLACE, {"Cyan": tint})))
    assert [(f.severity, f.required, f.unit) for f in said] == [("query", 3, "%")] * found
    assert all(f.measured == pytest.approx(tint, abs=0.2) for f in said)
    if found:
        (mark,) = said[0].where
        assert mark.box.centre == pytest.approx((0, 20), abs=0.3)
        assert "even tint" in said[0].message


def test_the_area() -> None:
    small = box_cover(Box(0, 15, 4.5, 19.5), 0.0, 0.25)
    assert findings(CHECK, exam_of((small, {"Cyan": 2}))) == []


def test_a_fade_and_a_tint_are_told_apart() -> None:
    def fade(x, y):
        return np.clip((30 - x) / 60, 0, 1) * (np.abs(y + 20) < 10)

    (finding,) = findings(CHECK, exam_of((fade, {"Cyan": 40}), (PLACE, {"Cyan": 2})))
    assert "1 even tint and 1 end of a fade (4 mm wide from 0.6 % up)" in finding.message
    assert [mark.label for mark in finding.where] == ["2 %", "end of a fade, 4 mm"]


@pytest.mark.parametrize(("length", "found"), [(60, False), (80, False), (110, True)])
def test_only_a_wide_stretch_of_a_fade_is_asked_about(length: float, found: bool) -> None:
    """40 % to nothing: from 3 % on lie 3.5, 4.7 and 6.5 mm, less the 0.6 % that count as none."""

    def fade(x, y):
        return np.clip((30 - x) / length, 0, 1) * (np.abs(y + 10) < 20)

    limits = {**INK_LIMITS, "widest_fade_end_mm": 5}
    exam = exam_of((fade, {"Cyan": 40}), spec=ink_spec(ink=limits))
    (said,) = examine(CHECK, exam)
    if found:
        assert "(6 mm wide" in said.message or "(7 mm wide" in said.message
        assert said.where[0].box.x1 == pytest.approx(29, abs=1)
    else:
        assert isinstance(said, Clear)
        assert "fades go from that to 0.6 % within" in said.why


def test_rgb_is_not_judged() -> None:
    pale = exam_of(seen=lambda x, y: 0.03 * PLACE(x, y))
    (said,) = examine(CHECK, pale)
    assert isinstance(said, NotApplicable)
    assert "RGB or Lab" in said.why


def test_clear_and_no_limit() -> None:
    assert isinstance(examine(CHECK, exam_of((PLACE, {"Cyan": 40})))[0], Clear)
    assert isinstance(examine(CHECK, exam_of(spec=label_spec()))[0], NotApplicable)


def test_end_to_end(tmp_path: Path) -> None:
    (finding,) = findings(CHECK, label(tmp_path, box("0 0 0.02 0 k", -10, 10, 20, 20)))
    assert finding.measured == pytest.approx(2, abs=0.3)
    fine = f"{box('0 0 0.3 0 k', -10, 10, 20, 20)} {box('0 0 0 0.5 k', -10, -30, 20, 20)}"
    assert findings(CHECK, label(tmp_path, fine)) == []
