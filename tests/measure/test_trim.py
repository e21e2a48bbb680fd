"""Where the trim is found, rule by rule; truth by construction."""

from __future__ import annotations

from dataclasses import replace

import pytest

from prepcheck.art.facts import Layer, PageBoxes
from prepcheck.art.model import Content, ImageItem, PathItem, Space, SpaceFamily
from prepcheck.geometry import Affine, Box, Quad
from prepcheck.measure.trim import SCALES, TrimPlacement, TrimRule, locate_trim
from prepcheck.outline import Disc, Outline, Panel, Panels
from tests.checks.exams import BLACK, CYAN, WHITE, HandPage, box_path, circle_path, make_page, path

LABEL = Disc(100.0, 7.24)
SLEEVE = Panels(
    (Panel("back", "face", Box(-100, -50, 0, 50)), Panel("front", "face", Box(0, -50, 100, 50)))
)
CUT = Layer("die", True, True, ("Structural", "Cutting"))


def locate(page: HandPage, outline: Outline = LABEL, **options: object) -> TrimPlacement:
    return locate_trim(page, outline, 3.0, 0.5, **options)  # type: ignore[arg-type]


def image(box: Box) -> ImageItem:
    quad = Quad(*box.corners)
    space = Space(SpaceFamily.CMYK, 4)
    return ImageItem(
        "Im1", quad, box, (100, 100), 8, space, (), (300, 300), False, None, False, None
    )


def marks(
    trim: Box, *, gap: float = 4.0, length: float = 5.0, as_fill: bool = False
) -> list[PathItem]:
    found = []
    for x, sx in ((trim.x0, -1), (trim.x1, 1)):
        for y, sy in ((trim.y0, -1), (trim.y1, 1)):
            ends = (
                ((x, y + sy * gap), (x, y + sy * (gap + length))),
                ((x + sx * gap, y), (x + sx * (gap + length), y)),
            )
            for start, end in ends:
                if as_fill:
                    found.append(box_path(Box.around((start, end)).grown(0.05), fill=BLACK))
                else:
                    found.append(path([start, end], stroke=BLACK, stroke_mm=0.09, closed=False))
    return found


def centre_strokes(x: float, y: float, radius: float, gap: float = 4.0) -> list[PathItem]:
    inner, outer = radius + gap, radius + gap + 6
    ends = [
        ((x, y + inner), (x, y + outer)), ((x, y - inner), (x, y - outer)),
        ((x + inner, y), (x + outer, y)), ((x - inner, y), (x - outer, y)),
    ]  # fmt: skip
    return [path(pair, stroke=BLACK, stroke_mm=0.1, closed=False) for pair in ends]


def boxed(media: tuple[float, float], **others: Box) -> PageBoxes:
    return PageBoxes(Box(0, 0, *media), **others)


def test_trim_box_wins_over_a_page_that_fits() -> None:
    page = make_page(boxes=boxed((106, 106), trim=Box(2, 3, 102, 103)))
    found = locate(page)
    assert (found.found_by, found.trim, found.factor, found.turned) == (
        TrimRule.TRIM_BOX, Box(2, 3, 102, 103), 1.0, 0,
    )  # fmt: skip
    assert found.to_piece.at(52, 53) == pytest.approx((0, 0))
    assert found.to_piece.at(102, 53) == pytest.approx((50, 0))


def test_a_trim_box_of_the_wrong_size_is_read_as_drawn() -> None:
    found = locate(make_page(boxes=boxed((106, 106), trim=Box(4, 4, 102, 102))))
    assert (found.size_mm, found.factor) == ((98, 98), 1.0)


def test_a_trim_box_that_holds_the_bleed_is_not_another_scale() -> None:
    found = locate(make_page(boxes=boxed((106, 106), trim=Box(0, 0, 106, 106))))
    assert (found.size_mm, found.factor) == ((106, 106), 1.0)


@pytest.mark.parametrize("scale", SCALES, ids=lambda s: s.cause)
def test_a_trim_box_at_each_scale(scale: object) -> None:
    factor = scale.factor  # type: ignore[attr-defined]
    side = 100 / factor
    found = locate(make_page(boxes=boxed((side, side), trim=Box(0, 0, side, side))))
    assert found.factor == factor
    assert found.size_mm == pytest.approx((100, 100))
    assert found.to_piece.at(side, side) == pytest.approx((50, 50))


