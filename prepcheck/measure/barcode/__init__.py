"""Retail barcodes (EAN and UPC) on a sheet: found, decoded, and measured on the plates."""

from prepcheck.measure.barcode.add_on import AddOn
from prepcheck.measure.barcode.drawn_bars import drawn_blocks
from prepcheck.measure.barcode.grade import Contrast, grade_contrast
from prepcheck.measure.barcode.read import Barcodes, BarPattern, barcodes_on
from prepcheck.measure.barcode.symbol import Symbol
from prepcheck.measure.barcode.symbology import Kind, bar_tolerance_mm, encode, gtin13

__all__ = [
    "AddOn",
    "BarPattern",
    "Barcodes",
    "Contrast",
    "Kind",
    "Symbol",
    "bar_tolerance_mm",
    "barcodes_on",
    "drawn_blocks",
    "encode",
    "grade_contrast",
    "gtin13",
]
