"""What overprinting loses, on small PDFs against ISO 32000-2, 11.7.4.3 (Table 147).

The table says for each colour space which plates an overprinting object changes: `vanishes`
below is read off it, not off the code.
"""

from pathlib import Path

import pytest

from prepcheck.said import Clear, NotApplicable
from prepcheck.spec.load import load_spec
from tests.checks.exams import examine, findings
from tests.checks.inked import SPACES, STATES, box, flood, from_file, label, words
from tests.factories import one_page

WHITE, LOST = "overprint.white", "overprint.lost"
NIGHT = "0.8 0.6 0.2 0.1 k"
GOLD = "/Gold cs 1 scn"


def found(check: str, folder: Path, content: str) -> list[tuple[str, float]]:
    return [(f.severity.value, f.measured) for f in findings(check, label(folder, content))]


@pytest.mark.parametrize(
    ("state", "colour", "ground", "vanishes"),
    [
        # DeviceCMYK set directly: nothing under mode 1; the process plates under mode 0.
        ("OP1", "0 0 0 0 k", NIGHT, True),
        ("OP0", "0 0 0 0 k", NIGHT, False),
        ("Off", "0 0 0 0 k", NIGHT, False),
        ("OP1", "0 0 0 0 k", GOLD, True),
        ("OP0", "0 0 0 0 k", GOLD, True),
        ("Off", "0 0 0 0 k", GOLD, False),
        # Other process spaces: the process plates in either mode, spots never.
        ("OP1", "1 g", NIGHT, False),
        ("OP0", "1 g", NIGHT, False),
        ("OP1", "1 g", GOLD, True),
        ("OP0", "1 g", GOLD, True),
        ("OP1", "1 1 1 rg", NIGHT, False),
        ("OP1", "1 1 1 rg", GOLD, True),
        # Separation: its own plate only.
        ("OP1", "/Gold cs 0 scn", NIGHT, True),
        ("OP0", "/Gold cs 0 scn", NIGHT, True),
        ("Off", "/Gold cs 0 scn", NIGHT, False),
        ("OP0", "/Gold cs 0 scn", GOLD, False),
        # Nearly paper: 2 % of yellow is what is left of it.
        ("OP1", "0 0 0.02 0 k", NIGHT, True),
    ],
)
def test_white(tmp_path: Path, state: str, colour: str, ground: str, vanishes: bool) -> None:
    content = f"{flood(ground)} /{state} gs {box(colour, 10, 10, 8, 6)}"
    assert found(WHITE, tmp_path, content) == ([("stop", 1)] if vanishes else [])
    assert found(LOST, tmp_path, content) == []


@pytest.mark.parametrize("size", [5, 6, 10, 24])
def test_white_type(tmp_path: Path, size: float) -> None:
    content = f"{flood(NIGHT)} /OP1 gs {words('0 0 0 0 k', -20, 20, size)}"
    assert found(WHITE, tmp_path, content) == [("stop", 1)]
    knocked_out = f"{flood(NIGHT)} /OP0 gs {words('0 0 0 0 k', -20, 20, size)}"
    assert found(WHITE, tmp_path, knocked_out) == []


def test_a_white_line(tmp_path: Path) -> None:
    content = f"{flood(NIGHT)} /OP1 gs 0 0 0 0 K 0.5 w -20 15 m 20 15 l S"
    assert found(WHITE, tmp_path, content) == [("stop", 1)]


def test_the_place_is_told(tmp_path: Path) -> None:
    exam = label(tmp_path, f"{flood(NIGHT)} /OP1 gs {box('0 0 0 0 k', 10, 10, 8, 6)}")
    ((mark,),) = [finding.where for finding in findings(WHITE, exam)]
    assert mark.box == pytest.approx((10, 10, 18, 16), abs=0.01)


def test_white_on_paper_and_under_a_later_object_is_no_loss(tmp_path: Path) -> None:
    on_paper = f"/OP1 gs {box('0 0 0 0 k', 10, 10, 8, 6)}"
    assert found(WHITE, tmp_path, on_paper) == []
    covered = f"{on_paper} /Off gs {box('0.2 0.4 0.6 0 k', 0, 0, 30, 30)}"
    assert found(WHITE, tmp_path, covered) == []


def test_off_the_art_nothing_is_lost(tmp_path: Path) -> None:
    content = f"{flood(NIGHT)} /OP1 gs {box('0 0 0 0 k', 45, 45, 8, 6)}"
    assert found(WHITE, tmp_path, content) == []


RED = "0 1 1 0 k"


