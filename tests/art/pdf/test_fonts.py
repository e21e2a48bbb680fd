"""Each kind of font: ink boxes against PDFium and against the outlines the test itself made."""

from __future__ import annotations

import contextlib
import io

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

from prepcheck.art.limits import Limits
from prepcheck.art.pdf.cmaps import predefined, read_map
from prepcheck.art.pdf.font_program import DamagedFontError
from prepcheck.art.pdf.glyphs import read_program
from prepcheck.errors import BudgetError
from prepcheck.geometry import Box
from prepcheck.units import MM_PER_PT
from tests.art.pdf.walking import (
    VERA,
    add_vera,
    assert_boxes_agree,
    compact_font,
    pdfium_characters,
    quads,
    type1_font,
    walked,
)
from tests.factories import Pdf, Ref, Stream

LETTERS = ["A", "H", "g", "p", "a", "b"]


def page_with(pdf: Pdf, font: Ref | dict[str, object], content: str) -> bytes:
    pdf.page(content, (150, 80), millimetres=False, resources={"Font": {"F1": font}})
    return pdf.bytes()


def descriptor(pdf: Pdf, key: str, data: bytes, **file: object) -> Ref:
    source = pdf.add(Stream(data, {"Length1": len(data), **file}, deflate=True))
    return pdf.add(
        {
            "Type": "FontDescriptor", "FontName": "Test", "Flags": 4, "ItalicAngle": 0,
            "FontBBox": [0, -250, 1000, 900], "Ascent": 800, "Descent": -200, "StemV": 80,
            "CapHeight": 700, key: source,
        }
    )  # fmt: skip


def simple(pdf: Pdf, subtype: str, source: Ref, names: list[str], first: int = 65) -> Ref:
    return pdf.add(
        {
            "Type": "Font", "Subtype": subtype, "BaseFont": "Test", "FirstChar": first,
            "LastChar": first + len(names) - 1, "Widths": [600] * len(names),
            "FontDescriptor": source, "Encoding": {"Differences": [first, *names]},
        }
    )  # fmt: skip


def composite(pdf: Pdf, subtype: str, source: Ref, **entries: object) -> Ref:
    inner = {
        "Type": "Font", "Subtype": subtype, "BaseFont": "Test", "FontDescriptor": source,
        "CIDSystemInfo": {"Registry": b"Adobe", "Ordering": b"Identity", "Supplement": 0},
        "DW": 600, "W": [1, [600, 700], 3, 5, 550],
    }  # fmt: skip
    inner.update(entries)
    return pdf.add(
        {
            "Type": "Font", "Subtype": "Type0", "BaseFont": "Test", "Encoding": "Identity-H",
            "DescendantFonts": [pdf.add(inner)], "ToUnicode": pdf.add(Stream(TO_UNICODE)),
        }
    )  # fmt: skip


TO_UNICODE = b"""/CIDInit /ProcSet findresource begin begincmap
1 begincodespacerange <0000> <FFFF> endcodespacerange
1 beginbfchar <0001> <0041> endbfchar
2 beginbfrange <0002> <0004> <0062> <0005> <0006> [<0079> <0078>] endbfrange
endcmap"""


def test_compact_font() -> None:
    pdf = Pdf()
    source = descriptor(pdf, "FontFile3", compact_font(LETTERS), Subtype="Type1C")
    data = page_with(
        pdf, simple(pdf, "Type1", source, LETTERS), "BT /F1 20 Tf 20 50 Td (ABCDEF) Tj ET"
    )
    content = walked(data)
    assert content.troubles == ()
    assert content.texts[0].text == "AHgpab"
    assert_boxes_agree(quads(content), pdfium_characters(data))


@pytest.mark.parametrize("kind", ["CIDFontType0C", "mapped TrueType", "identity TrueType"])
def test_composite_font(kind: str) -> None:
    pdf = Pdf()
    if kind == "CIDFontType0C":
        source = descriptor(pdf, "FontFile3", compact_font(LETTERS), Subtype=kind)
        font = composite(pdf, "CIDFontType0", source)
    else:
        vera = TTFont(VERA)
        indices = [0, *(vera.getGlyphID(letter) for letter in LETTERS)]
        source = descriptor(pdf, "FontFile2", VERA.read_bytes())
        table: object = "Identity"
        if kind == "mapped TrueType":
            table = pdf.add(Stream(b"".join(n.to_bytes(2, "big") for n in indices)))
        font = composite(pdf, "CIDFontType2", source, CIDToGIDMap=table)
    shown = "<000100020003000400050006>"
    if kind == "identity TrueType":
        shown = "<" + "".join(f"{number:04x}" for number in indices[1:]) + ">"
    data = page_with(pdf, font, f"BT /F1 20 Tf 20 50 Td {shown} Tj ET")
    content = walked(data)
    assert content.troubles == ()
    if kind != "identity TrueType":
        assert content.texts[0].text == "Abcdyx"
    # PDFium raises the top of a composite font's glyphs by a 64th of their height.
    base = 50 * MM_PER_PT
    raised = [
        (box._replace(y1=box.y1 + (box.y1 - base) / 64), size) for box, size in quads(content)
    ]
    assert_boxes_agree(raised, pdfium_characters(data))


