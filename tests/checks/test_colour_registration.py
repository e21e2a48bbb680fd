from dataclasses import replace

import pytest

from prepcheck.art.model import ALL_INKS, Content, Paint, Space, SpaceFamily
from prepcheck.geometry import Box
from prepcheck.said import Clear
from tests.checks.exams import BLACK, CMYK, box_path, examine, findings, make_exam, text
from tests.checks.pictures import picture

CHECK = "colour.registration"
ALL = Space(SpaceFamily.SEPARATION, 1, base=CMYK, colorants=(ALL_INKS,))
ON, OFF = Box(10, 10, 20, 12), Box(50, 50, 60, 50.2)


def registration(tint=1.0):
    return Paint(ALL, (tint,), ((ALL_INKS, tint),), (1 - tint,) * 3)


@pytest.mark.parametrize(
    "content",
    [
        Content(paths=(box_path(ON, fill=registration()),)),
        Content(paths=(box_path(ON, stroke=registration(), stroke_mm=0.2),)),
        Content(texts=(text([ON], fill=registration(0.1)),)),
        Content(images=(picture(space=ALL, box=ON),)),
    ],
)
def test_any_object_in_the_art_stops(content) -> None:
    (finding,) = findings(CHECK, make_exam(content=replace(content, inks=(ALL_INKS,))))
    assert (finding.severity, finding.measured) == ("stop", 1)


@pytest.mark.parametrize(
    "item",
    [
        box_path(OFF, fill=registration()),
        box_path(ON, fill=registration(0.0)),
        box_path(ON, fill=BLACK),
    ],
)
def test_marks_outside_tint_nought_and_black_are_no_fault(item) -> None:
    (said,) = examine(CHECK, make_exam(content=Content(paths=(item,), inks=(ALL_INKS,))))
    assert isinstance(said, Clear)
