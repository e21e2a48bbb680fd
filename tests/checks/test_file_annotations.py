import pytest

from prepcheck.art.facts import Annotation
from prepcheck.art.model import ArtKind
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import examine, findings, make_exam

CHECK = "file.annotations"
CENTRE = Box(50, 50, 56, 56)
CORNER = Box(0, 0, 5, 5)
"""In the page's frame (106 × 106 mm): 67 mm and more from the label's centre, off its bleed."""


@pytest.mark.parametrize(
    ("subtype", "box", "prints", "found"),
    [
        ("Text", CENTRE, False, True),
        ("Stamp", CENTRE, True, True),
        ("Text", CORNER, False, False),
        ("Stamp", CORNER, True, True),
        ("PrinterMark", CENTRE, True, False),
        ("Popup", CENTRE, False, False),
    ],
)
def test_annotations_on_the_art_or_that_print(subtype, box, prints, found) -> None:
    exam = make_exam(annotations=(Annotation(subtype, box, prints),))
    assert bool(findings(CHECK, exam)) == found


def test_the_place_is_in_the_frame_of_the_piece() -> None:
    exam = make_exam(annotations=(Annotation("Text", CENTRE, False),) * 2)
    (finding,) = findings(CHECK, exam)
    assert finding.measured == 2
    assert finding.where[0].box == Box(-3, -3, 3, 3)


def test_none_is_clear_and_a_raster_file_cannot_have_any() -> None:
    assert isinstance(examine(CHECK, make_exam())[0], Clear)
    assert isinstance(examine(CHECK, make_exam(kind=ArtKind.PNG))[0], NotApplicable)
