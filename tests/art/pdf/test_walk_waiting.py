"""Strings that wait and are placed many at once come out as those placed one by one.

That each is where it should be is held against other readers in `test_walk_text`.
"""

from __future__ import annotations

import io

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from prepcheck.art.limits import DEFAULT
from prepcheck.art.model import Content
from prepcheck.art.pdf.content import shown, text
from prepcheck.art.pdf.content.stream import StreamReading
from prepcheck.art.pdf.content.text import TextObject
from prepcheck.art.pdf.content.walk import recorder_of
from prepcheck.art.pdf.layers import read_layers
from prepcheck.art.quads import Quads, corners_of
from tests.art.pdf.test_walk_runs import joined
from tests.art.pdf.walking import walked
from tests.factories import Pdf, Stream

operations = st.sampled_from([
    "BT", "ET", "/T 9 Tf", "/T 30 Tf", "/T -7 Tf", "1 0 0 1 20 30 Tm", ".8 .3 -.2 1 90 60 Tm",
    "0 1 -1 0 280 10 Tm", "40 12 Td", "-9 -30 TD", "T*", "(Salt roads) Tj", "(by sea) '",
    "[(A)-300(V) 120 (oyage)] TJ", "( ) Tj", "() Tj", "1 Tr", "2 Tr", "3 Tr", "7 Tr", "0 Tr",
    "90 Tz", "5 Ts", "2 Tc", "4 Tw", "1e38 Tc", "q", "Q", ".9 .1 -.2 1.1 1 1 cm",
    "40 40 90 60 re W n", "30 30 m 200 60 l 90 200 l h W n", "9 9 20 20 re f", "1 0 0 RG",
    "0 .2 .9 0 k", "/Pattern cs /Tiling scn", "/Clear gs", "/Fm Do", "0 0 0 1 k", "/All gs",
    "BT 11 TL 1 0 0 1 20 30 Tm (Salt) Tj T* ET", "ET BT /T 9 Tf 0 1 -1 0 90 10 Tm 14 TL (by) Tj ET",
    "BT .8 .3 -.2 1 9 60 Tm /T 5 Tf (s) Tj 7 TL 1 0 0 1 0 0 Tm 2 0 0 2 7 7 Tm (ea) Tj ET",
    "BT 20 60 Td /T 5 Tf (Salt) Tj T* 1 0 0 1 9 70 Tm (roads) Tj ET", "BT 9 9 Td 3 3 Td (a) Tj ET",
    "BT /T 7 Tf 4 TL -.5 8. Td 8 TL (by) Tj T* ET", "BT 1 0 0 1 9 9 Tm (a) Tj 3 3 Td (b) Tj ET",
])  # fmt: skip


def page_of(stream: str) -> bytes:
    pdf = Pdf()
    font = pdf.add({"Type": "Font", "Subtype": "Type1", "BaseFont": "Times-Roman"})
    letters = {"a": pdf.add(Stream(b"600 0 0 0 500 500 d1 0 0 500 500 re f"))}
    drawn = pdf.add({
        "Type": "Font", "Subtype": "Type3", "FontBBox": [0, 0, 600, 600], "CharProcs": letters,
        "FontMatrix": [0.001, 0, 0, 0.001, 0, 0], "FirstChar": 97, "LastChar": 97,
        "Widths": [600], "Encoding": {"Differences": [97, "/a"]}, "Resources": {},
    })  # fmt: skip
    fonts = {"Font": {"T": font, "D": drawn}}
    cell = {
        "Type": "Pattern", "PatternType": 1, "PaintType": 1, "TilingType": 1, "BBox": [0, 0, 9, 9],
        "XStep": 9, "YStep": 9, "Resources": fonts,
    }  # fmt: skip
    form = {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 99, 99], "Resources": fonts}
    source = b"BT /T 8 Tf 5 5 Td (inside) Tj ET"
    resources = {
        **fonts, "Pattern": {"Tiling": pdf.add(Stream(source, cell))},
        "XObject": {"Fm": pdf.add(Stream(source, form))},
        "ExtGState": {"Clear": {"ca": 0}, "All": {"ca": 1}, "Over": {"op": True, "OPM": 1}},
    }  # fmt: skip
    pdf.page("", (110, 110), resources=resources, Contents=pdf.add(Stream(stream.encode("ascii"))))
    return pdf.bytes()


def content_of(stream: str) -> Content:
    return walked(page_of(stream))


