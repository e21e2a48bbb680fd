"""What does not print, and what cannot be read: layers, invisible type, hostile content."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.art.limits import Limits
from prepcheck.art.model import Content
from prepcheck.errors import ArtworkError, BudgetError
from tests.art.pdf.walking import add_vera, walked
from tests.factories import Pdf, Stream, one_page

FORM = {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 200, 200]}


def layered(content: str, form: str = "", **entries: object) -> Content:
    """Walk a page with the layers Art (on) and Guides (off), and a form Fm."""
    pdf = Pdf()
    art = pdf.add({"Type": "OCG", "Name": b"Art"})
    guides = pdf.add({"Type": "OCG", "Name": b"Guides"})
    pdf.catalog["OCProperties"] = {"OCGs": [art, guides], "D": {"OFF": [guides]}}
    drawn = pdf.add(Stream(form.encode(), {**FORM, "OC": guides}))
    pdf.page(
        content, (200, 200),
        resources={
            "Properties": {"MC0": art, "MC1": guides}, "XObject": {"Fm": drawn}, **entries
        },
    )  # fmt: skip
    return walked(pdf.bytes())


def layers(content: Content | None) -> list[str | None]:
    return [] if content is None else [item.layer for item in content.paths]


def test_layers_name_their_content_and_hide_it() -> None:
    content = layered(
        "/OC /MC0 BDC 1 1 9 9 re f EMC /OC /MC1 BDC 2 2 9 9 re f /Span <</A 1>> BDC 3 3 9 9 re f"
        " EMC /OC /MC0 BDC 4 4 9 9 re f EMC EMC 5 5 9 9 re f"
    )
    assert layers(content) == ["Art", None]
    assert layers(content.hidden) == ["Guides", "Guides", "Guides"]
    assert content.inks == ("Black",)


def test_form_on_a_layer_and_stray_ends() -> None:
    content = layered("/Fm Do EMC EMC 5 5 9 9 re f", "EMC EMC 1 1 9 9 re f /OC /MC0 BDC")
    assert layers(content) == [None]
    assert layers(content.hidden) == ["Guides"]


@pytest.mark.parametrize("mode", [3, 7])
def test_invisible_type_is_hidden(mode: int) -> None:
    pdf = Pdf()
    font = add_vera(pdf)
    content = f"BT /F1 5 Tf {mode} Tr 10 10 Td (secret) Tj 0 Tr (seen) Tj ET"
    pdf.page(content, (100, 100), resources={"Font": {"F1": font}})
    found = walked(pdf.bytes())
    assert [run.text for run in found.texts] == ["seen"]
    assert found.hidden is not None
    assert [run.text for run in found.hidden.texts] == ["secret"]
    assert not found.hidden.texts[0].paints


def test_type_as_clip() -> None:
    pdf = Pdf()
    font = add_vera(pdf)
    content = "BT /F1 20 Tf 7 Tr 10 10 Td (H) Tj ET 0 0 100 100 re f"
    pdf.page(content, (100, 100), resources={"Font": {"F1": font}})
    found = walked(pdf.bytes())
    assert found.hidden is not None
    assert found.paths[0].box == pytest.approx(found.hidden.texts[0].box)


def test_a_form_inside_itself_ends() -> None:
    pdf = Pdf()
    form = pdf.add(None)
    pdf.put(form, Stream(b"1 1 9 9 re f /Fm Do", {**FORM, "Resources": {"XObject": {"Fm": form}}}))
    pdf.page("/Fm Do", (200, 200), resources={"XObject": {"Fm": form}})
    found = walked(pdf.bytes())
    assert len(found.paths) == 1
    assert any("drawn inside itself" in sentence for sentence in found.troubles)


def test_forms_that_multiply_run_into_the_limit() -> None:
    pdf = Pdf()
    inner = pdf.add(Stream(b"1 1 9 9 re f", FORM))
    for _ in range(12):
        inner = pdf.add(
            Stream(b"/Fm Do " * 10, {**FORM, "Resources": {"XObject": {"Fm": inner}}})
        )  # fmt: skip
    pdf.page("/Fm Do", (200, 200), resources={"XObject": {"Fm": inner}})
    with pytest.raises(BudgetError, match=r"draws 5,001 forms.* and 5,000 is the limit"):
        walked(pdf.bytes(), limits=Limits(forms=5_000))


def test_forms_too_deep_end_the_reading() -> None:
    pdf = Pdf()
    inner = pdf.add(Stream(b"1 1 9 9 re f", FORM))
    for _ in range(60):
        inner = pdf.add(Stream(b"/Fm Do", {**FORM, "Resources": {"XObject": {"Fm": inner}}}))
    pdf.page("/Fm Do 5 5 9 9 re f", (200, 200), resources={"XObject": {"Fm": inner}})
    with pytest.raises(BudgetError, match="41 forms one inside the other, and 40"):
        walked(pdf.bytes())
    assert len(walked(pdf.bytes(), limits=Limits(depth=70)).paths) == 2


@pytest.mark.parametrize(
    ("content", "word"),
    [
        ("/Gone Do", "Do"),
        ("/Gone gs", "gs"),
        ("/Gone sh", "sh"),
        ("1 2 m 3 l f", "l"),
        ("0 0 0 k", "k"),
        ("BT /Gone 5 Tf (x) Tj ET", "font Gone"),
        ("BT (x) Tj ET", "without a font"),
        ("1 1 l S", "starting point"),
        ("999999999 0 0 999999999 0 0 cm 999999999 0 0 999999999 0 0 cm", "bounds"),
        ("9999999999 9999999999 m 8 8 l 9 9 l f", "bounds"),
        ("foo bar", "foo"),
        ("q 9 0 0 9 0 0 cm BI /W 0 /H 5 ID x EI Q", "size"),
        ("/Pattern cs /Gone scn", "pattern"),
    ],
)  # fmt: skip
def test_what_cannot_be_followed_is_told_and_the_rest_read(content: str, word: str) -> None:
    found = walked(one_page("q " + content + " Q 0 g 5 5 9 9 re f", (100, 100)))
    assert any(word in sentence for sentence in found.troubles), found.troubles
    assert len(found.paths) >= 1


def test_saving_without_end_is_bounded() -> None:
    found = walked(one_page("q " * 5000 + "5 5 9 9 re f", (100, 100)))
    assert len(found.paths) == 1
    assert any("deep" in sentence for sentence in found.troubles)


pieces = st.sampled_from(
    b"q Q 1 0 0 1 5 5 cm m l c v y h re W W* n f S B b* k K cs CS scn SCN gs Do Tj TJ BT ET Tf Tm"
    b" Td Tr Tz ' \" sh BI ID EI BDC BMC EMC d0 d1 /F1 /Fm /P /Sh /OC (ab) [(a) 5] << /W 1 >>"
    b" 99999999 -0.001 [ ] << >> ( ) % \xff".split(b" ")
)


@given(st.lists(pieces, max_size=60), st.binary(max_size=20))
def test_any_content_gives_content_or_our_own_error(parts: list[bytes], tail: bytes) -> None:
    pdf = Pdf()
    form = pdf.add(Stream(b" ".join(parts[::2]), FORM))
    font = {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica"}
    pdf.page(
        b" ".join(parts) + b" " + tail, (100, 100),
        resources={
            "XObject": {"Fm": form}, "Font": {"F1": font}, "Properties": {"OC": 5},
            "Pattern": {"P": form}, "Shading": {"Sh": {"ShadingType": 9}},
        },
    )  # fmt: skip
    with contextlib.suppress(ArtworkError):
        assert all(walked(pdf.bytes()).troubles)
