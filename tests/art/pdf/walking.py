"""Opens made PDFs both ways, by the walk and by PDFium, for tests that compare them."""

from __future__ import annotations

import ctypes
import io
import logging
import math
from pathlib import Path

import pypdfium2
import pypdfium2.raw as raw
import reportlab
from fontTools.fontBuilder import FontBuilder
from fontTools.misc import eexec
from fontTools.misc.psCharStrings import T1CharString
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from prepcheck.art.limits import DEFAULT, Limits
from prepcheck.art.model import Content
from prepcheck.art.pdf.content.walk import walk_page
from prepcheck.art.pdf.layers import read_layers
from prepcheck.geometry import Affine, Box
from prepcheck.units import MM_PER_PT
from tests.factories import Pdf, Ref, Stream

VERA = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"
"""A TrueType font under a free licence that reportlab ships."""

IN_MM = Affine.scale(MM_PER_PT)
"""From a page's user space to mm, origin where the page has it."""


def walked(data: bytes, base: Affine = IN_MM, limits: Limits = DEFAULT) -> Content:
    """Return the first page's content in mm from the origin of user space."""
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    reader = PdfReader(io.BytesIO(data))
    page = reader.pages[0]
    layers = read_layers(reader.root_object)
    return walk_page(page, page["/Resources"], base, layers, limits.opened())  # type: ignore[arg-type]


def add_vera(pdf: Pdf, **entries: object) -> Ref:
    """Embed Vera as a simple TrueType font in WinAnsi; widths rounded, as PDFium reads them."""
    font = TTFont(VERA)
    units, cmap, metrics = font["head"].unitsPerEm, font.getBestCmap(), font["hmtx"].metrics
    file = pdf.add(Stream(VERA.read_bytes(), {"Length1": VERA.stat().st_size}, deflate=True))
    descriptor = pdf.add(
        {
            "Type": "FontDescriptor", "FontName": "ABCDEF+BitstreamVeraSans", "Flags": 32,
            "FontBBox": [-183, -236, 1287, 928], "ItalicAngle": 0, "Ascent": 928,
            "Descent": -236, "CapHeight": 729, "StemV": 80, "FontFile2": file,
        }
    )  # fmt: skip
    widths = [
        round(metrics[cmap[code]][0] * 1000 / units) if code in cmap else 0 for code in range(256)
    ]
    return pdf.add(
        {
            "Type": "Font", "Subtype": "TrueType", "BaseFont": "ABCDEF+BitstreamVeraSans",
            "FirstChar": 0, "LastChar": 255, "Widths": widths, "FontDescriptor": descriptor,
            "Encoding": "WinAnsiEncoding", **entries,
        }
    )  # fmt: skip


def compact_font(names: list[str]) -> bytes:
    """Return a bare CFF program with Vera's outlines of unaccented letters, 1000 units an em."""
    vera = TTFont(VERA)
    glyphs, scale = vera.getGlyphSet(), 1000 / vera["head"].unitsPerEm
    strings = {}
    for name in [".notdef", *names]:
        pen = T2CharStringPen(600, None)
        if name != ".notdef":
            glyphs[name].draw(TransformPen(pen, (scale, 0, 0, scale, 0, 0)))
        strings[name] = pen.getCharString()
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef", *names])
    builder.setupCharacterMap({})
    builder.setupCFF("Test", {}, strings, {})
    data: bytes = builder.font["CFF "].compile(builder.font)
    return data


