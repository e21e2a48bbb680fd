"""Flats of panels against published drawings, and what a spine of so many discs needs."""

import numpy as np
import pytest

from prepcheck.geometry import Point
from prepcheck.spec.load import load_spec
from prepcheck.spec.sleeve import FlapSpec, PanelSpec, SpineRules, panels_outline
from prepcheck.tables import read_table


def mm_from_inch(length_in: float) -> float:
    return 25.4 * length_in


def panel(name: str, width: float, height: float, **more: object) -> PanelSpec:
    return read_table(PanelSpec, {"name": name, "width_mm": width, "height_mm": height, **more})


def row(widths: list[float], height: float, number: int = 0) -> list[PanelSpec]:
    return [panel(f"{number}.{i}", width, height, row=number) for i, width in enumerate(widths)]


# Sums of published drawings of record plants (common practice): inches, then millimetres.
def test_a_jacket_is_as_wide_as_two_faces_and_the_spine() -> None:
    widths = [mm_from_inch(value) for value in (12.3125, 0.161, 12.3125)]
    assert panels_outline(row(widths, 313.2), ()).bounds.width == pytest.approx(
        mm_from_inch(24.786)
    )


@pytest.mark.parametrize(
    ("widths", "heights", "flat"),
    [
        # 2 x 12.47 + 0.2027 = 25.1427 in; 12.3427 + 12.3133 = 24.656 in
        ((12.47, 0.2027, 12.47), (12.3133, 12.3427), (25.1427, 24.656)),
        # 313 + 4 + 313 = 630 mm; 313 + 312.25 = 625.25 mm
        (
            (313 / 25.4, 4 / 25.4, 313 / 25.4),
            (312.25 / 25.4, 313 / 25.4),
            (630 / 25.4, 625.25 / 25.4),
        ),
    ],
)  # fmt: skip
def test_a_gatefold_flat_is_two_rows(
    widths: tuple[float, ...], heights: tuple[float, ...], flat: tuple[float, float]
) -> None:
    inches = [mm_from_inch(value) for value in widths]
    rows = [
        p for i, height in enumerate(heights) for p in row(inches, mm_from_inch(height), number=i)
    ]
    bounds = panels_outline(rows, ()).bounds
    assert (bounds.width, bounds.height) == pytest.approx(tuple(map(mm_from_inch, flat)))
    assert bounds.centre == pytest.approx((0.0, 0.0))


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("jacket-12in-flaps", (629.6, 352.7)),
        ("gatefold-12in-flat", (630.0, 625.25 + 25.0)),
        ("gatefold-7in-flat", (370.0, 387.5)),
        ("inner-7in", (177.8, 177.8)),
        ("inner-10in", (254.0, 254.0)),
    ],
)
def test_flats_have_the_published_size(name: str, size: tuple[float, float]) -> None:
    bounds = load_spec(name).outline_of().bounds
    assert (bounds.width, bounds.height) == pytest.approx(size, abs=0.05)


@pytest.mark.parametrize("name", ["gatefold-12in-flat", "gatefold-7in-flat"])
def test_pockets_are_a_little_shorter_than_the_outside(name: str) -> None:
    boxes = {part.name: part.box for part in load_spec(name).outline_of().panels}
    # 0.5 to 0.85 mm in published guides (common practice).
    assert 0.5 <= boxes["front"].height - boxes["left inside"].height <= 0.85


def test_rows_fold_on_each_other_panel_by_panel() -> None:
    # Spines of 5.15 and 6.35 mm overlap the faces of the other row by 0.6 mm: no fold there.
    upper = row([315.89, 6.35, 315.89], 312.76)
    lower = row([316.74, 5.15, 316.74], 313.5, number=1)
    found = panels_outline([*upper, *lower], ()).folds
    folds = {fold.name.removeprefix("fold between ").replace(" and ", "/"): fold for fold in found}
    assert " ".join(sorted(folds)) == "0.0/0.1 0.0/1.0 0.1/0.2 0.1/1.1 0.2/1.2 1.0/1.1 1.1/1.2"
    top = (313.5 + 312.76) / 2
    assert folds["0.1/1.1"].start == pytest.approx(Point(-5.15 / 2, top - 312.76))
    assert folds["0.0/0.1"].end == pytest.approx(Point(-6.35 / 2, top))


def test_the_trim_follows_the_flaps() -> None:
    flaps = [FlapSpec(name="flap", panel="0.0", edge="top", depth_mm=19.05, in_art=True)]
    outline = panels_outline(row([312.0, 4.0, 312.0], 314.0), flaps)
    assert outline.bounds.height == pytest.approx(314.0 + 19.05)
    above_back, above_front = Point(-150.0, 160.0), Point(150.0, 160.0)
    distance = outline.signed_distance(np.array([above_back, above_front]))
    assert distance[0] < 0 < distance[1]
    assert [part.ink_allowed for part in outline.panels] == [True, True, True, False]


def test_spines_read_from_top_to_bottom_and_faces_upwards() -> None:
    outline = load_spec("jacket-12in").outline_of()
    assert [part.reads for part in outline.panels] == ["up", "right", "up"]
    inside = {part.name: part.reads for part in load_spec("gatefold-12in-flat").outline_of().panels}
    assert (inside["left inside"], inside["spine inside"]) == ("down", "left")


# 3, 5 and 7 mm for one, two and three discs in a published guide of a record plant.
@pytest.mark.parametrize(("discs", "width"), [(1, 3.0), (2, 5.0), (3, 7.0)])
def test_spine_by_disc_count(discs: int, width: float) -> None:
    rules = load_spec("jacket-12in").spine
    assert rules is not None
    found = rules.width_for(discs)
    assert found is not None
    assert found.least_mm == width
    assert rules.width_for(9) is None


def test_spine_by_board() -> None:
    rules = read_table(SpineRules, {
        "widths": [
            {"discs": 1, "least_mm": 3, "most_mm": 3},
            {"discs": 1, "least_mm": 4, "most_mm": 4, "board_gsm": 350},
        ],
        "width_tolerance_mm": 0.5,
        "off_centre": {"wanted_mm": 0.5, "most_mm": 1.0},
    })  # fmt: skip
    heavy = rules.replaced(board_gsm=350.0)
    assert [r.width_for(1).least_mm for r in (rules, heavy)] == [3.0, 4.0]  # type: ignore[union-attr]
