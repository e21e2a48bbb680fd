"""Paths, clips, strokes and paints by hand-worked figures (mm unless said)."""

from __future__ import annotations

import math

import pytest

from prepcheck.art.model import Content, PathItem, SpaceFamily
from prepcheck.art.pdf.content.clip import Clip
from prepcheck.art.pdf.content.paths import FLATNESS, PathBuilder, stroke_width
from prepcheck.geometry import Affine, Box
from tests.art.pdf.walking import walked
from tests.factories import Pdf, Raw, Stream, disc_path, one_page


def content_of(content: str, **options: object) -> Content:
    return walked(one_page(content, (200, 200), **options))


def only(content: str, **options: object) -> PathItem:
    (item,) = content_of(content, **options).paths
    return item


def test_rectangle_keeps_its_place_and_paint() -> None:
    item = only("0.4 0.2 0.6 1 k 10 20 30 40 re f")
    assert item.box == pytest.approx((10, 20, 40, 60))
    assert item.stroke is None
    assert item.fill is not None
    assert item.fill.inks == (("Cyan", 0.4), ("Magenta", 0.2), ("Yellow", 0.6), ("Black", 1.0))
    assert item.segments[0] == pytest.approx((10, 20, 40, 20, 40, 60, 10, 60, 10, 20))
    assert not item.clipped


def test_curve_is_flattened_within_the_promise() -> None:
    (run,) = only(f"{disc_path(100, 100, 50)} f").lines()
    radii = [math.hypot(x - 100, y - 100) for x, y in run]
    # The four arcs themselves leave the circle by up to 0.03 % of the radius.
    assert max(abs(radius - 50) for radius in radii) <= 0.0003 * 50 + 1e-6
    middles = (run[1:] + run[:-1]) / 2
    chords = [math.hypot(x - 100, y - 100) for x, y in middles]
    assert min(chords) >= 50 - FLATNESS - 1e-6
    assert tuple(run[0]) == pytest.approx(tuple(run[-1]))


@pytest.mark.parametrize(
    ("operators", "corners"),
    [
        ("10 10 m 20 10 l 20 20 l f", [10, 10, 20, 10, 20, 20, 10, 10]),
        ("10 10 m 20 10 l 20 20 l S", [10, 10, 20, 10, 20, 20]),
        ("10 10 m 20 10 l 20 20 l s", [10, 10, 20, 10, 20, 20, 10, 10]),
        ("10 10 m 20 10 l 20 20 l b*", [10, 10, 20, 10, 20, 20, 10, 10]),
        ("5 5 m 10 10 m 20 10 l S", [10, 10, 20, 10]),
    ],
)
def test_subpaths_close_as_they_are_painted(operators: str, corners: list[float]) -> None:
    assert only(operators).segments == (pytest.approx(corners),)


def test_line_after_closing_starts_at_the_subpaths_start() -> None:
    first, second = only("10 10 m 20 10 l 20 20 l h 10 30 l S").segments
    assert first[-2:] == pytest.approx((10, 10))
    assert second == pytest.approx((10, 10, 10, 30))


def test_v_and_y_curves() -> None:
    v, y = PathBuilder(), PathBuilder()
    identity = Affine.identity()
    v.move(identity, 0, 0)
    v.curve_from_here(identity, [10, 20, 20, 0])
    y.move(identity, 0, 0)
    y.curve(identity, [0, 0, 10, 20, 20, 0])
    assert v.runs == y.runs


def test_stroke_widens_the_box_and_hairlines_have_no_width() -> None:
    item = only("0.5 w 10 10 20 20 re S")
    assert item.stroke_mm == pytest.approx(0.5)
    assert item.box == pytest.approx((9.75, 9.75, 30.25, 30.25))
    assert only("0 w 10 10 20 20 re S").stroke_mm == 0.0


def test_butt_line_ends_where_it_ends() -> None:
    assert only("2 w 10 10 m 30 10 l S").box == pytest.approx((10, 9, 30, 11))
    assert only("2 w 2 J 10 10 m 30 10 l S").box == pytest.approx((9, 9, 31, 11))