def recorded(stream: str) -> str:
    """Return what a page comes to where it is recorded for plates alone."""
    reader = PdfReader(io.BytesIO(page_of(stream)))
    page = reader.pages[0]
    recorder = recorder_of(read_layers(reader.root_object), DEFAULT.opened())
    found = recorder.page(page, page["/Resources"], stream.encode("ascii"))  # type: ignore[arg-type]
    survey = recorder.survey
    told = survey.plates, survey.spots, survey.sets, survey.troubles, survey.clips
    return repr((joined(found), found.takes_colour, told))


def facts(content: Content) -> object:
    hidden = None if content.hidden is None else facts(content.hidden)
    texts = [(run, tuple(run.glyphs)) for run in content.texts]
    return repr((texts, content.inks, content.troubles, hidden))


@settings(max_examples=60, deadline=None)
@given(st.lists(operations, max_size=40))
def test_strings_placed_many_at_once_are_those_placed_one_by_one(stream: list[str]) -> None:
    found = []
    for few, most in ((10**9, 10**9), (0, 10**9), (0, 10)):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(shown, "FEW", few)
            patch.setattr(shown, "MOST", most)
            found.append(facts(content_of(" ".join(("BT /T 12 Tf 20 20 Td", *stream)))))
    assert found[0] == found[1] == found[2]


@settings(max_examples=60, deadline=None)
@given(st.lists(operations, max_size=40))
def test_plain_text_objects_followed_at_once_are_those_followed_step_by_step(
    stream: list[str],
) -> None:
    found = []
    for few in (0, 10**9):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(text, "FEW", few)
            found.append(facts(content_of(" ".join(("BT /T 12 Tf 20 20 Td", *stream)))))
    assert found[0] == found[1]


SETS = [
    "0 0 1 0 k", "0 G", "3 Tr", "2 Tr", "7 Tr", "/Over gs", "q", "Q", "/All gs", "1 0 0 rg",
    "/Pattern cs /Tiling scn", "/Fm Do", "1 1 9 9 re W n", "9 9 20 20 re f", "/OC /None BDC", "EMC",
    "BT /T 9 Tf 1 0 0 1 20 30 Tm (Salt) Tj ET", "BT /D 9 Tf 1 0 0 1 20 30 Tm (aa) Tj ET",
    "BT 9 TL .8 .3 -.2 1 9 60 Tm (s) Tj T* /T 5 Tf 1 0 0 1 0 0 Tm (ea) Tj ET", "/D 7 Tf",
    "BT /T 7 Tf 4 TL 5 80 Td (by) Tj ET",
]  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(st.lists(st.sampled_from(SETS), max_size=40))
@example(["/Over gs", "0 0 1 0 k", "BT /T 9 Tf 1 0 0 1 20 30 Tm (Salt) Tj ET"])
@example(["/D 7 Tf", "BT 9 TL .8 .3 -.2 1 9 60 Tm (a) Tj ET"])
def test_plain_text_objects_are_recorded_at_once_as_step_by_step(stream: list[str]) -> None:
    found = []
    for few in (0, 10**9):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(text, "FEW", few)
            found.append(recorded(" ".join(stream) + " "))
    assert found[0] == found[1]


def test_letters_on_a_curve_are_recorded_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else the test above holds of nothing."""
    asked = []
    monkeypatch.setattr(StreamReading, "follow", lambda _, step, *__: asked.append(step.operator))
    letters = "BT /T 9 Tf .8 .6 -.6 .8 50 40 Tm 9 TL (a) Tj ET\n" * 200
    recorded(letters + "BT /T 9 Tf 20 20 Td [(Salt)] TJ ET")
    assert asked == [b"Tf", b"TJ"]


def test_letters_on_a_curve_are_followed_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else the test above holds of nothing."""
    asked = []
    monkeypatch.setattr(TextObject, "show", lambda *_: asked.append(1))
    letters = "BT /T 9 Tf .8 .6 -.6 .8 50 40 Tm 9 TL (a) Tj ET\n" * 200
    content = content_of(letters + "BT /T 9 Tf 20 20 Td [(Salt)] TJ ET")
    assert len(content.texts) == 200
    assert asked == [1]


def test_glyphs_are_made_when_they_are_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shown, "FEW", 0)
    (run,) = content_of("BT /T 12 Tf 20 20 Td (Salt) Tj ET").texts
    assert isinstance(run.glyphs, Quads)
    one, *rest = run.glyphs
    assert len(run.glyphs) == 4
    assert run.glyphs == (one, *rest)
    assert run.glyphs[1:] == tuple(rest)
    assert run.glyphs[-1] == rest[-1]
    assert (run.corners == corners_of(tuple(run.glyphs))).all()
