"""Size, scale, centre and turn of the trim, with the placement found from the page's boxes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from prepcheck.art.facts import PageBoxes
from prepcheck.art.model import ArtKind, Content, ImageItem, RasterFacts, Space, SpaceFamily
from prepcheck.findings import Severity
from prepcheck.geometry import Box, Quad
from prepcheck.measure.trim import locate_trim
from prepcheck.said import Clear, NotApplicable
from prepcheck.sheets.exam import Exam
from tests.checks.exams import examine, findings, make_exam, make_page, resolve, sleeve_spec

IDENTIFIERS = ("size.trim", "size.scale", "size.trim-unstated", "size.off-centre", "size.rotated")


def exam(
    media: tuple[float, float],
    trim: Box | None = None,
    *,
    crop: Box | None = None,
    rotate: int = 0,
    spec: str = "label-pinned",
    raster: RasterFacts | None = None,
) -> Exam:
    boxes = PageBoxes(Box(0, 0, *media), trim=trim, crop=crop)
    known = raster is None or raster.ppi is not None
    resolved = resolve(spec)
    content = Content() if raster is None else Content(images=(whole(boxes.media),))
    placement = locate_trim(
        make_page(boxes=boxes, rotate=rotate, content=content), resolved.outline_of(), 3.0,
        resolved.outline.trim_tolerance_mm, known,
    )  # fmt: skip
    return make_exam(resolved, boxes=boxes, rotate=rotate, placement=placement, raster=raster)


def whole(box: Box) -> ImageItem:
    space = Space(SpaceFamily.CMYK, 4)
    return ImageItem(
        "page", Quad(*box.corners), box, (1252, 1252), 8, space, (), (300, 300), False, None,
        False, None,
    )  # fmt: skip


def faults(part: Exam) -> set[str]:
    return {identifier for identifier in IDENTIFIERS if findings(identifier, part)}


def centred(side: float, media: float = 106.0) -> Box:
    return Box.centred(side, side, at=(media / 2, media / 2))


def test_a_good_page_is_clear_in_every_check() -> None:
    part = exam((106, 106), centred(100))
    assert faults(part) == set()
    for identifier in IDENTIFIERS:
        assert [type(said) for said in examine(identifier, part)] == [Clear]


@pytest.mark.parametrize(
    ("side", "stops"), [(99.48, True), (99.5, False), (100.5, False), (100.52, True)]
)
def test_trim_against_its_tolerance(side: float, stops: bool) -> None:
    found = findings("size.trim", exam((106, 106), centred(side)))
    assert bool(found) == stops
    if found:
        assert found[0].severity is Severity.STOP
        assert found[0].source == "pinned for tests: outline"


def test_trim_names_both_axes() -> None:
    (found,) = findings("size.trim", exam((130, 66), Box(3, 3, 124, 65), spec="sleeve-pinned"))
    assert (found.measured, found.required, found.unit) == ("121.0 × 62.0", "123.0 × 60.0", "mm")
    assert "2.0 mm too narrow and 2.0 mm too high" in found.message
    assert found.where[0].box == pytest.approx(Box(-60.5, -31, 60.5, 31))


def test_a_trim_box_that_holds_the_bleed_is_advised_on() -> None:
    (found,) = findings("size.trim", exam((106, 106), centred(106)))
    assert "3.0 mm of bleed" in found.fix


def test_scale_speaks_and_size_keeps_still() -> None:
    part = exam((53, 53), centred(50, 53))
    assert faults(part) == {"size.scale"}
    (found,) = findings("size.scale", part)
    assert (found.measured, found.severity) == (2.0, Severity.STOP)
    assert "50.0 × 50.0 mm" in found.message
    assert "200 %" in found.fix


def test_scale_and_size_both_speak_when_it_is_still_wrong() -> None:
    part = exam((53, 53), centred(49.5, 53))
    assert faults(part) == {"size.scale", "size.trim"}
    (found,) = findings("size.trim", part)
    assert found.measured == "99.0 × 99.0"


@pytest.mark.parametrize(
    ("media", "rule"),
    [
        ((106.0, 106.0), "page size equal to trim and bleed"),
        ((100.0, 100.0), "page size equal to trim"),
        ((210.0, 297.0), "best fit by the centre of the page"),
    ],
)
def test_unstated_trim_names_the_rule(media: tuple[float, float], rule: str) -> None:
    part = exam(media)
    (found,) = findings("size.trim-unstated", part)
    assert (found.severity, found.measured) == (Severity.QUERY, rule)
    assert rule in found.message
    assert faults(part) == {"size.trim-unstated"}


def test_best_fit_measures_no_size() -> None:
    (said,) = examine("size.trim", exam((210, 297)))
    assert isinstance(said, NotApplicable)


def test_a_page_smaller_than_the_piece_is_a_wrong_size() -> None:
    assert faults(exam((97, 97))) == {"size.trim", "size.trim-unstated"}


def raster(ppi: tuple[float, float] | None) -> RasterFacts:
    return RasterFacts((1252, 1252), 8, Space(SpaceFamily.CMYK, 4), ppi, "none")


def test_a_picture_of_the_right_size_states_no_trim_and_need_not() -> None:
    part = exam((106, 106), raster=raster((300, 300)))
    assert part.artwork.kind is ArtKind.TIFF
    assert faults(part) == set()


def test_a_picture_without_resolution_is_asked_about() -> None:
    part = exam((1252, 1252), raster=raster(None))
    assert faults(part) == {"size.trim-unstated"}
    for identifier in ("size.trim", "size.scale"):
        assert [type(said) for said in examine(identifier, part)] == [NotApplicable]


def test_a_picture_at_72_ppi_is_at_another_scale() -> None:
    side = 1252 / 72 * 25.4
    (found,) = findings("size.scale", exam((side, side), raster=raster((72, 72))))
    assert found.measured == pytest.approx(72 / 300)
    assert "72 ppi stated where 300 was meant" in found.message


@pytest.mark.parametrize(("shift", "off"), [((0.09, 0), None), ((0.12, 0), 0.12), ((3, -4), 5.0)])
def test_off_centre(shift: tuple[float, float], off: float | None) -> None:
    trim = Box.centred(100, 100, at=(60 + shift[0], 60 + shift[1]))
    found = findings("size.off-centre", exam((120, 120), trim))
    assert [f.measured for f in found] == ([] if off is None else [pytest.approx(off)])
    if off == 5.0:
        assert "3.0 mm to the right of and 4.0 mm below the page's centre" in found[0].message
        assert found[0].where[0].box.centre == pytest.approx((-3, 4))


def test_centre_is_that_of_the_page_as_shown() -> None:
    part = exam((140, 120), Box(3, 3, 103, 103), crop=Box(0, 0, 106, 106))
    assert findings("size.off-centre", part) == []


@pytest.mark.parametrize("rotate", [90, 180, 270])
def test_rotation_is_asked_about(rotate: int) -> None:
    (found,) = findings("size.rotated", exam((106, 106), centred(100), rotate=rotate))
    assert (found.severity, found.measured) == (Severity.QUERY, float(rotate))


@pytest.mark.parametrize(
    ("orientation", "spec", "size", "degrees"),
    [
        (6, "sleeve-pinned", (129, 66), 90.0),
        (3, "sleeve-pinned", (129, 66), 180.0),
        (8, "sleeve-pinned", (129, 66), 270.0),
        (2, "label-pinned", (106, 106), 0.0),
        (1, "sleeve-pinned", (129, 66), None),
        (6, "label-pinned", (106, 106), None),
    ],
)
def test_a_picture_that_is_stored_turned(orientation, spec, size, degrees) -> None:
    """Exif and TIFF 6.0, tag 274: 3 upside down, 6 and 8 on its side, 2 mirrored; a label is round,
    so that only a mirrored one comes out otherwise."""
    facts = replace(raster((300, 300)), orientation=orientation)
    found = findings("size.rotated", exam(size, spec=spec, raster=facts))
    assert [f.measured for f in found] == ([] if degrees is None else [degrees])


def test_a_piece_on_its_side() -> None:
    part = exam((66, 129), Box(3, 3, 63, 126), spec="sleeve-pinned")
    assert faults(part) == {"size.rotated"}
    assert sleeve_spec().outline_of().bounds.width == 123


@pytest.mark.parametrize(("page", "bleed"), [(104.0, 2.0), (110.0, 5.0)])
def test_a_page_that_may_be_two_sizes_is_asked(page: float, bleed: float) -> None:
    """104 mm is 98 mm with the wanted bleed of 3 mm, or 100 mm with 2 mm."""
    (finding,) = findings("size.trim", exam((page, page)))
    assert (finding.severity, finding.code) == (Severity.QUERY, "two-readings")
    assert f"{page - 6:.1f} × {page - 6:.1f} mm with 3.0 mm of bleed" in finding.message
    assert f"100.0 × 100.0 mm with {bleed:.1f} mm" in finding.message
    assert "measures 106.0 × 106.0 mm" in finding.fix, "what is to be sent, whatever there is"
    assert findings("size.trim-unstated", exam((page, page))) == [], "one question, asked once"
    assert findings("size.trim", exam((106.0, 106.0))) == []
    assert findings("size.trim", exam((page, page), centred(100.0, page))) == []