@pytest.mark.parametrize(
    ("ctm", "expected"),
    [
        (Affine.scale(0.5, 2.0), 0.5),
        (Affine.turn(33.0), 1.0),
        (Affine(1, 0, 1, 1, 0, 0), (math.sqrt(5) - 1) / 2),  # singular values of a unit shear
        (Affine(0, 0, 0, 0, 0, 0), 0.0),
    ],
)
def test_stroke_width_is_the_narrower_axis(ctm: Affine, expected: float) -> None:
    assert stroke_width(ctm, 1.0) == pytest.approx(expected)


def test_clip_cuts_boxes_and_drops_what_is_outside() -> None:
    content = content_of("q 50 50 20 20 re W n 40 40 20 20 re f 100 100 5 5 re f Q 1 1 2 2 re f")
    first, second = content.paths
    assert first.box == pytest.approx((50, 50, 60, 60))
    assert first.clipped
    assert second.box == pytest.approx((1, 1, 3, 3))


def test_clip_of_a_turned_form_box_and_nested_clips() -> None:
    content = content_of(
        "q 0 0 100 100 re W n 50 50 100 100 re W* n 0 0 200 200 re f Q 120 120 5 5 re f"
    )
    assert content.paths[0].box == pytest.approx((50, 50, 100, 100))
    assert len(content.paths) == 2


def test_round_clip_drops_corners_and_keeps_what_crosses() -> None:
    clip = f"{disc_path(100, 100, 50)} W n "
    assert content_of(clip + "52 52 8 8 re f").paths == ()
    assert len(content_of(clip + "52 52 20 20 re f").paths) == 1
    assert len(content_of(clip + "0 0 200 200 re f").paths) == 1
    assert len(content_of(clip + "99 99 1 1 re f").paths) == 1


# A clip 0.1 mm wide along y = x from (50, 50) to (90, 90), less half its width each way.
_STRIP = (
    "50.035355 49.964645 m 90.035355 89.964645 l 89.964645 90.035355 l 49.964645 50.035355 l h W n "
)


@pytest.mark.parametrize("many", [1, 40])
@pytest.mark.parametrize(
    "fill", ["0 0 200 200 re f", "0 0 m 200 0 l 100 0 m 0 0 l h 0 0 200 200 re f*"]
)
def test_what_a_turned_clip_leaves_of_a_path_is_a_strip(fill: str, many: int) -> None:
    slivers = content_of(_STRIP + f"{fill}\n" * many).slivers
    assert len(slivers) == many
    assert sorted(slivers[-1].ends) == pytest.approx([50, 50, 90, 90], abs=1e-4)
    assert slivers[-1].width == pytest.approx(0.1, abs=1e-4)


@pytest.mark.parametrize("many", [1, 40])
@pytest.mark.parametrize(
    "art",
    [
        _STRIP + "0 0 70 200 re f",  # reaches over part of it
        _STRIP + "0 0 200 200 re 10 10 180 180 re f*",  # a frame round it
        _STRIP + "0 0 200 200 re S",
        f"{disc_path(50, 50, 30)} W n {_STRIP} 0 0 200 200 re f",  # cut again
        f"{disc_path(100, 100, 0.5)} W n 0 0 200 200 re f",  # no strip
    ],
)
def test_what_is_more_or_less_than_a_strip_is_none(art: str, many: int) -> None:
    paint = art.rpartition("W n ")[2]
    assert content_of(art + f" {paint}" * (many - 1)).slivers == ()


def test_a_strip_is_as_long_as_an_upright_clip_leaves_it() -> None:
    (sliver,) = content_of(f"60 0 10 200 re W n {_STRIP} 0 0 200 200 re f").slivers
    assert sorted(sliver.ends) == pytest.approx([60, 60, 70, 70], abs=1e-4)


