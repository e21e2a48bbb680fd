"""Counts by trying out many drawn-out lattices circle by circle, and by hand."""

import math
import random
from fractions import Fraction

import pytest

from prepcheck.errors import UsageError
from prepcheck.geometry import Box
from prepcheck.labelsheet.count import by_label, run_of, shares_of
from prepcheck.labelsheet.packing import Rows, square_rows, staggered_rows
from prepcheck.labelsheet.paper import paper_of


def tried(width: float, height: float, pitch: float) -> int:
    """Return the most circles (diameter and pitch alike) that any of many lattices puts into a
    rectangle: rows a step apart, every second one half a pitch along, each circle looked at."""
    most = 0
    for across, up in ((width, height), (height, width)):
        for stretch in range(100):
            along = pitch * (1 + stretch / 100)
            between = max(math.sqrt(pitch**2 - (along / 2) ** 2), pitch / 2)
            count, row = 0, 0
            while pitch / 2 + row * between + pitch / 2 <= up + 1e-9:
                x = pitch / 2 + (along / 2 if row % 2 else 0.0)
                while x + pitch / 2 <= across + 1e-9:
                    count, x = count + 1, x + along
                row += 1
            most = max(most, count)
    return most


def sound(rows: Rows, area: Box, diameter: float, gap: float) -> bool:
    inside = area.grown(-diameter / 2 + 1e-6)
    apart = min(
        (math.dist(a, b) for i, a in enumerate(rows.centres) for b in rows.centres[:i]),
        default=math.inf,
    )
    return apart >= diameter + gap - 1e-6 and all(
        inside.x0 <= x <= inside.x1 and inside.y0 <= y <= inside.y1 for x, y in rows.centres
    )


def test_no_lattice_tried_holds_more_and_none_overlap() -> None:
    draw = random.Random(5)
    for _ in range(60):
        area = Box(3, 4, 3 + draw.uniform(10, 80), 4 + draw.uniform(10, 80))
        staggered, square = (rows(area, 10.0, 0.0) for rows in (staggered_rows, square_rows))
        assert sound(staggered, area, 10.0, 0.0)
        assert sound(square, area, 10.0, 0.0)
        most = max(len(staggered.centres), len(square.centres))
        assert most >= tried(area.width, area.height, 10.0)
        assert len(square.centres) == int(area.width // 10) * int(area.height // 10)


def test_gaps_are_kept_between_circles_but_not_at_the_rim() -> None:
    area = Box(0, 0, 3 * 10 + 2 * 1.5, 10)
    assert len(square_rows(area, 10, 1.5).centres) == 3
    assert len(square_rows(area, 10, 1.51).centres) == 2
    found = staggered_rows(Box(0, 0, 200, 200), 10, 1.5)
    assert sound(found, Box(0, 0, 200, 200), 10, 1.5)


@pytest.mark.parametrize(
    ("side", "square", "staggered"),
    [
        # By hand: rows of 10 and 9, sqrt(3)/2 apart: 1 + 9 / 0.866 = 11.39 rows, 6 × 10 + 5 × 9.
        (10.0, 100, 105),
        # Rows of 5 lie as close as they may, 1 + 4 / 0.866 = 5.6 rows: 3 × 5 + 2 × 4.
        (5.0, 25, 23),
        (0.9, 0, 0),
    ],
)
def test_known_counts(side: float, square: int, staggered: int) -> None:
    area = Box(0, 0, side, side)
    assert len(square_rows(area, 1, 0).centres) == square
    assert len(staggered_rows(area, 1, 0).centres) == staggered


def test_a_further_row_is_won_by_drawing_rows_out() -> None:
    # Four rows of three want 1 + 3 × 0.866 = 3.6; at a pitch of 1.2 they are 0.8 apart: 3.4.
    assert len(staggered_rows(Box(0, 0, 1 + 2.5 * 1.2, 3.4), 1, 0).centres) == 12
    assert len(staggered_rows(Box(0, 0, 1 + 2.5 * 1.2, 3.39), 1, 0).centres) < 12
    assert len(square_rows(Box(0, 0, 1 + 2.5 * 1.2, 3.4), 1, 0).centres) == 12


def test_sheets_to_print_are_reckoned_exactly() -> None:
    run = run_of(500, Fraction("6"), {"A": 5, "B": 5})
    assert (run.sheets, run.arithmetic) == (106, "500 × (1 + 6 %) ÷ 5 = 106")
    run = run_of(1000, Fraction("2.5"), {"A": 4, "B": 4})
    assert run.sheets == 257
    assert run.arithmetic == "1000 × (1 + 2.5 %) ÷ 4 = 256.25, rounded up: 257"
    # 1000 × 1.1 is 1100.0000000000002 in binary numbers, which would be a sheet more.
    assert run_of(1000, Fraction("10"), {"A": 11}).sheets == 100
    run = run_of(300, Fraction(0), {"A": 4, "B": 2})
    assert run.sheets == 150
    assert run.arithmetic.endswith("(B decides)")


def test_shares() -> None:
    assert shares_of(["A", "B"], {}, 11, "x") == (5, 5)
    assert shares_of(["A", "B"], {"B": 2, "A": 6}, 8, "x") == (6, 2)
    for stated, holds, said in (
        ({"A": 3, "B": 3}, 5, "6 labels are to stand on it, but it holds no more than 5"),
        ({"A": 3}, 8, "says nothing of B"),
        ({}, 1, "no more than 1"),
        ({}, 0, "holds none"),
    ):
        with pytest.raises(UsageError, match=said):
            shares_of(["A", "B"], stated, holds, "--sheet A4")


def test_what_labels_go_by() -> None:
    calls = [("A", "Label A", "labels.pdf#1"), ("B", "Label B", "labels.pdf#2")]
    assert by_label("--share", calls, {"b": 2, "Labels.pdf#1": 6}) == {0: 6, 1: 2}
    for stated, said in (
        ({"A": 3, "C": 3}, "--share C: there is no such label; there are A and B"),
        ({"A": 3, "Label A": 3}, "--share: A is named twice"),
    ):
        with pytest.raises(UsageError, match=said):
            by_label("--share", calls, stated)
    with pytest.raises(UsageError, match="several labels are called so"):
        by_label("--share", [("x.pdf#1", "x"), ("x.pdf#2", "x")], {"x": 1})


def test_sheet_sizes() -> None:
    # ISO 217: SRA3 is 320 × 450 mm; ISO 216: A3 297 × 420, B2 500 × 707.
    for name, size in (("sra3", (450, 320)), ("A3", (420, 297)), ("B2", (707, 500))):
        assert (paper_of(name).width, paper_of(name).height) == size
    assert (paper_of("700x1000").width, paper_of("320 × 450 mm").height) == (700, 450)
    assert paper_of("700x1000", grain="long").grain_is_level is False
    for wrong in ("A33", "450", "4500x320", "1x1", "450x-3"):
        with pytest.raises(UsageError, match="--sheet"):
            paper_of(wrong)
