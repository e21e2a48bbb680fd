import numpy as np
import pytest

from prepcheck.art.model import Content
from prepcheck.geometry import Box
from prepcheck.said import Clear, Measured, NotApplicable
from tests.checks.exams import BLACK, examine, findings, make_exam
from tests.checks.pictures import GREY, picture
from tests.factories import Pdf, Stream
from tests.truth._run import said

CHECK = "image.resolution"


def said_of(*items):
    return [(f.severity, f.measured, f.required) for f in findings(CHECK, exam(*items))]


def exam(*items):
    return make_exam(content=Content(images=items))


@pytest.mark.parametrize(
    ("ppi", "severity"),
    [
        (198.9, "stop"),
        (199.0, "query"),
        (200.0, "query"),
        (298.9, "query"),
        (299.0, None),
        (300.0, None),
        (301.0, None),
    ],
)
def test_both_limits_of_continuous_tone(ppi, severity) -> None:
    """Limits 200 and 300 ppi, inclusive, with a tolerance of 1 ppi."""
    required = {"stop": 200, "query": 300}.get(severity)
    assert said_of(picture(ppi)) == ([(severity, ppi, required)] if severity else [])


@pytest.mark.parametrize(
    ("ppi", "severity"),
    [(598.9, "stop"), (599.0, "query"), (1198.9, "query"), (1199.0, None)],
)
@pytest.mark.parametrize(
    "one_bit", [{"bits": 1, "space": GREY}, {"bits": 1, "is_mask": True, "paint": BLACK}]
)
def test_both_limits_of_one_bit(ppi, severity, one_bit) -> None:
    required = {"stop": 600, "query": 1200}.get(severity)
    assert said_of(picture(ppi, **one_bit)) == ([(severity, ppi, required)] if severity else [])


def test_the_lower_axis_counts() -> None:
    assert said_of(picture((300.0, 150.0))) == [("stop", 150.0, 200)]
    assert said_of(picture((150.0, 300.0))) == [("stop", 150.0, 200)]


def test_like_findings_are_one_with_the_worst_place_first() -> None:
    boxes = [Box(x, 10, x + 5, 15) for x in (-20, -10, 0, 10)]
    items = [picture(ppi, box) for ppi, box in zip((150, 90, 120, 250), boxes, strict=True)]
    stop, query = findings(CHECK, exam(*items))
    assert [mark.value for mark in stop.where] == [90, 120, 150]
    assert stop.where[0].box == boxes[1]
    assert [mark.box for mark in query.where] == [boxes[3]]


def test_a_picture_in_strips_and_tiles_is_one_picture() -> None:
    """As exports of flattened pages have it; one of another resolution beside it is another."""
    tiles = [picture(150, Box(x, y, x + 5, y + 2)) for x in (-10, -5, 0) for y in range(-10, 10, 2)]
    (stop,) = findings(CHECK, exam(*tiles, picture(100, Box(5, -10, 15, 10))))
    assert stop.message.startswith("2 pictures with too few pixels: 100 ppi at the lowest")
    assert [mark.box for mark in stop.where] == [Box(5, -10, 15, 10), Box(-10, -10, 5, 10)]


@pytest.mark.parametrize(
    "unseen",
    [
        picture(72, visible=None),
        picture(72, Box(0, 0, 0.05, 0.05)),
        picture(72, opacity=0.0),
        picture(72, samples=(256, 1)),
        picture(72, Box(48, 48, 52, 52)),
    ],
)
def test_what_is_not_seen_is_not_judged(unseen) -> None:
    """Clipped away, without extent, transparent, a strip for a fade, off the bleed."""
    said = examine(CHECK, exam(unseen))
    assert [type(item) for item in said] == [Measured, NotApplicable]


def test_the_lowest_is_reported_also_when_clear() -> None:
    said = examine(CHECK, exam(picture(400), picture(350)))
    assert said[0] == Measured("lowest_ppi", 350)
    assert isinstance(said[1], Clear)
    assert said[1].measured == 350
    assert findings(CHECK, exam()) == []


def cut_out(folder, mask_px, feather=0.0, ground="", how="its own"):
    """Return what is said of a picture of 12 mm and 300 ppi, cut out round by a soft mask of so
    many samples: its own, or a group's in the graphics state, outside a group or inside."""
    pdf = Pdf()
    y, x = np.mgrid[:mask_px, :mask_px] + 0.5
    reach = np.hypot(x - mask_px / 2, y - mask_px / 2) / mask_px
    mask = np.clip((0.4 - reach) / max(feather, 1e-6) + 0.5, 0, 1)
    grey = {"Type": "XObject", "Subtype": "Image", "ColorSpace": "DeviceGray",
            "BitsPerComponent": 8}  # fmt: skip
    soft = pdf.add(
        Stream(
            (255 * mask).astype(np.uint8).tobytes(), grey | {"Width": mask_px, "Height": mask_px}
        )
    )
    size = {"Width": 142, "Height": 142} | ({"SMask": soft} if how == "its own" else {})
    image = pdf.add(Stream(bytes([60]) * 142 * 142, grey | size))
    whole = {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 56, 56],
             "Group": {"S": "Transparency", "CS": "DeviceGray"}}  # fmt: skip
    place = "q 12 0 0 12 22 22 cm /P Do Q"
    group = pdf.add(Stream(place.encode(), whole | {"Resources": {"XObject": {"P": soft}}}))
    states = {"M": {"SMask": {"S": "Luminosity", "G": group}}, "N": {"SMask": "None"}}
    resources = {"XObject": {"P": image}, "ExtGState": states}
    if how == "round a group":
        form = pdf.add(Stream(f"/N gs {place}".encode(), whole | {"Resources": resources}))
        resources, place = resources | {"XObject": {"F": form}}, "/F Do"
    begin = "" if how == "its own" else "/M gs"
    content = f"{ground} {begin} {place}"
    pdf.page(content, (56, 56), trim_mm=(3, 3, 53, 53), resources=resources)
    path = folder / "cut-out.pdf"
    path.write_bytes(pdf.bytes())
    return [f for f in said(path, CHECK, "sticker-square-50mm") if f.code == "mask"]


@pytest.mark.parametrize("how", ["its own", "of the state", "round a group"])
def test_a_mask_coarser_than_its_picture_is_a_query_where_its_steps_show(how, tmp_path) -> None:
    (finding,) = cut_out(tmp_path, 48, how=how)
    assert (finding.severity, finding.required) == ("query", 300)
    assert finding.measured == pytest.approx(48 * 25.4 / 12, abs=0.2)


def test_a_group_of_the_state_that_is_as_fine_is_no_fault(tmp_path) -> None:
    assert cut_out(tmp_path, 142, how="of the state") == []


@pytest.mark.parametrize(
    ("samples", "feather", "ground"),
    [(142, 0.0, ""), (48, 0.2, ""), (48, 0.0, "0.765 g 0 0 56 56 re f 0.235 g 20 20 20 20 re f")],
    ids=["as fine", "soft", "of the ground's colour"],
)
def test_a_mask_is_no_fault(samples, feather, ground, tmp_path) -> None:
    """As fine as its picture, too soft for steps, or where the picture has the ground's colour."""
    assert cut_out(tmp_path, samples, feather, ground) == []
