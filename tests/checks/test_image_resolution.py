import pytest

from prepcheck.art.model import Content
from prepcheck.geometry import Box
from prepcheck.said import Clear, Measured, NotApplicable
from tests.checks.exams import BLACK, examine, findings, make_exam
from tests.checks.pictures import GREY, picture

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