def test_type1_font_boxes_are_those_drawn() -> None:
    pdf = Pdf()
    source = descriptor(pdf, "FontFile", type1_font())
    font = simple(pdf, "Type1", source, ["A", "B", "C"])
    data = page_with(pdf, font, "BT /F1 10 Tf 20 50 Td (ABC) Tj ET")
    content = walked(data)
    assert content.troubles == ()
    boxes = [box for box, _ in quads(content)]
    # In ems: A 0.1..0.5 by 0..0.7; B 0.05..0.45 by 0..0.8, its control points at 0.8 but the
    # curve itself at 500 + 3/4 × 300; C moves to 0.3, 0.05 and runs 0.3 right, 0.2 up.
    expected = [(0.1, 0, 0.5, 0.7), (0.65, 0, 1.05, 0.725), (1.5, 0.05, 1.8, 0.25)]
    for box, (x0, y0, x1, y1) in zip(boxes, expected, strict=True):
        true = Box(20 + 10 * x0, 50 + 10 * y0, 20 + 10 * x1, 50 + 10 * y1)
        assert box == pytest.approx([value * MM_PER_PT for value in true], abs=1e-6)


def test_every_glyph_of_a_type1_font_is_found() -> None:
    program = read_program(type1_font())
    assert all(program.has(name) for name in (".notdef", "A", "B", "C"))
    assert program.bounds(".notdef") is None


def test_type1_font_in_segments_and_in_hexadecimal() -> None:
    plain = type1_font()
    start = plain.index(b"eexec\n") + 6
    stop = plain.index(b"0" * 64)
    hexed = plain[:start] + plain[start:stop].hex().encode() + plain[stop:]
    segments = b""
    for kind, part in ((1, plain[:start]), (2, plain[start:stop]), (1, plain[stop:])):
        segments += bytes((0x80, kind)) + len(part).to_bytes(4, "little") + part
    for data in (hexed, segments + b"\x80\x03"):
        assert read_program(data).bounds("A") == pytest.approx((0.1, 0, 0.5, 0.7))


def test_type3_font_shape_counts_as_type() -> None:
    pdf = Pdf()
    box = pdf.add(Stream(b"750 0 100 0 600 700 d1 100 0 500 700 re f"))
    font = pdf.add(
        {
            "Type": "Font", "Subtype": "Type3", "FontBBox": [0, 0, 750, 750],
            "FontMatrix": [0.001, 0, 0, 0.001, 0, 0], "CharProcs": {"box": box},
            "Encoding": {"Differences": [97, "box"]}, "FirstChar": 97, "LastChar": 97,
            "Widths": [750],
        }
    )  # fmt: skip
    data = page_with(pdf, font, "1 0 0 0 k BT /F1 10 Tf 20 30 Td (aa) Tj ET")
    content = walked(data)
    assert content.paths == ()
    assert content.inks == ("Cyan",)
    first, second = (box for box, _ in quads(content))
    assert first == pytest.approx([v * MM_PER_PT for v in (21, 30, 26, 37)], abs=1e-6)
    assert second == pytest.approx([v * MM_PER_PT for v in (28.5, 30, 33.5, 37)], abs=1e-6)