def test_what_a_clip_cuts_is_told_from_what_it_holds() -> None:
    def cut(content: str) -> list[bool]:
        return [path.clipped for path in content_of(content).paths]

    disc = disc_path(100, 100, 50)
    assert cut(f"{disc} W n 80 80 40 40 re f 130 80 30 40 re f 60 60 20 20 re f") == [0, 1, 1]
    assert cut("20 20 60 60 re W n 19.9999 20 60.0002 60 re f 19.9 20 60 60 re f") == [0, 1]


def test_ring_clip_by_even_odd_rule_has_a_hole() -> None:
    ring = f"{disc_path(100, 100, 50)} {disc_path(100, 100, 20)} "
    assert content_of(ring + "W* n 98 98 4 4 re f").paths == ()
    assert len(content_of(ring + "W n 98 98 4 4 re f").paths) == 1
    assert len(content_of(ring + "W* n 98 130 4 4 re f").paths) == 1


def test_empty_clip_hides_everything() -> None:
    assert content_of("q W n 10 10 10 10 re f Q").paths == ()
    assert not Clip(Box(0, 0, 1, 1)).empty


def test_outside_the_page_does_not_count() -> None:
    assert content_of("-20 -20 10 10 re f").paths == ()


def test_overprint_mode_stays_until_it_is_set_again() -> None:
    """OPM starts at 0 (ISO 32000-2, Table 52) and is left alone by a state that has none."""
    states = {"A": {"OPM": 1}, "B": {"OP": True}, "C": {"OPM": 0}}
    content = content_of(
        "1 1 9 9 re f q /A gs 1 1 9 9 re f /B gs 1 1 9 9 re f /C gs 1 1 9 9 re f Q 1 1 9 9 re f",
        resources={"ExtGState": states},
    )
    modes = [item.fill.overprint_mode for item in content.paths if item.fill]
    assert modes == [0, 1, 1, 0, 0]


def test_graphics_state_dictionary() -> None:
    states = {
        "A": {"OP": True, "op": False, "ca": 0.5, "CA": 0.25, "LW": 3, "D": [[2], 0]},
        "B": {"OP": True},
        "C": {"OP": False},
    }
    resources = {"ExtGState": states}
    content = content_of(
        "/A gs 10 10 20 20 re B /B gs 10 10 20 20 re B /C gs 10 10 9 9 re B", resources=resources
    )
    found = [
        (item.fill.overprint, item.stroke.overprint, item.fill.opacity, item.stroke.opacity)
        for item in content.paths
        if item.fill and item.stroke
    ]
    assert found == [(False, True, 0.5, 0.25), (True, True, 0.5, 0.25), (False, False, 0.5, 0.25)]
    assert content.paths[0].stroke_mm == pytest.approx(3.0)
    assert content.paths[0].dashed


def test_wholly_clear_paint_is_hidden_and_marks_no_plate() -> None:
    content = content_of("/A gs 1 0 0 0 k 9 9 9 9 re f", resources={"ExtGState": {"A": {"ca": 0}}})
    assert content.paths == ()
    assert content.inks == ()
    assert content.hidden is not None
    assert len(content.hidden.paths) == 1