@pytest.mark.parametrize(
    ("state", "colour", "lost"),
    [
        ("OP1", "0 0 1 0 k", True),  # the yellow that lies there already
        ("OP0", "0 0 1 0 k", False),  # mode 0 clears the magenta
        ("Off", "0 0 1 0 k", False),
        ("OP1", "0 0 0.4 0 k", False),  # another amount of it
        ("OP1", "1 0 0 0 k", False),  # another plate
    ],
)
@pytest.mark.parametrize("type_", [False, True], ids=["shape", "type"])
def test_no_trace(tmp_path: Path, state: str, colour: str, lost: bool, type_: bool) -> None:
    shape = words(colour, -20, 15, 14) if type_ else box(colour, 10, 10, 8, 6)
    content = f"{flood(RED)} /{state} gs {shape}"
    assert found(LOST, tmp_path, content) == ([("query", 1)] if lost else [])
    assert found(WHITE, tmp_path, content) == []


def test_what_a_later_object_covers_is_not_lost(tmp_path: Path) -> None:
    under = f"{flood(RED)} /OP1 gs {box('0 0 0.4 0 k', 10, 10, 8, 6)}"
    content = f"{under} /Off gs {box('0.5 1 1 0 k', 10, 10, 8, 6)}"
    assert found(LOST, tmp_path, content) == []


@pytest.mark.parametrize(
    ("state", "colour", "through"),
    [
        ("OP1", "0.6 0.1 0 0 k", True),
        ("OP0", "0.6 0.1 0 0 k", True),
        ("Off", "0.6 0.1 0 0 k", False),
        ("OP0", "0.4 g", True),
        ("OP1", "0 0 0 1 k", False),  # black is meant to overprint
        ("OP0", "/Gold cs 0.5 scn", False),  # the spot itself
    ],
)
def test_spots_show_through(tmp_path: Path, state: str, colour: str, through: bool) -> None:
    content = f"{flood(GOLD)} /{state} gs {box(colour, 10, 10, 8, 6)}"
    said = findings(LOST, label(tmp_path, content))
    assert [(f.severity, f.measured) for f in said] == ([("query", 1)] if through else [])
    assert all("Gold" in finding.message for finding in said)


def test_a_picture_lets_a_spot_through(tmp_path: Path) -> None:
    picture = "q 20 0 0 20 5 5 cm BI /W 1 /H 1 /BPC 8 /CS /CMYK /F /AHx ID 80402000> EI Q"
    content = f"{flood(GOLD)} /OP0 gs {picture}"
    assert found(LOST, tmp_path, content) == [("query", 1)]
    assert found(LOST, tmp_path, f"{flood(GOLD)} {picture}") == []


def picture(samples: str, width: int, height: int) -> str:
    """Return a CMYK picture over most of the label; samples as hexadecimal digits."""
    return (
        f"q 80 0 0 40 -40 8 cm BI /W {width} /H {height} /BPC 8 /CS /CMYK /F /AHx "
        f"ID {samples}> EI Q"
    )


PLAIN = picture("80402000", 1, 1)
STRIPES = picture("8040200020604010" * 2, 4, 1)
WHITE_HALF = picture("8040200000000000", 2, 1)
SMALL = f"{GOLD} 20 20 3 2 re f"
"""A piece of gold a four-hundredth of the picture, under its white half too."""
LINE = f"{GOLD} -30 20 60 0.6 re f"


@pytest.mark.parametrize("shown", [PLAIN, STRIPES, WHITE_HALF], ids=["plain", "stripes", "white"])
@pytest.mark.parametrize("gold", [SMALL, LINE], ids=["small", "line"])
@pytest.mark.parametrize("state", ["OP0", "OP1"])
def test_a_small_spot_under_a_large_picture(
    tmp_path: Path, shown: str, gold: str, state: str
) -> None:
    """Table 147: a picture leaves spots alone in either mode, however small they are."""
    said = findings(LOST, label(tmp_path, f"{gold} /{state} gs {shown}"))
    assert [(f.severity, f.measured) for f in said] == [("query", 1)]
    assert "Gold shows through 1 object" in said[0].message
    assert findings(LOST, label(tmp_path, f"{gold} {shown}")) == []


@pytest.mark.parametrize("over", ["OP0", "Off"], ids=["overprinting", "knocking out"])
@pytest.mark.parametrize("shown", [PLAIN, STRIPES], ids=["plain", "stripes"])
def test_a_spot_on_top_of_an_overprinting_picture_is_meant(
    tmp_path: Path, over: str, shown: str
) -> None:
    for gold in (SMALL, LINE, words(GOLD, -20, 20, 14)):
        content = f"/OP0 gs {shown} /{over} gs {gold}"
        assert findings(LOST, label(tmp_path, content)) == []


