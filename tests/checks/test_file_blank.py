"""Pages on which nothing prints."""

from pathlib import Path

import pytest

from prepcheck.said import Clear
from tests.checks.exams import examine, findings
from tests.checks.inked import box, label

CHECK = "file.blank"


@pytest.mark.parametrize(
    ("content", "why"),
    [
        ("", "inside the trim."),
        (box("0 0 0 0 k", -50, -50, 100, 100), "white, or lies off the piece"),
        (box("1 1 1 rg", -50, -50, 100, 100), "white, or lies off the piece"),
        (box("0 0 0 1 k", -53, -53, 8, 8), "white, or lies off the piece"),
        (box("0 0 0 1 k", -1, -1, 2, 2), "white, or lies off the piece"),
    ],
    ids=["nothing", "white", "white on screen", "outside the round trim", "only in the hole"],
)
def test_blank(tmp_path: Path, content: str, why: str) -> None:
    (finding,) = findings(CHECK, label(tmp_path, content))
    assert finding.severity == "query"
    assert finding.page == 1
    assert why in finding.message


@pytest.mark.parametrize(
    "content",
    [
        box("0 0 0 0.05 k", -0.5, 20, 1, 1),
        box("0.9 0.9 1 rg", -0.5, 20, 1, 1),
        box("/Gold cs 0.1 scn", -0.5, 20, 1, 1),
        f"{box('0 0 0 1 k', -53, -53, 8, 8)} {box('0 0 0 1 k', -0.5, 20, 0.4, 0.4)}",
    ],
    ids=["tint", "screen colour", "spot", "a dot beside marks"],
)
def test_little_is_not_blank(tmp_path: Path, content: str) -> None:
    (said,) = examine(CHECK, label(tmp_path, content))
    assert isinstance(said, Clear)
