import pytest

from prepcheck.art.facts import FontFacts
from prepcheck.art.model import Content
from prepcheck.checks.text_unembedded import bare_name
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import examine, findings, make_exam, text

CHECK = "text.unembedded"
BOX = Box(10, 10, 20, 12)
USED = Content(texts=(text([BOX]),))
"""Set in 'Hand Sans'."""


def font(name="Hand Sans", subtype="TrueType", embedded=False):
    return FontFacts(name, subtype, embedded)


def test_a_missing_font_stops_where_it_is_used() -> None:
    (finding,) = findings(CHECK, make_exam(content=USED, fonts=(font(),)))
    assert (finding.severity, finding.measured) == ("stop", "Hand Sans")
    assert finding.where[0].box == BOX


def test_a_missing_font_that_sets_nothing_is_a_note() -> None:
    (finding,) = findings(CHECK, make_exam(content=USED, fonts=(font("Idle Serif"),)))
    assert (finding.severity, finding.where) == ("note", ())
    assert "need be done" in finding.fix
    assert "export" not in finding.fix


@pytest.mark.parametrize("fonts", [(font(embedded=True),), (font(subtype="Type3"),)])
def test_embedded_fonts_and_drawn_ones_are_clear(fonts) -> None:
    assert isinstance(examine(CHECK, make_exam(content=USED, fonts=fonts))[0], Clear)


def test_no_fonts() -> None:
    assert isinstance(examine(CHECK, make_exam())[0], NotApplicable)


@pytest.mark.parametrize(
    ("font_name", "bare"),
    [("ABCDEF+Hand", "Hand"), ("/Hand", "Hand"), ("A+B", "A+B"), ("abcdef+Hand", "abcdef+Hand")],
)
def test_subset_prefixes(font_name, bare) -> None:
    """ISO 32000-2, 9.9.2: six capitals and a plus sign."""
    assert bare_name(font_name) == bare
