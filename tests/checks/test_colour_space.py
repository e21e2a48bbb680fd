import pytest

from prepcheck.art.model import Content, Paint, ShadingItem, Space, SpaceFamily
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import BLACK, box_path, examine, findings, label_spec, make_exam, text
from tests.checks.pictures import LAB, RGB, picture
from tests.factories import Pdf
from tests.truth._run import said

CHECK = "colour.space"
BOX = Box(10, 10, 20, 12)
RGB_BLACK = Paint(RGB, (0, 0, 0), (), (0, 0, 0))
ICC_RGB = Space(SpaceFamily.ICC, 3, base=RGB)
INDEXED_RGB = Space(SpaceFamily.INDEXED, 1, base=ICC_RGB)
PATTERN_RGB = Space(SpaceFamily.PATTERN, 3, base=RGB)
SPOT = Space(SpaceFamily.SEPARATION, 1, base=RGB, colorants=("Ember 21 C",))


def said_of(content, **options):
    return [
        (f.severity, f.measured, len(f.where)) for f in findings(CHECK, make_exam(
            content=content, **options))
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (Content(images=(picture(space=RGB, box=BOX),)), "picture"),
        (Content(images=(picture(bits=1, is_mask=True, paint=RGB_BLACK, box=BOX),)), "picture"),
        (Content(texts=(text([BOX], fill=RGB_BLACK),)), "piece of type"),
        (Content(paths=(box_path(BOX, stroke=RGB_BLACK, stroke_mm=0.0),)), "drawn shape"),
        (Content(shadings=(ShadingItem(BOX, RGB, None),)), "blend"),
    ],
)
def test_each_kind_of_object_is_named_with_its_place(content, word) -> None:
    (finding,) = findings(CHECK, make_exam(content=content))
    assert finding.severity == "stop"
    assert word in finding.message
    assert finding.where[0].box == BOX


@pytest.mark.parametrize(
    ("space", "measured"),
    [(RGB, "RGB"), (ICC_RGB, "RGB"), (INDEXED_RGB, "RGB"), (PATTERN_RGB, "RGB"), (LAB, "Lab")],
)
def test_the_space_under_a_space_counts(space, measured) -> None:
    assert said_of(Content(images=(picture(space=space),))) == [("stop", measured, 1)]


def test_a_spot_with_an_rgb_stand_in_is_a_spot() -> None:
    assert said_of(Content(images=(picture(space=SPOT),))) == []


def test_like_objects_are_one_finding() -> None:
    content = Content(images=(picture(space=RGB), picture(space=LAB)), texts=(
        text([BOX], fill=RGB_BLACK), text([BOX], fill=BLACK)))  # fmt: skip
    assert said_of(content) == [("stop", "Lab and RGB", 2), ("stop", "RGB", 1)]


def test_a_spec_may_allow_it() -> None:
    spec = label_spec(
        colour={"allowed": ["cmyk", "rgb"], "process_inks": ["Black"], "most_spots": 0}
    )
    assert said_of(Content(images=(picture(space=RGB),)), spec=spec) == []


def test_off_the_bleed_invisible_type_and_plain_art_are_no_fault() -> None:
    content = Content(
        images=(picture(space=RGB, box=Box(60, 60, 70, 70)),),
        texts=(text([BOX], fill=RGB_BLACK, mode=3),),
        paths=(box_path(BOX, fill=BLACK),),
    )
    (said,) = examine(CHECK, make_exam(content=content))
    assert isinstance(said, Clear)
    assert isinstance(examine(CHECK, make_exam())[0], NotApplicable)


def test_what_is_covered_is_a_note(tmp_path) -> None:
    """A box and a word in RGB under a ground in CMYK; a second box is seen."""
    covered = "0.9 0.2 0.1 rg 20 20 9 9 re f 0.3 0.3 0 0 k 10 10 30 30 re f"
    for content, expected in (
        (covered, [("note", "unseen")]),
        (covered + " 0 0 1 rg 12 12 4 4 re f", [("note", "unseen"), ("stop", "space")]),
    ):
        pdf = Pdf()
        pdf.page(content, (56, 56), trim_mm=(3, 3, 53, 53))
        path = tmp_path / "covered.pdf"
        path.write_bytes(pdf.bytes())
        found = said(path, CHECK, "sticker-square-50mm")
        assert sorted((f.severity, f.code) for f in found) == expected