def test_standard_font_without_program_stands_on_metrics() -> None:
    data = page_with(
        Pdf(),
        {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica"},
        "BT /F1 10 Tf 20 30 Td (A A) Tj ET",
    )
    (run,) = walked(data).texts
    assert not run.tight
    # Adobe's metrics of Helvetica: A is 667 wide, the space 278; ascender 718, descender -207.
    assert len(run.glyphs) == 2
    assert run.glyphs[1].box.x0 == pytest.approx((20 + 6.67 + 2.78) * MM_PER_PT)
    assert run.glyphs[0].box.y0 == pytest.approx((30 - 2.07) * MM_PER_PT)
    assert run.glyphs[0].box.y1 == pytest.approx((30 + 7.18) * MM_PER_PT)


def test_damaged_program_falls_back_and_says_so() -> None:
    pdf = Pdf()
    source = descriptor(pdf, "FontFile2", b"\x00\x01\x00\x00 and then nothing")
    font = simple(pdf, "TrueType", source, LETTERS)
    content = walked(page_with(pdf, font, "BT /F1 10 Tf 20 30 Td (AB) Tj ET"))
    (run,) = content.texts
    assert not run.tight
    assert run.glyphs[0].box.y1 == pytest.approx(38 * MM_PER_PT)
    assert any("Test" in sentence and "cannot be read" in sentence for sentence in content.troubles)


def test_damaged_outline_falls_back_and_says_so() -> None:
    vera = bytearray(VERA.read_bytes())
    table = TTFont(io.BytesIO(bytes(vera))).reader.tables["glyf"]
    vera[table.offset : table.offset + table.length] = b"\x00\x05" + b"\xff" * (table.length - 2)
    pdf = Pdf()
    source = descriptor(pdf, "FontFile2", bytes(vera))
    content = walked(
        page_with(pdf, simple(pdf, "TrueType", source, LETTERS), "BT /F1 9 Tf (AB) Tj ET")
    )
    assert content.texts
    assert any("cannot be read in full" in sentence for sentence in content.troubles)


@settings(max_examples=60)
@given(st.sampled_from(["cff", "type1", "ttf"]), st.data())
def test_mutated_programs_raise_nothing_but_their_own_error(kind: str, data: st.DataObject) -> None:
    program = bytearray(
        {"cff": compact_font(["A"]), "type1": type1_font(), "ttf": VERA.read_bytes()[:20_000]}[kind]
    )
    for _ in range(data.draw(st.integers(1, 8))):
        program[data.draw(st.integers(0, len(program) - 1))] = data.draw(st.integers(0, 255))
    with contextlib.suppress(DamagedFontError):
        read_program(bytes(program)).bounds("A")


def test_map_of_mixed_code_lengths() -> None:
    found = read_map(
        b"2 begincodespacerange <00> <80> <8140> <9ffc> endcodespacerange "
        b"1 begincidrange <20> <7e> 1 endcidrange 1 begincidchar <8140> 633 endcidchar "
        b"/WMode 1 def"
    )
    codes = found.codes(b"A\x81\x40z")
    assert codes == [(1, 0x41), (2, 0x8140), (1, 0x7A)]
    assert [found.cid(code) for code in codes] == [34, 633, 91]
    assert found.vertical


def test_predefined_maps_cut_codes() -> None:
    assert predefined("Identity-V").vertical
    assert predefined("90ms-RKSJ-H").codes(b"a\xb1\x82\xa0") == [(1, 97), (1, 0xB1), (2, 0x82A0)]
    assert not predefined("UniJIS-UTF16-H").known


def test_a_code_may_stand_for_several_letters() -> None:
    found = read_map(
        b"1 beginbfchar <01> <00660069> endbfchar "
        b"2 beginbfrange <02> <03> [<0041> <d83dde00>] <04> <05> <007a> endbfrange"
    )
    assert found.text == {(1, 1): "fi", (1, 2): "A", (1, 3): "\U0001f600", (1, 4): "z", (1, 5): "{"}


def test_huge_ranges_are_not_listed() -> None:
    found = read_map(b"1 begincidrange <00000000> <ffffffff> 7 endcidrange")
    assert [found.cid((4, code)) for code in (0, 5, 0xFFFFFFFF)] == [7, 12, 0xFFFFFFFF + 7]
    assert found.cid((2, 5)) == 0
    assert not found.cids


def test_many_full_ranges_are_looked_up() -> None:
    source = b"".join(
        b"1 beginbfrange <%08x> <%08x> <0041> endbfrange " % (n << 16, n << 16 | 0xFFFF)
        for n in range(3000)
    )
    found = read_map(source)
    assert [found.text_of((4, code)) for code in (0, 2, 2999 << 16, 2999 << 16 | 25)] == [
        "A", "C", "A", "Z",
    ]  # fmt: skip
    assert found.text_of((4, 3000 << 16)) == found.text_of((2, 2)) == ""
    with pytest.raises(BudgetError, match="list 101 codes, and 100 is the limit"):
        read_map(source, Limits(map_codes=100).opened())


def test_ranges_over_each_other_and_single_codes() -> None:
    found = read_map(
        b"2 beginbfrange <0000> <0fff> <0061> <0100> <02ff> <0041> endbfrange "
        b"1 beginbfchar <0102> <0058> endbfchar"
    )
    assert [found.text_of((2, code)) for code in (1, 0x101, 0x102, 0x301)] == [
        "b", "B", "X", chr(0x61 + 0x301),
    ]  # fmt: skip


def test_vera_is_found_by_every_encoding() -> None:
    for encoding in ("WinAnsiEncoding", "MacRomanEncoding"):
        pdf = Pdf()
        font = add_vera(pdf, Encoding=encoding)
        data = page_with(pdf, font, "BT /F1 14 Tf 20 40 Td (Hagp) Tj ET")
        assert_boxes_agree(quads(walked(data)), pdfium_characters(data))
