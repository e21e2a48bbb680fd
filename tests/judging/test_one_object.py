"""Labels with one object that several checks find fault with: the remedies agree."""

from __future__ import annotations

from pathlib import Path

from prepcheck.findings import Finding
from prepcheck.judging.naming import named
from prepcheck.judging.on_parts import run_checks
from prepcheck.judging.registry import all_checks
from prepcheck.judging.settle import settled
from tests.checks.inked import flood, label, ordered, spot, words
from tests.factories import disc_path


def judged(folder: Path, content: str, *checks: str) -> dict[str, Finding]:
    """Return the findings of these checks alone, named and settled, by check and code."""
    spaces = {
        "Die": spot("Dieline", 0, 1, 0, 0),
        "One": spot("LFR Rust", 0, 0.6, 0.9, 0),
        "Other": spot("LFR RUST", 0, 0.6, 0.9, 0),
    }
    resources = {"ColorSpace": spaces}
    part = ordered("Cyan", "Magenta", "Yellow", "Black")
    exam = label(folder, content, resources=resources, part=part)
    own = [check for check in all_checks() if check.declarations[0].identifier in checks]
    said = run_checks(exam, own)
    found = settled(named(said.findings, exam.sheets), exam.spec)
    return {f"{finding.check} {finding.code}": finding for finding in found}


def test_a_guide_in_a_spot_nobody_ordered(tmp_path: Path) -> None:
    ring = f"/Die CS 1 SCN 0.2 w {disc_path(0, 0, 50)} S"
    found = judged(tmp_path, f"{flood('0 0 0 0.2 k')} {ring}", "guide.printing", "colour.inks")
    assert found["colour.inks beyond"].where[0].subject.startswith("the drawn line")
    assert found["colour.inks beyond"].fix == found["guide.printing line"].fix
    assert "out" in found["guide.printing line"].fix


def test_a_ground_in_a_spot_nobody_ordered_is_no_guide(tmp_path: Path) -> None:
    ground = f"/Die cs 1 scn {disc_path(0, 0, 50)} f"
    ring = f"0 0 0 1 K 0.2 w {disc_path(0, 0, 50)} S"
    found = judged(tmp_path, f"{ground} {ring}", "guide.printing", "colour.inks")
    assert "convert these colours" in found["colour.inks beyond"].fix


def test_small_type_in_four_inks_is_named_and_may_be_set_as_advised(tmp_path: Path) -> None:
    type_ = words("0.6 0.6 0.6 0.9 k", -20, 30, 4.0, "LANTERNFOLD")
    found = judged(tmp_path, type_, "text.small", "ink.small-type")
    small = found["text.small small"]
    assert small.where[0].subject == "the line 'LANTERNFOLD'"
    # What is advised must pass the limits of type in one ink, and of type in several.
    assert "in one dark ink on a light ground at 5 pt or larger, or at 9 pt or larger" in small.fix


def test_a_hairline_in_three_inks_made_thicker_is_thick_enough_for_them(tmp_path: Path) -> None:
    line = "0.6 0.6 0.6 0 K 0.05 w -20 30 m 20 30 l S"
    found = judged(tmp_path, line, "line.thin", "ink.small-type")
    assert found["line.thin thin"].fix == (
        "Please set these lines in one ink and 0.15 mm or thicker, or make them 0.25 mm or thicker."
    )
    assert found["line.thin thin"].where[0].subject == "the drawn line at the top"


def test_spellings_of_an_ink_nobody_ordered(tmp_path: Path) -> None:
    boxes = "/One cs 1 scn -30 0 20 20 re f /Other cs 1 scn 10 0 20 20 re f"
    found = judged(tmp_path, boxes, "colour.inks")
    assert "ask us to add the ink" in found["colour.inks beyond"].fix
    assert found["colour.inks spellings"].fix.startswith("If this ink is added to the order")