def type1_font() -> bytes:
    """Return a Type 1 program: A is a box of 100..500 by 0..700, B has a curved top, and C is
    drawn by a subroutine."""
    right = [400, "hlineto", 700, "vlineto", -400, "hlineto", "closepath", "endchar"]
    top = [0, 300, 400, 0, 0, -300, "rrcurveto", -500, "vlineto", "closepath", "endchar"]
    sources = {
        ".notdef": [0, 600, "hsbw", "endchar"],
        "A": [100, 600, "hsbw", 0, 0, "rmoveto", *right],
        "B": [50, 600, "hsbw", 0, 500, "rmoveto", *top],
        "C": [200, 600, "hsbw", 0, "callsubr", "endchar"],
    }
    subroutine = [100, 50, "rmoveto", 300, 200, "rlineto", -300, "hlineto", "closepath", "return"]

    def coded(program: list[object]) -> bytes:
        string = T1CharString(program=program)
        string.compile()
        code: bytes = eexec.encrypt(b"\0\0\0\0" + bytes(string.bytecode), 4330)[0]
        return code

    private = b"dup /Private 8 dict dup begin /RD {string currentfile exch readstring pop} def\n"
    private += b"/ND {def} def /NP {put} def /lenIV 4 def /BlueValues [] def\n"
    code = coded(subroutine)
    private += b"/Subrs 1 array\ndup 0 %d RD " % len(code) + code + b" NP\nND\n"
    private += b"2 index /CharStrings %d dict dup begin\n" % len(sources)
    for name, program in sources.items():
        code = coded(program)
        private += b"/%s %d RD " % (name.encode(), len(code)) + code + b" ND\n"
    private += b"end end readonly put noaccess put dup/FontName get exch definefont pop\n"
    private += b"mark currentfile closefile\n"
    clear = (
        b"%!PS-AdobeFont-1.0: Test\n11 dict begin /FontName /Test def /FontType 1 def /PaintType 0"
        b" def /FontMatrix [0.001 0 0 0.001 0 0] readonly def /FontBBox {0 0 600 800} readonly def"
        b"\n/Encoding 256 array 0 1 255 {1 index exch /.notdef put} for\ndup 65 /A put\n"
        b"dup 66 /B put\ndup 67 /C put\nreadonly def currentdict end\ncurrentfile eexec\n"
    )
    cipher: bytes = eexec.encrypt(b"\0\0\0\0" + private, 55665)[0]
    return clear + cipher + b"\n" + (b"0" * 64 + b"\n") * 8 + b"cleartomark\n"


def quads(content: Content) -> list[tuple[Box, float]]:
    """Return the box in mm of each glyph shown, with its run's size in points."""
    return [(quad.box, run.size_pt) for run in content.texts for quad in run.glyphs]


def pdfium_characters(data: bytes) -> list[tuple[Box, float]]:
    """Return the box in mm and the size in points of each character PDFium finds that is not
    white space; sizes are its nominal ones times the height of its matrix."""
    document = pypdfium2.PdfDocument(data)
    page = document[0]
    text = page.get_textpage()
    found = []
    for index in range(text.count_chars()):
        code = raw.FPDFText_GetUnicode(text, index)
        if raw.FPDFText_IsGenerated(text, index) == 1 or not chr(code).strip():
            continue
        left, right, bottom, top = (ctypes.c_double() for _ in range(4))
        assert raw.FPDFText_GetCharBox(text, index, left, right, bottom, top)
        matrix = raw.FS_MATRIX()
        assert raw.FPDFText_GetMatrix(text, index, matrix)
        height = abs(matrix.a * matrix.d - matrix.b * matrix.c) / math.hypot(matrix.a, matrix.b)
        size = raw.FPDFText_GetFontSize(text, index) * height
        box = Box(left.value, bottom.value, right.value, top.value)
        found.append((IN_MM.box(box), size))
    text.close()
    page.close()
    document.close()
    return found


def assert_boxes_agree(ours: list[tuple[Box, float]], theirs: list[tuple[Box, float]]) -> None:
    """Assert that boxes agree within 0.05 mm and sizes within 0.05 pt, one for one; PDFium sorts
    its characters for reading, so the nearest are compared."""
    assert len(ours) == len(theirs) > 0
    rest = list(theirs)
    for box, size in ours:
        other, other_size = min(rest, key=lambda item: _distance(item[0], box))
        assert _distance(other, box) <= 0.05, (box, other)
        assert abs(size - other_size) <= 0.05
        rest.remove((other, other_size))


def _distance(one: Box, other: Box) -> float:
    return max(abs(a - b) for a, b in zip(one, other, strict=True))
