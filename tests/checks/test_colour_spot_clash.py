"""Spots that clash, on small PDFs."""

from pathlib import Path

import pytest

from prepcheck.findings import Finding
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import examine, findings
from tests.checks.inked import box, from_file, ink_spec, label, spot
from tests.factories import Pdf, Stream

CHECK = "colour.spot-clash"
LAB = ["Lab", {"WhitePoint": [0.9505, 1.0, 1.089]}]


def lab_spot(name: str, *solid: float) -> list[object]:
    tint = {"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [100.0, 0.0, 0.0],
            "C1": list(solid)}  # fmt: skip
    return ["Separation", name, LAB, tint]


def said(folder: Path, spaces: dict[str, object], content: str | None = None) -> list[Finding]:
    drawn = content or " ".join(
        box(f"/{key} cs 1 scn", -30 + 12 * at, 20, 10, 6) for at, key in enumerate(spaces)
    )
    found = findings(CHECK, label(folder, drawn, resources={"ColorSpace": spaces}))
    assert all(f.severity == "query" and f.page == 1 for f in found)
    return found


@pytest.mark.parametrize(
    ("solid", "like"),
    [
        ((1, 0, 0, 0), "Cyan"),
        ((0, 1, 0, 0), "Magenta"),
        ((0, 0, 1, 0), "Yellow"),
        ((0, 0, 0, 1), "Black"),
        ((0.995, 0.005, 0, 0), "Cyan"),
        ((0.97, 0, 0, 0), None),
        ((1, 0.1, 0, 0), None),
    ],
)
def test_built_like_a_process_ink(tmp_path: Path, solid: tuple[float, ...], like: str) -> None:
    found = said(tmp_path, {"A": spot("Harbour", *map(float, solid))})
    assert [f.required for f in found] == ([] if like is None else [like])
    if like is not None:
        assert found[0].where[0].box == pytest.approx((-30, 20, -20, 26), abs=0.01)


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        (spot("Rust", 0.1, 0.8, 0.9, 0.0), spot("Brick", 0.1, 0.8, 0.9, 0.0), True),
        (spot("Rust", 0.1, 0.8, 0.9, 0.0), spot("Brick", 0.1, 0.8, 0.85, 0.0), False),
        (lab_spot("Rust", 50, 40, 30), lab_spot("Brick", 50.5, 40.5, 30), True),
        (lab_spot("Rust", 50, 40, 30), lab_spot("Brick", 50, 44, 30), False),
        (lab_spot("Rust", 50, 40, 30), spot("Brick", 0.1, 0.8, 0.9, 0.0), False),
        # Two spellings of one ink are said under colour.inks.
        (spot("Rust 21 C", 0.1, 0.8, 0.9, 0.0), spot("Rust 21 U", 0.1, 0.8, 0.9, 0.0), False),
    ],
)
def test_two_of_one_make_up(tmp_path: Path, one: list, other: list, alike: bool) -> None:
    found = said(tmp_path, {"A": one, "B": other})
    assert [f.measured for f in found] == (["Brick and Rust"] if alike else [])
    assert all(len(f.where) == 2 for f in found)


def test_one_name_for_two_colours(tmp_path: Path) -> None:
    spaces = {"A": spot("Rust", 0.1, 0.8, 0.9, 0.0), "B": spot("Rust", 0.8, 0.1, 0.0, 0.0)}
    assert [f.measured for f in said(tmp_path, spaces)] == [2]


IMAGE = "q 10 0 0 6 0 20 cm BI /W 1 /H 1 /BPC 8 /CS /A /F /AHx ID 80> EI Q"


def test_only_in_a_picture(tmp_path: Path) -> None:
    spaces = {"A": spot("Rust", 0.1, 0.8, 0.9, 0.0)}
    (finding,) = said(tmp_path, spaces, IMAGE)
    assert "1 picture" in finding.message
    also = f"{IMAGE} {box('/A cs 1 scn', -20, 20, 5, 5)}"
    assert said(tmp_path, spaces, also) == []


def test_device_n_names_each_of_its_spots(tmp_path: Path) -> None:
    """A DeviceN of two spots; the stand-in of one alone is 100 % of magenta."""
    calculator = {"FunctionType": 4, "Domain": [0, 1, 0, 1], "Range": [0, 1] * 4}
    pdf = Pdf()
    # The two amounts stay on the stack as cyan and magenta; yellow and black follow as 0.
    tint = pdf.add(Stream(b"{ 0 0 }", calculator))
    space = ["DeviceN", ["Rust", "Rose"], "DeviceCMYK", tint]
    pdf.page(
        "1 0 0 1 53 53 cm /A cs 0 0.7 scn 0 20 9 9 re f", (106, 106),
        trim_mm=(3, 3, 103, 103), resources={"ColorSpace": {"A": space}},
    )  # fmt: skip
    path = tmp_path / "n.pdf"
    path.write_bytes(pdf.bytes())
    found = findings(CHECK, from_file(path, None, ink_spec()))
    assert [(f.measured, f.required) for f in found] == [("Rose", "Magenta")]


def test_clear_and_not_applicable(tmp_path: Path) -> None:
    plain = label(tmp_path, box("0 0 0 1 k", 0, 20, 5, 5))
    assert isinstance(examine(CHECK, plain)[0], NotApplicable)
    spaces = {"A": spot("Rust", 0.1, 0.8, 0.9, 0.0)}
    fine = label(tmp_path, box("/A cs 1 scn", 0, 20, 5, 5), resources={"ColorSpace": spaces})
    assert isinstance(examine(CHECK, fine)[0], Clear)
