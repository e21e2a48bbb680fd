"""Packed data that breaks off: what it held counts as damaged, and is told."""

from __future__ import annotations

import zlib

import pytest

from prepcheck.art.limits import DEFAULT
from prepcheck.art.pdf.streams import inflated
from tests.art.pdf.walking import VERA, add_vera, type1_font, walked
from tests.factories import Pdf, Ref, Stream

PLAIN = b"".join(b"%d %d m\n" % (n, n * n) for n in range(900))


def cut(data: bytes, share: float) -> Stream:
    packed = zlib.compress(data)
    return Stream(packed[: int(len(packed) * share)], {"Filter": "FlateDecode"})


@pytest.mark.parametrize("keep", [1, 2, 3, 4])
def test_data_without_its_sum_is_whole(keep: int) -> None:
    """The sum (RFC 1950) is the last four bytes: with it cut off, nothing is missing."""
    packed = zlib.compress(PLAIN)
    assert inflated(packed[:-keep], 10**6) == (PLAIN, True)


def test_data_with_a_wrong_sum_is_whole() -> None:
    packed = zlib.compress(PLAIN)
    assert inflated(packed[:-4] + bytes(4), 10**6) == (PLAIN, True)


@pytest.mark.parametrize("share", [0.3, 0.9, 0.99])
def test_data_that_breaks_off_is_not_whole(share: float) -> None:
    packed = zlib.compress(PLAIN)
    found = inflated(packed[: int(len(packed) * share)], 10**6)
    assert not found.whole
    assert PLAIN.startswith(found.data)
    assert found.data


def test_damage_in_the_middle_is_not_whole() -> None:
    packed = bytearray(zlib.compress(PLAIN))
    packed[len(packed) // 2 : len(packed) // 2 + 40] = b"\xff" * 40
    assert not inflated(bytes(packed), 10**6).whole


def with_font(program: Stream, key: str) -> bytes:
    pdf = Pdf()
    if key == "FontFile2":
        font = add_vera(pdf)
        pdf.put(Ref(font - 2), program)  # the font file, then its descriptor, then the font
    else:
        descriptor = pdf.add({
            "Type": "FontDescriptor", "FontName": "Odd", "Flags": 32, key: pdf.add(program),
            "Ascent": 800, "Descent": -200,
        })  # fmt: skip
        font = pdf.add({
            "Type": "Font", "Subtype": "Type1", "BaseFont": "Odd", "FontDescriptor": descriptor,
            "FirstChar": 65, "Widths": [600] * 3, "Encoding": "WinAnsiEncoding",
        })  # fmt: skip
    pdf.page("BT /F1 20 Tf 10 10 Td (ABC) Tj ET", (100, 100), resources={"Font": {"F1": font}})
    return pdf.bytes()


@pytest.mark.parametrize("share", [0.2, 0.6, 0.97])
@pytest.mark.parametrize("key", ["FontFile", "FontFile2"])
def test_type_in_a_font_that_breaks_off_is_kept_and_told(key: str, share: float) -> None:
    program = VERA.read_bytes() if key == "FontFile2" else type1_font()
    found = walked(with_font(cut(program, share), key))
    assert [run.text for run in found.texts] == ["ABC"]
    assert len(found.texts[0].glyphs) == 3
    assert any("breaks off" in sentence for sentence in found.troubles)


@pytest.mark.parametrize("share", [0.5, 0.95])
def test_an_unpacked_font_that_breaks_off_is_told(share: float) -> None:
    program = VERA.read_bytes()
    found = walked(with_font(Stream(program[: int(len(program) * share)]), "FontFile2"))
    assert len(found.texts[0].glyphs) == 3
    assert found.troubles


def test_a_whole_font_is_not_told() -> None:
    for program in (Stream(VERA.read_bytes(), deflate=True), Stream(VERA.read_bytes())):
        assert not walked(with_font(program, "FontFile2")).troubles


def test_content_that_breaks_off_is_told() -> None:
    lines = b"".join(b"%d 10 %d 30 re f\n" % (n, n) for n in range(1, 99))
    pdf = Pdf()
    pdf.page("", (200, 200), Contents=pdf.add(cut(lines, 0.6)))
    found = walked(pdf.bytes())
    assert 10 < len(found.paths) < 98
    assert found.troubles == ("the page's content breaks off, and what comes behind is missing",)
    pdf = Pdf()
    form = cut(lines, 0.6)
    entries = {**form.entries, "Subtype": "Form", "BBox": [0, 0, 300, 300]}
    drawn = pdf.add(Stream(form.data, entries))
    pdf.page("/F Do", (200, 200), resources={"XObject": {"F": drawn}})
    assert any("the form F breaks off" in said for said in walked(pdf.bytes()).troubles)
    assert DEFAULT.stream_bytes > len(lines)