def test_half_scale_that_is_a_little_off_keeps_its_error() -> None:
    found = locate(make_page(boxes=boxed((60, 60), trim=Box(5, 5, 54.5, 54.5))))
    assert (found.factor, found.size_mm) == (2.0, (99, 99))


def test_a_size_between_the_scales_is_not_guessed() -> None:
    found = locate(make_page(boxes=boxed((80, 80), trim=Box(0, 0, 70, 70))))
    assert found.factor == 1.0


@pytest.mark.parametrize(("rotate", "turned"), [(0, 90), (90, 90), (270, 270)])
def test_a_turned_sleeve(rotate: int, turned: int) -> None:
    page = make_page(boxes=boxed((106, 206), trim=Box(3, 3, 103, 203)), rotate=rotate)
    found = locate(page, SLEEVE)
    assert (found.turned, found.size_mm) == (turned, (200, 100))
    assert found.to_piece.box(found.trim) == pytest.approx(Box(-100, -50, 100, 50))


def test_a_turned_sleeve_of_the_wrong_size_is_still_turned() -> None:
    found = locate(make_page(boxes=boxed((120, 210), trim=Box(3, 3, 101, 199))), SLEEVE)
    assert (found.turned, found.size_mm) == (90, (196, 98))


def test_cut_lines_on_a_structural_layer_even_a_hidden_one() -> None:
    die = circle_path(50, at=(70, 60), stroke=BLACK, stroke_mm=0.25, layer="die")
    shown = make_page(size=(140, 130), content=Content(paths=(die,)))
    hidden = make_page(size=(140, 130), content=Content(hidden=Content(paths=(die,))))
    for page in (shown, hidden):
        found = locate(page, layers=(CUT,))
        assert found.found_by is TrimRule.CUT_LINES
        assert found.trim == pytest.approx(Box(20, 10, 120, 110))
    assert locate(shown).found_by is not TrimRule.CUT_LINES


@pytest.mark.parametrize("bleed", [0.6, 2.0, 3.0, 3.175, 5.0, 6.0])
def test_page_of_trim_and_bleed(bleed: float) -> None:
    side = 100 + 2 * bleed
    found = locate(make_page(size=(side, side)))
    assert found.found_by is TrimRule.PAGE_AND_BLEED
    assert found.trim == pytest.approx(Box(bleed, bleed, 100 + bleed, 100 + bleed))


@pytest.mark.parametrize("side", [99.5, 100.0, 100.5])
def test_page_of_trim(side: float) -> None:
    found = locate(make_page(size=(side, side)))
    assert (found.found_by, found.size_mm) == (TrimRule.PAGE, (side, side))


def test_crop_box_of_trim_and_bleed_on_a_larger_sheet() -> None:
    found = locate(make_page(boxes=boxed((210, 297), crop=Box(50, 60, 156, 166))))
    assert (found.found_by, found.trim) == (TrimRule.PAGE_AND_BLEED, Box(53, 63, 153, 163))


@pytest.mark.parametrize("as_fill", [False, True])
def test_crop_marks(as_fill: bool) -> None:
    trim = Box(61, 102, 161, 202)
    inside = box_path(Box(90, 130, 91, 140), fill=BLACK)
    content = Content(paths=(*marks(trim, as_fill=as_fill), inside))
    found = locate(make_page(size=(210, 297), content=content))
    assert found.found_by is TrimRule.CROP_MARKS
    assert found.trim == pytest.approx(trim, abs=0.01)


def test_crop_marks_beside_bleed_and_centre_marks() -> None:
    trim = Box(61, 102, 161, 202)
    extra = [*marks(trim.grown(3), gap=2), *centre_strokes(111, 152, 50, gap=6)]
    content = Content(paths=(*extra, *marks(trim, gap=5)))
    assert locate(make_page(size=(210, 297), content=content)).trim == pytest.approx(trim)


def test_crop_marks_of_a_wrong_size_are_read_as_drawn() -> None:
    trim = Box(60, 100, 158, 198)
    found = locate(make_page(size=(210, 297), content=Content(paths=tuple(marks(trim)))))
    assert (found.found_by, found.size_mm) == (TrimRule.CROP_MARKS, pytest.approx((98, 98)))


def test_crop_marks_at_half_scale_and_turned() -> None:
    trim = Box(60, 100, 110, 200)
    found = locate(make_page(size=(210, 297), content=Content(paths=tuple(marks(trim)))), SLEEVE)
    assert (found.factor, found.turned, found.size_mm) == (2.0, 90, pytest.approx((200, 100)))