def test_a_varnish_on_top_is_meant_too(tmp_path: Path) -> None:
    """It is as good as clear on screen, so that it cannot be told which lies on top."""
    tint = {"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [0] * 4, "C1": [0, 0, 0.03, 0]}
    spaces = {"ColorSpace": {"Varnish": ["Separation", "Varnish", "DeviceCMYK", tint]}}
    content = f"/OP0 gs {PLAIN} /Varnish cs 1 scn 20 20 3 2 re f"
    assert findings(LOST, label(tmp_path, content, resources=spaces)) == []


def test_a_small_spot_under_a_picture_as_large_as_a_sleeve(tmp_path: Path) -> None:
    """2 × 1 mm under 640 × 320 mm: fewer pixels than a large picture is looked at by."""
    spec = load_spec("jacket-12in")
    width, height = spec.outline_of().bounds.width, spec.outline_of().bounds.height
    shown = (
        f"q {width} 0 0 {height} {-width / 2} {-height / 2} cm BI /W 4 /H 1 /BPC 8 /CS /CMYK "
        f"/F /AHx ID {'8040200020604010' * 2}> EI Q"
    )
    sizes = (width + 6, height + 6), (3, 3, width + 3, height + 3)
    found = []
    for content in (
        f"{GOLD} 100 20 2 1 re f /OP0 gs {shown}",
        f"/OP0 gs {shown} {GOLD} 1 1 2 1 re f",
    ):
        path = tmp_path / "jacket.pdf"
        middle = f"1 0 0 1 {width / 2 + 3} {height / 2 + 3} cm"
        resources = {"ExtGState": STATES, "ColorSpace": SPACES}
        path.write_bytes(one_page(f"{middle} {content}", sizes[0], trim_mm=sizes[1],
                                  resources=resources))  # fmt: skip
        found.append([f.measured for f in findings(LOST, from_file(path, None, spec))])
    assert found == [[1], []]


def test_a_small_spot_under_a_large_solid(tmp_path: Path) -> None:
    content = f"{SMALL} /OP0 gs {box('0.6 0.1 0 0 k', -40, 8, 80, 40)}"
    assert found(LOST, tmp_path, content) == [("query", 1)]


def test_a_spot_under_a_fade(tmp_path: Path) -> None:
    tint = {"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [0.8, 0.2, 0, 0], "C1": [0] * 4}
    shading = {"ShadingType": 2, "ColorSpace": "DeviceCMYK", "Coords": [0, 0, 300, 0],
               "Function": tint}  # fmt: skip
    patterns = {"Pattern": {"Fade": {"PatternType": 2, "Shading": shading}}}
    fade = "/Pattern cs /Fade scn -40 8 80 40 re f"
    for gold in (SMALL, box(GOLD, -53, -53, 106, 106)):
        exam = label(tmp_path, f"{gold} /OP0 gs {fade}", resources=patterns)
        assert [finding.measured for finding in findings(LOST, exam)] == [1]
        exam = label(tmp_path, f"{gold} {fade}", resources=patterns)
        assert findings(LOST, exam) == []
    on_top = label(tmp_path, f"/OP0 gs {fade} /Off gs {SMALL}", resources=patterns)
    assert findings(LOST, on_top) == []


UNEVEN = "".join(
    f"{box(f'{shade / 10:.1f} 0.3 1 0 k', -53 + 10 * shade, -53, 10, 106)} " for shade in range(11)
)
"""Bars from green to yellow: cyan differs, yellow lies everywhere."""


@pytest.mark.parametrize(
    ("state", "colour", "lost"),
    [
        ("OP1", "0 0 1 0 k", True),  # its one ink is there already, whatever cyan does
        ("OP0", "0 0 1 0 k", False),  # mode 0 clears cyan and magenta
        ("Off", "0 0 1 0 k", False),
        ("OP1", "0 0 0.5 0 k", False),
        ("OP1", "0.2 0 1 0 k", False),  # cyan changes
    ],
)
def test_no_trace_on_an_uneven_ground(tmp_path: Path, state: str, colour: str, lost: bool) -> None:
    content = f"{UNEVEN} /{state} gs {box(colour, -20, 20, 35, 6)}"
    assert found(LOST, tmp_path, content) == ([("query", 1)] if lost else [])


def test_clear_and_not_applicable(tmp_path: Path) -> None:
    said = examine(WHITE, label(tmp_path, flood(NIGHT)))
    assert {item.check for item in said if isinstance(item, NotApplicable)} == {WHITE, LOST}
    content = f"{flood(NIGHT)} /OP1 gs {box('0 1 0 0 k', 10, 10, 8, 6)}"
    said = examine(WHITE, label(tmp_path, content))
    assert {item.check for item in said if isinstance(item, Clear)} == {WHITE, LOST}
