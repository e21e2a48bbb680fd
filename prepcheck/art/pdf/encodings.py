"""Character encodings and the metrics of the standard fonts (ISO 32000-2, Annex D, 9.6.2.2)."""

from __future__ import annotations

import re
from functools import cache

# Not by `_fontdata`, which brings in a third of the library: it is asked for standard fonts only.
from reportlab.pdfbase._fontdata_enc_macexpert import MacExpertEncoding
from reportlab.pdfbase._fontdata_enc_macroman import MacRomanEncoding
from reportlab.pdfbase._fontdata_enc_standard import StandardEncoding
from reportlab.pdfbase._fontdata_enc_winansi import WinAnsiEncoding

BASE_ENCODINGS: dict[str, tuple[str | None, ...]] = {
    "WinAnsiEncoding": WinAnsiEncoding,
    "MacRomanEncoding": MacRomanEncoding,
    "StandardEncoding": StandardEncoding,
    "MacExpertEncoding": MacExpertEncoding,
}
"""Glyph names of the 256 codes of each encoding a PDF may name."""

MAC_CODES = {
    name: code for code, name in enumerate(BASE_ENCODINGS["MacRomanEncoding"]) if name is not None
}


@cache
def unicode_of(name: str) -> str:
    """Return the text of a glyph name by the Adobe Glyph List's rules; '' when it has none."""
    from fontTools import agl  # takes long to import, and much art has no such font

    text: str = agl.toUnicode(name)
    return text


def standard_font(name: str) -> str:
    """Return the standard font that stands in for one of this name."""
    plain = name.lower()
    if "zapf" in plain or "dingbat" in plain:
        return "ZapfDingbats"
    if plain.startswith("symbol"):
        return "Symbol"
    bold = bool(re.search("bold|black|heavy", plain))
    slanted = bool(re.search("italic|oblique", plain))
    if "times" in plain or ("serif" in plain and "sans" not in plain):
        return "Times-" + (("Bold" * bold + "Italic" * slanted) or "Roman")
    family = "Courier" if re.search("courier|mono", plain) else "Helvetica"
    style = "Bold" * bold + "Oblique" * slanted
    return f"{family}-{style}" if style else family


def standard_widths(font: str) -> dict[str, int]:
    """Return the advance widths of a standard font by glyph name, in thousandths of an em."""
    from reportlab.pdfbase import _fontdata

    return dict(_fontdata.widthsByFontGlyph[font])


def standard_heights(font: str) -> tuple[float, float]:
    """Return ascent and descent (negative) of a standard font in ems."""
    from reportlab.pdfbase import _fontdata

    ascent, descent = _fontdata.ascent_descent[font]
    return ascent / 1000, descent / 1000


def standard_encoding(font: str) -> tuple[str | None, ...]:
    """Return the built-in encoding of a standard font."""
    key = {"Symbol": "SymbolEncoding", "ZapfDingbats": "ZapfDingbatsEncoding"}.get(font)
    if key is None:
        return BASE_ENCODINGS["StandardEncoding"]
    from reportlab.pdfbase import _fontdata

    return tuple(_fontdata.encodings[key])
