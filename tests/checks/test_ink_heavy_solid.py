"""Heavy solids: shares of the face of a label by construction."""

import numpy as np
import pytest

from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import (
    disc_cover,
    examine,
    findings,
    label_spec,
    make_exam,
    plate_scene,
    sleeve_spec,
)
from tests.checks.inked import ink_spec

CHECK = "ink.heavy-solid"
HALF = {"Cyan": 100, "Magenta": 100, "Black": 30}
FACE = 50**2 - 3.62**2
"""Radii of the trim and the hole, squared: the ink of the hole is drilled away."""


def exam_of(share: float, colour=HALF):
    """Return a label with a heavy disc that covers a share (percent) of its face."""
    radius = float(np.sqrt(share / 100 * FACE + 3.62**2))
    cover = disc_cover(radius, pitch=0.25)
    return make_exam(ink_spec(), plates=plate_scene((cover, colour)))


@pytest.mark.parametrize(("share", "found"), [(38, False), (40, False), (42.5, True), (75, True)])
def test_the_share_of_the_face(share: float, found: bool) -> None:
    """Limit 40 %, inclusive, with 1 % for the measuring."""
    said = findings(CHECK, exam_of(share))
    assert [f.severity for f in said] == (["query"] if found else [])
    assert all(f.measured == pytest.approx(share, abs=1) for f in said)
    assert all(f.where[0].box.centre == pytest.approx((0, 0), abs=0.6) for f in said)
    if not found:
        (clear,) = examine(CHECK, exam_of(share))
        assert isinstance(clear, Clear)
        assert clear.measured == pytest.approx(share, abs=1)


@pytest.mark.parametrize(("total", "found"), [(198, 0), (200, 0), (204, 1)])
def test_what_is_heavy(total: float, found: int) -> None:
    exam = exam_of(80, dict.fromkeys(("Cyan", "Magenta", "Black"), total / 3))
    assert len(findings(CHECK, exam)) == found


def test_ink_in_the_bleed_does_not_count() -> None:
    exam = make_exam(
        ink_spec(),
        plates=plate_scene((disc_cover(60, pitch=0.25), HALF), (disc_cover(50, pitch=0.25), {})),
    )
    (clear,) = examine(CHECK, exam)
    assert clear.measured == pytest.approx(0, abs=0.5)


def test_only_labels_and_only_where_the_spec_says_so() -> None:
    for spec in (sleeve_spec(), label_spec()):
        (said,) = examine(CHECK, make_exam(spec))
        assert isinstance(said, NotApplicable)