def test_three_corners_are_no_crop_marks() -> None:
    trim = Box(61, 102, 161, 202)
    content = Content(paths=tuple(marks(trim)[:6]))
    assert locate(make_page(size=(210, 297), content=content)).found_by is TrimRule.BEST_FIT


def test_marks_on_the_axes_give_the_centre() -> None:
    content = Content(paths=tuple(centre_strokes(90, 140, 50)))
    found = locate(make_page(size=(210, 297), content=content))
    assert found.found_by is TrimRule.CROP_MARKS
    assert found.trim == pytest.approx(Box(40, 90, 140, 190))


def test_half_scale_page_with_bleed() -> None:
    found = locate(make_page(size=(53, 53)))
    assert (found.found_by, found.factor) == (TrimRule.PAGE_AND_BLEED, 2.0)
    assert found.trim == pytest.approx(Box(1.5, 1.5, 51.5, 51.5))


def test_true_size_art_on_a_sheet_of_double_size_is_not_another_scale() -> None:
    sheet = box_path(Box(0, 0, 200, 200), fill=WHITE)
    art = circle_path(53, at=(100, 100), fill=CYAN)
    found = locate(make_page(size=(200, 200), content=Content(paths=(sheet, art))))
    assert (found.found_by, found.factor) == (TrimRule.ART_EXTENT, 1.0)
    assert found.trim == pytest.approx(Box(50, 50, 150, 150), abs=0.01)


def test_art_that_fills_a_sheet_of_double_size_is() -> None:
    content = Content(images=(image(Box(0, 0, 212, 212)),))
    found = locate(make_page(size=(212, 212), content=content))
    assert (found.found_by, found.factor) == (TrimRule.PAGE_AND_BLEED, 0.5)


def test_half_scale_art_on_a_sheet() -> None:
    art = circle_path(26.5, at=(70, 200), fill=CYAN)
    found = locate(make_page(size=(210, 297), content=Content(paths=(art,))))
    assert (found.found_by, found.factor) == (TrimRule.ART_EXTENT, 2.0)
    assert found.to_piece.at(70, 200) == pytest.approx((0, 0), abs=0.01)


def test_a_box_that_two_scales_fit_is_not_guessed() -> None:
    # 39.7 mm: 2.54 times leaves 0.42 mm of bleed, 72/25.4 times 6.27 mm; neither is usual.
    assert locate(make_page(size=(39.7, 39.7))).factor == 1.0
    assert locate(make_page(size=(39.37, 39.37))).factor == 2.54


def test_best_fit_lies_on_the_centre_of_the_page() -> None:
    found = locate(make_page(size=(210, 297)))
    assert (found.found_by, found.trim) == (TrimRule.BEST_FIT, Box.centred(100, 100, (105, 148.5)))
    assert not found.found_by.measures_size


def test_a_page_smaller_than_the_trim_is_read_as_it_is() -> None:
    assert locate(make_page(size=(97, 97))).size_mm == (97, 97)


@pytest.mark.parametrize(
    ("pixels", "outline", "rule", "factor", "turned"),
    [
        ((1060, 1060), LABEL, TrimRule.PROPORTIONS, 0.1, 0),
        ((2060, 1060), SLEEVE, TrimRule.PROPORTIONS, 0.1, 0),
        ((2000, 1000), SLEEVE, TrimRule.PROPORTIONS, 0.1, 0),
        ((1060, 2060), SLEEVE, TrimRule.PROPORTIONS, 0.1, 90),
        ((3000, 1060), SLEEVE, TrimRule.BEST_FIT, 100 / 1060, 0),
    ],
)
def test_a_picture_without_a_resolution(
    pixels: tuple[int, int], outline: Outline, rule: TrimRule, factor: float, turned: int
) -> None:
    found = locate(make_page(size=pixels), outline, raster_ppi_known=False)
    assert found.found_by is rule
    assert found.factor == pytest.approx(factor)
    assert found.turned == turned
    assert found.size_mm == pytest.approx((outline.bounds.width, outline.bounds.height))


def test_the_map_is_the_inverse_of_itself_back_and_forth() -> None:
    page = replace(make_page(boxes=boxed((53, 103), trim=Box(1.5, 1.5, 51.5, 101.5))), rotate=90)
    found = locate(page, SLEEVE)
    assert (found.factor, found.turned) == (2.0, 90)
    back = found.to_piece.then(found.to_piece.inverse())
    assert back == pytest.approx(Affine.identity(), abs=1e-9)
