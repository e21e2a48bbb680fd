from dataclasses import replace

import pytest

from prepcheck.art.model import PROCESS_INKS, Content, Paint, RasterFacts, Space, SpaceFamily
from prepcheck.geometry import Box
from prepcheck.order import OrderPart
from prepcheck.said import Clear, Measured, NotApplicable
from prepcheck.sheets.paid import ink_key
from tests.checks.exams import (
    BLACK,
    CMYK,
    CYAN,
    box_cover,
    box_path,
    examine,
    findings,
    label_spec,
    make_exam,
    plate_scene,
)
from tests.checks.pictures import GREY, RGB, picture

CHECK = "colour.inks"
BOX = Box(10, 10, 20, 12)
EMBER, TARN, MOSS = "Ember 21 C", "Tarn 404 C", "Moss 7 U"


def spot(name):
    space = Space(SpaceFamily.SEPARATION, 1, base=CMYK, colorants=(name,))
    return Paint(space, (1.0,), ((name, 1.0),), (0.8, 0.2, 0.1))


def art(*inks, declared=()):
    paths = [box_path(BOX, fill=BLACK if ink == "Black" else spot(ink)) for ink in inks]
    return Content(paths=tuple(paths), inks=inks, declared_inks=(*inks, *declared))


def ordered(*inks):
    return OrderPart(name="A", file="a.pdf", inks=inks)


def said_of(content, **options):
    return [
        (f.severity, f.measured) for f in findings(CHECK, make_exam(content=content, **options))
    ]


@pytest.mark.parametrize(
    ("inks", "found"),
    [
        ((EMBER,), []),
        ((EMBER, TARN), []),
        ((EMBER, TARN, MOSS), [("stop", 3.0)]),
        (("Black", EMBER, TARN), []),
    ],
)
def test_most_spots_of_the_spec(inks, found) -> None:
    """The pinned spec allows two."""
    assert said_of(art(*inks)) == found


def test_process_inks_of_the_spec() -> None:
    spec = label_spec(colour={"allowed": ["cmyk"], "process_inks": ["Black"], "most_spots": 2})
    assert said_of(art("Black", "Cyan"), spec=spec) == [("stop", "Cyan")]


def test_art_that_lost_its_spots_to_process_inks_is_one_finding() -> None:
    part = ordered("Black", EMBER)
    (one,) = findings(CHECK, make_exam(content=art("Cyan", "Magenta", "Yellow"), part=part))
    assert (one.severity, one.code) == ("stop", "converted")
    assert one.measured == "Cyan, Magenta and Yellow"
    assert f"nothing is in {EMBER}" in one.message
    # Where the spot is there, a process ink beside it is one too many.
    (one,) = findings(CHECK, make_exam(content=art("Cyan", EMBER), part=part))
    assert one.code == "beyond"


def test_a_picture_in_process_inks_is_one_finding_that_says_so_and_where_it_is() -> None:
    part, at = ordered("Black", EMBER), Box(20, 15, 40, 35)
    photo = Content(images=(picture(box=at),), inks=(*PROCESS_INKS, EMBER), paths=art(EMBER).paths)
    (one,) = findings(CHECK, make_exam(content=photo, part=part))
    assert (one.severity, one.code) == ("stop", "picture")
    assert one.message.startswith("The picture at the upper right is converted to the process inks")
    assert [mark.box for mark in one.where] == [at]
    # Where anything else is in those inks it is no matter of a picture.
    mixed = replace(photo, paths=(*photo.paths, box_path(BOX, fill=CYAN)))
    (one,) = findings(CHECK, make_exam(content=mixed, part=part))
    assert one.code == "beyond"
    # Art that is a picture altogether has lost its spots, which is told of the picture.
    whole = Content(images=(picture(box=Box(-50, -50, 50, 50)),), inks=PROCESS_INKS)
    (one,) = findings(CHECK, make_exam(content=whole, part=part))
    assert one.code == "converted"
    assert one.message.startswith("The picture over all of the piece is in Cyan, Magenta")


def test_a_spot_named_with_a_slip_is_one_finding_and_no_empty_plate() -> None:
    part = ordered("Black", "LFR Rust")
    (one,) = findings(CHECK, make_exam(content=art("Black", "LFR Rsut"), part=part))
    assert (one.severity, one.code, one.measured) == ("stop", "misspelt", "LFR Rsut")
    assert "seems to be 'LFR Rust'" in one.message
    assert one.fix.startswith("Please name the swatch as the ink is ordered, LFR Rust")
    # Another number is another ink; and where the ink is there, the other is one too many.
    for inks, paid in ((("Ember 21 C",), "Ember 22 C"), (("LFR Rust", "LFR Rsut"), "LFR Rust")):
        (one,) = findings(CHECK, make_exam(content=art(*inks), part=ordered(paid)))
        assert one.code == "beyond"


def test_inks_the_order_pays_for() -> None:
    part = ordered("Black", "ember 21")
    assert said_of(art("Black", EMBER), part=part) == []
    (finding,) = findings(CHECK, make_exam(content=art("Black", EMBER, TARN), part=part))
    assert (finding.severity, finding.measured) == ("stop", TARN)
    assert [(mark.box, mark.label) for mark in finding.where] == [(BOX, TARN)]
    assert said_of(art("Black", "Cyan"), part=ordered("CMYK")) == []


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Ember 21 C", "Ember 21 CV", True),
        ("Ember 21 C", "ember 21 cvc", True),
        ("Ember 21 C", "EMBER  21C", True),
        ("Ember 21 C", "Ember_21 U", True),
        ("Ember 21 C", "Ember 22 C", False),
        ("Black", "black", True),
        ("Cool Grey 1 C", "Cool Grey 11 C", False),
        ("Gold C", "Gold", False),
    ],
)
def test_spellings_of_one_ink(one, other, same) -> None:
    assert (ink_key(one) == ink_key(other)) == same


def test_two_spellings_are_a_query_and_one_ink() -> None:
    assert said_of(art("Ember 21 C", "Ember 21 CVC", TARN)) == [("query", 2.0)]


def test_unused_spots_are_a_note() -> None:
    assert said_of(art("Black", EMBER, declared=(TARN, "Cyan", "All", "None"))) == [("note", TARN)]


def test_inks_are_measured_process_first() -> None:
    said = examine(CHECK, make_exam(content=art(EMBER, "Black", "Cyan", "All")))
    assert said[0] == Measured("inks", ("Cyan", "Black", EMBER))
    assert isinstance(said[1], Clear)
    assert isinstance(examine(CHECK, make_exam())[1], NotApplicable)


@pytest.mark.parametrize(
    ("space", "inks"), [(CMYK, PROCESS_INKS), (GREY, ("Black",)), (RGB, ())], ids=str
)
def test_a_raster_file_prints_in_the_inks_of_its_mode(space, inks) -> None:
    facts = RasterFacts((1252, 1252), 8, space, (300.0, 300.0), "LZW")
    exam = make_exam(content=Content(images=(picture(space=space),)), raster=facts)
    assert examine(CHECK, exam)[0] == Measured("inks", inks)


def test_a_spot_that_lies_under_other_things_is_a_note() -> None:
    part = ordered("Black")
    for amount, expected in ((0.0, "note"), (50.0, "stop")):
        plates = plate_scene((box_cover(BOX), {EMBER: amount}), inks=(*PROCESS_INKS, EMBER))
        exam = make_exam(content=art("Black", EMBER), part=part, plates=plates)
        assert [f.severity for f in findings(CHECK, exam)] == [expected]
