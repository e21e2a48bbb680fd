"""Ink on glue flaps: a flap of 20 mm hangs on the top of the back."""

from pathlib import Path

import pytest

from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Box
from prepcheck.said import NotApplicable
from prepcheck.spec.model import Spec
from prepcheck.tables import plain
from tests.checks.exams import box_cover, examine, findings, label_spec, make_exam, plate_scene
from tests.checks.folded import exam_of_file, folded_spec
from tests.factories import Pdf

CHECK = "flap.inked"
SIDE = 60.0


def spec(**flap: object) -> Spec:
    base = plain(folded_spec().outline)
    own = {"name": "glue flap", "panel": "back", "edge": "top", "depth_mm": 20.0, "in_art": True}
    return folded_spec(outline={**base, "flaps": [{**own, **flap}]})


# The flat is 123 x 80 mm round the origin: the back's top edge, the fold, lies at y = 20.
FOLD_Y, LEFT = 20.0, -61.5


def inked(*boxes: Box) -> list[Finding]:
    plates = plate_scene(*((box_cover(box), {"Black": 100.0}) for box in boxes))
    return findings(CHECK, make_exam(spec(), plates=plates))


def test_ink_on_the_flap_is_a_stop_with_area_and_place() -> None:
    box = Box(-50, 30, -40, 34)
    (found,) = inked(box)
    assert found.severity is Severity.STOP
    assert found.measured == pytest.approx(40.0, rel=0.05)
    (mark,) = found.where
    assert mark.box == pytest.approx(box, abs=0.1)


# The fold's 3 mm of overlap are allowed.
@pytest.mark.parametrize(
    ("reach", "stops"), [(2.9, False), (3.0, False), (3.4, True), (20.0, True)]
)
def test_ink_may_run_on_past_the_fold(reach: float, stops: bool) -> None:
    found = inked(Box(LEFT - 3, -43, 64, FOLD_Y), Box(LEFT, FOLD_Y, LEFT + SIDE, FOLD_Y + reach))
    assert bool(found) is stops
    if found:
        # The spine's own bleed takes the last 3 mm of the flap.
        assert found[0].measured == pytest.approx((reach - 3.0) * (SIDE - 3.0), abs=15)


def test_bleed_of_the_spine_beside_the_flap_is_no_ink_on_it() -> None:
    assert inked(Box(LEFT + SIDE - 3, -43, 64, FOLD_Y + 3)) == []


def test_specks_and_faint_tint_do_not_count() -> None:
    assert inked(Box(-50, 30, -49.2, 30.8)) == []
    plates = plate_scene((box_cover(Box(-50, 30, -30, 35)), {"Cyan": 2.0}))
    assert findings(CHECK, make_exam(spec(), plates=plates)) == []


@pytest.mark.parametrize(
    "given", [label_spec(), folded_spec(), spec(in_art=False), spec(ink_allowed=True)]
)
def test_nothing_to_judge_without_a_bare_flap_in_the_art(given: Spec) -> None:
    assert isinstance(examine(CHECK, make_exam(given))[0], NotApplicable)


def test_varnish_of_a_pdf_counts_as_ink(tmp_path: Path) -> None:
    # A colourless varnish shows on its plate only.
    pdf = Pdf()
    function = pdf.add({
        "FunctionType": 2, "Domain": [0, 1], "C0": [0, 0, 0, 0], "C1": [0, 0, 0, 0], "N": 1,
    })  # fmt: skip
    space = ["Separation", "Gloss Varnish", "DeviceCMYK", function]
    pdf.page(
        "/V cs 1 scn 13 73 20 5 re f", (129, 86), trim_mm=(3, 3, 126, 83),
        resources={"ColorSpace": {"V": space}},
    )  # fmt: skip
    file = tmp_path / "a.pdf"
    file.write_bytes(pdf.bytes())
    (found,) = findings(CHECK, exam_of_file(file, spec(), ppi=150))
    assert found.measured == pytest.approx(100.0, rel=0.05)
    assert "Gloss Varnish" in found.message
