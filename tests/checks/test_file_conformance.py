from dataclasses import replace

import pytest

from prepcheck.art.facts import Annotation, DocumentFacts, FontFacts, Layer, OutputIntent, PageBoxes
from prepcheck.art.model import ArtKind, Content, Paint, Space, SpaceFamily
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import BLACK, box_path, examine, findings, label_spec, make_exam

CHECK = "file.conformance"
INTENT = OutputIntent("GTS_PDFX", "FOGRA29", None, "http://www.color.org", False)
SOUND = DocumentFacts(pdfx="PDF/X-1a:2003", trapped="False", output_intents=(INTENT,))
RED = Paint(Space(SpaceFamily.RGB, 3), (1, 0, 0), (), (1, 0, 0))
BOX = Box(-5, -5, 5, 5)


def test_a_sound_claim_is_clear() -> None:
    said = examine(CHECK, make_exam(document=SOUND))
    assert [type(item) for item in said] == [Clear]


def test_no_claim_is_clear_and_a_raster_file_makes_none() -> None:
    assert isinstance(examine(CHECK, make_exam())[0], Clear)
    assert isinstance(examine(CHECK, make_exam(kind=ArtKind.TIFF))[0], NotApplicable)


def document(**changes):
    return {"document": replace(SOUND, **changes)}


def content(item):
    return {"document": SOUND, "content": Content(paths=(item,))}


MEDIA = Box(0, 0, 106, 106)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (document(encrypted=True), "encrypted"),
        (document(trapped=None), "trapped"),
        (document(trapped="Unknown"), "trapped"),
        (document(output_intents=()), "no output intent"),
        (document(output_intents=(replace(INTENT, registry=None),)), "neither a profile"),
        (document(scripts=("on opening",)), "scripts"),
        (document(layers=(Layer("Art", True, True),)), "layers"),
        (content(box_path(BOX, fill=RED)), "other than CMYK"),
        (content(box_path(BOX, fill=BLACK._replace(opacity=0.5))), "transparency"),
        ({"document": SOUND, "fonts": (FontFacts("Sans", "Type1", False),)}, "font"),
        ({"document": SOUND, "boxes": PageBoxes(MEDIA)}, "neither TrimBox nor ArtBox"),
        ({"document": SOUND, "boxes": PageBoxes(MEDIA, trim=MEDIA, art=MEDIA)}, "both"),
        (
            {"document": SOUND, "annotations": (Annotation("Text", Box(50, 50, 52, 52), False),)},
            "annotations",
        ),
    ],
)
def test_each_contradiction_of_x1a_is_a_note(options, words) -> None:
    """The rules of PDF/X-1a in ISO 15930-1 and -4, after secondary pages."""
    (finding,) = findings(CHECK, make_exam(**options))
    assert finding.severity == "note"
    assert words in str(finding.measured)


def test_x4_allows_layers_transparency_and_rgb() -> None:
    facts = replace(SOUND, pdfx="PDF/X-4", layers=(Layer("Art", True, True),))
    art = Content(paths=(box_path(BOX, fill=RED._replace(opacity=0.5)),))
    assert findings(CHECK, make_exam(document=facts, content=art)) == []


@pytest.mark.parametrize(
    ("condition", "print_condition", "found"),
    [
        ("FOGRA39", "uncoated-label", True),
        ("FOGRA29", "uncoated-label", False),
        ("FOGRA39", "coated-board", False),
        ("PSO Uncoated v3 (FOGRA52)", "coated-board", True),
        ("Coated FOGRA39 (ISO 12647-2:2004)", "coated-board", False),
        ("House press 7", "coated-board", False),
    ],
)
def test_the_paper_the_file_was_made_for(condition, print_condition, found) -> None:
    intent = replace(INTENT, condition=condition)
    exam = make_exam(
        label_spec(print_condition=print_condition),
        document=replace(SOUND, output_intents=(intent,)),
    )
    assert bool(findings(CHECK, exam)) == found
