"""Black type: four inks, cut out, and overprint that does not hold (ISO 32000-2, 11.7.4.3)."""

from pathlib import Path

import pytest

from prepcheck.art.model import Content
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import BLACK, examine, findings, label_spec, make_exam, text
from tests.checks.inked import flood, ink_spec, label, words

CHECK = "ink.black-type"
CLAY = "0.1 0.6 0.7 0 k"
GOLD = "/Gold cs 1 scn"
BLACK_K = "0 0 0 1 k"


def said(folder: Path, content: str) -> list[tuple[float, str]]:
    found = findings(CHECK, label(folder, content))
    assert all(f.severity == "query" for f in found)
    return [(f.required, _KINDS[f.code]) for f in found]


_KINDS = {"four-inks": "four", "cut-out": "cut out", "clears": "no hold"}


@pytest.mark.parametrize(
    ("colour", "found"),
    [
        ("0.5 0.4 0.4 1 k", True),
        ("0.75 0.68 0.67 0.9 k", True),
        ("0.4 0 0 1 k", False),
        ("0.2 0.2 0.2 0.2 k", False),  # a grey
        (BLACK_K, False),
    ],
)
def test_four_inks(tmp_path: Path, colour: str, found: bool) -> None:
    assert said(tmp_path, words(colour, -20, 20, 10)) == [(24, "four")] * found


@pytest.mark.parametrize(("size", "found"), [(20, True), (23.7, True), (24, False), (36, False)])
def test_headlines_may_be_built_of_four(tmp_path: Path, size: float, found: bool) -> None:
    assert said(tmp_path, words("0.5 0.4 0.4 1 k", -30, 20, size)) == [(24, "four")] * found


@pytest.mark.parametrize(
    ("state", "colour", "ground", "kind"),
    [
        ("Off", BLACK_K, CLAY, "cut out"),
        ("OP1", BLACK_K, CLAY, None),
        ("OP0", BLACK_K, CLAY, "no hold"),
        ("Off", "0 g", CLAY, "cut out"),
        ("OP1", "0 g", CLAY, "no hold"),
        ("OP0", "/Ink cs 1 scn", CLAY, None),
        ("OP1", "/Ink cs 1 scn", CLAY, None),
        ("Off", "/Ink cs 1 scn", CLAY, "cut out"),
        # Overprinting keeps spots whatever the space and the mode.
        ("OP0", BLACK_K, GOLD, None),
        ("OP1", "0 g", GOLD, None),
        ("Off", BLACK_K, GOLD, "cut out"),
        # On pale ground and on paper no white rim shows.
        ("Off", BLACK_K, "0.03 0.08 0.22 0 k", None),
        ("Off", BLACK_K, "0 0 0 0 k", None),
    ],
)
@pytest.mark.parametrize("size", [7, 12])
def test_cut_out(
    tmp_path: Path, state: str, colour: str, ground: str, kind: str | None, size: float
) -> None:
    content = f"{flood(ground)} /{state} gs {words(colour, -20, 20, size)}"
    assert said(tmp_path, content) == ([] if kind is None else [(12, kind)])


def test_large_type_may_be_cut_out(tmp_path: Path) -> None:
    assert said(tmp_path, f"{flood(CLAY)} {words(BLACK_K, -20, 20, 13)}") == []


def test_black_that_multiplies_is_not_cut_out(tmp_path: Path) -> None:
    """The plates tell: a blend that keeps the colour does what overprint would."""
    state = {"Multiply": {"BM": "Multiply"}}
    content = f"{flood(CLAY)} /Multiply gs {words(BLACK_K, -20, 20, 10)}"
    exam = label(tmp_path, content, resources={"ExtGState": state})
    assert findings(CHECK, exam) == []


def test_clear_and_not_applicable(tmp_path: Path) -> None:
    runs = (text([Box(0, 20, 2, 22)], fill=BLACK),)
    assert isinstance(examine(CHECK, make_exam(ink_spec(), content=Content(texts=runs)))[0], Clear)
    assert isinstance(examine(CHECK, make_exam(ink_spec()))[0], NotApplicable)
    assert isinstance(examine(CHECK, make_exam(label_spec()))[0], NotApplicable)