TINT = {"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [0, 0, 0, 0], "C1": [0, 1, 1, 0]}


def test_spots_painted_and_declared_are_told_apart() -> None:
    spaces = {
        "S1": [Raw("/Separation"), "Warm Red", "DeviceCMYK", TINT],
        "S2": [Raw("/Separation"), "Unused Gold", "DeviceCMYK", TINT],
    }
    content = content_of("/S1 cs 0.5 scn 5 5 9 9 re f", resources={"ColorSpace": spaces})
    assert content.inks == ("Warm Red",)
    assert set(content.declared_inks) == {"Warm Red", "Unused Gold"}
    (item,) = content.paths
    assert item.fill is not None
    assert item.fill.inks == (("Warm Red", 0.5),)
    assert item.fill.rgb == pytest.approx((1.0, 0.5, 0.5))


def test_shadings_count_with_clip_and_inks() -> None:
    shading = {
        "ShadingType": 2, "ColorSpace": "DeviceCMYK", "Coords": [0, 0, 1, 0], "Function": TINT,
    }  # fmt: skip
    resources = {
        "Shading": {"Sh": shading},
        "Pattern": {"P": {"PatternType": 2, "Shading": shading}},
    }
    content = content_of("q 10 10 30 30 re W n /Sh sh Q", resources=resources)
    assert content.shadings[0].box == pytest.approx((10, 10, 40, 40))
    assert content.inks == ("Magenta", "Yellow")
    item = only("/Pattern cs /P scn 10 10 30 30 re f", resources=resources)
    assert item.fill is not None
    assert item.fill.pattern == "shading"
    assert item.fill.space.family is SpaceFamily.CMYK
    assert dict(item.fill.inks)["Magenta"] == 1.0


def test_form_inherits_state_and_clips_to_its_box() -> None:
    pdf = Pdf()
    form = pdf.add(
        Stream(
            b"0 0 50 50 re f",
            {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 10, 10],
             "Matrix": [2, 0, 0, 2, 5, 5]},
        )
    )  # fmt: skip
    pdf.page(
        "0 0 1 0 k /Fm Do 1 0 0 1 100 0 cm /Fm Do", (200, 200), resources={"XObject": {"Fm": form}}
    )
    first, second = walked(pdf.bytes()).paths
    assert first.box == pytest.approx((5, 5, 25, 25))
    assert second.box == pytest.approx((105, 5, 125, 25))
    assert first.fill is not None
    assert first.fill.components == (0.0, 0.0, 1.0, 0.0)


def test_group_opacity_reaches_its_content() -> None:
    pdf = Pdf()
    form = pdf.add(
        Stream(
            b"/H gs 0 0 9 9 re f",
            {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 10, 10],
             "Group": {"S": "Transparency"}, "Resources": {"ExtGState": {"H": {"ca": 0.5}}}},
        )
    )  # fmt: skip
    resources = {"XObject": {"Fm": form}, "ExtGState": {"G": {"ca": 0.5}}}
    pdf.page("/G gs /Fm Do", (50, 50), resources=resources)
    (item,) = walked(pdf.bytes()).paths
    assert item.fill is not None
    assert item.fill.opacity == pytest.approx(0.25)


def test_uncoloured_cell_takes_the_colour_given() -> None:
    pdf = Pdf()
    cell = pdf.add(
        Stream(
            b"1 0 0 rg 0 0 4 4 re f",
            {"Type": "Pattern", "PatternType": 1, "PaintType": 2, "TilingType": 1,
             "BBox": [0, 0, 5, 5], "XStep": 5, "YStep": 5, "Resources": {}},
        )
    )  # fmt: skip
    pdf.page(
        "/PC cs 0 1 0 0 /P scn 10 10 40 40 re f", (100, 100),
        resources={"Pattern": {"P": cell}, "ColorSpace": {"PC": ["Pattern", "DeviceCMYK"]}},
    )  # fmt: skip
    content = walked(pdf.bytes())
    assert content.inks == ("Magenta",)
    whole, inner = content.paths
    assert whole.box == inner.box == pytest.approx((10, 10, 50, 50))
    assert inner.fill is not None
    assert inner.fill.components == (0.0, 1.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("scale", "line", "width"),
    [
        ((4, 1), "0 0 m 10 0 l", 0.5),
        ((4, 1), "0 0 m 0 10 l", 2.0),
        ((1, 6), "0 0 m 10 0 l", 3.0),
        ((3, 3), "0 0 m 7 7 l", 1.5),
        ((4, 1), "0 0 m 0 10 l 10 10 l", 0.5),
    ],
)
@pytest.mark.parametrize("many", [1, 40])
def test_a_stroke_under_an_uneven_scale_has_the_width_of_its_direction(
    scale, line, width, many
) -> None:
    """A line of 0.5 along x keeps what y is scaled by, and the other way round (ISO 32000-2,
    8.4.3.2: the pen is scaled with user space); of several directions the thinnest counts."""
    source = f"q {scale[0]} 0 0 {scale[1]} 0 0 cm 0.5 w " + f"{line} S " * many + "Q"
    content = content_of(source)
    assert {round(path.stroke_mm, 6) for path in content.paths} == {width}
