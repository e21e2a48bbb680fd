"""What is painted apart is counted before it is painted: groups, and what is blended or masked.

Squares of 10 mm are 100 mm² each time they are painted; how often follows from ISO 32000-2, 11.3.5,
11.5 and 11.6.6: a blended object on pixels of its own, a masked one with its mask besides.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.art.limits import Limits
from prepcheck.art.model import Page
from prepcheck.art.open import open_art
from prepcheck.errors import BudgetError
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate.plates import make_plates
from tests.factories import Pdf, Stream

SQUARE = "0 1 1 0 k 10 10 10 10 re f "
FORM = {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 50, 50]}
GROUP = {"S": "Transparency"}


def page(folder: Path, content: str, limits: Limits | None = None) -> Page:
    pdf = Pdf("1.7")
    mask = pdf.add(Stream(b"1 g 0 0 50 50 re f", {**FORM, "Group": {**GROUP, "CS": "DeviceGray"}}))
    states = {
        "M": {"BM": "Multiply"}, "N": {"BM": "Normal"}, "C": {"ca": 0.5},
        "S": {"SMask": {"S": "Luminosity", "G": mask}}, "E": {"SMask": "None"},
    }  # fmt: skip
    own = {"ExtGState": states}
    plain = pdf.add(Stream(SQUARE.encode(), {**FORM, "Resources": own}))
    group = pdf.add(Stream(SQUARE.encode() * 3, {**FORM, "Group": GROUP, "Resources": own}))
    inside = pdf.add(
        Stream(b"/M gs " + SQUARE.encode(), {**FORM, "Group": GROUP, "Resources": own})
    )
    pdf.page(content, (50, 50), resources={**own, "XObject": {"F": plain, "G": group, "I": inside}})
    path = folder / "art.pdf"
    path.write_bytes(pdf.bytes())
    return open_art(path, limits or Limits()).pages[0]


@pytest.mark.parametrize(
    ("content", "squares"),
    [
        (SQUARE, 0),
        (f"/C gs {SQUARE}", 0),
        (f"/M gs {SQUARE * 3}", 3),
        (f"q /M gs {SQUARE} Q {SQUARE * 2}", 1),
        (f"/M gs {SQUARE} /N gs {SQUARE}", 1),
        (f"/S gs {SQUARE}", 2),
        (f"/S gs /M gs {SQUARE} /E gs /N gs {SQUARE}", 3),
        ("/F Do", 0),
        ("/M gs /F Do", 1),
        ("/G Do", 1),
        ("/M gs /G Do", 2),
        (f"/M gs {SQUARE} /G Do {SQUARE}", 4),
        ("/I Do", 2),
        ("/M gs BT /M gs ET q 0 0 5 5 re W n Q", 0),
    ],
)
def test_what_is_painted_apart_is_counted(tmp_path: Path, content: str, squares: int) -> None:
    found = page(tmp_path, content).content(Affine.identity()).grouped
    assert found.painted_mm2 == pytest.approx(100 * squares)


@pytest.mark.parametrize("content", [f"/M gs {SQUARE * 9}", "/G Do " * 9, f"/S gs {SQUARE * 9}"])
def test_plates_alone_are_held_to_it(tmp_path: Path, content: str) -> None:
    """Nine squares of 10 mm are 14,000 pixels at 100 ppi, and more in several copies."""
    low = page(tmp_path, content, Limits(group_pixels=10_000))
    with pytest.raises(BudgetError, match="pixels to paint, and 10,000 is the limit"):
        make_plates(low, Affine.identity(), Box(0, 0, 50, 50), 100)
    make_plates(low, Affine.identity(), Box(0, 0, 5, 5), 100)
