"""Unit factors. Inside prepcheck every length is in millimetres; only the edges convert.

Source of the factors: the international inch is 25.4 mm (ISO 80000-3); default user space in PDF
is 1/72 inch (ISO 32000-2, 8.3.2.3).
"""

MM_PER_INCH = 25.4
PT_PER_INCH = 72.0
MM_PER_PT = MM_PER_INCH / PT_PER_INCH


def pt_from_mm(length_mm: float) -> float:
    """Return a length given in mm in points (1/72 inch)."""
    return length_mm / MM_PER_PT


def ppi(samples: float, length_mm: float) -> float:
    """Return samples per inch of `samples` spread over `length_mm` (must be positive)."""
    return samples * MM_PER_INCH / length_mm


def mm_per_px(resolution_ppi: float) -> float:
    """Return the edge of one pixel in mm at `resolution_ppi`."""
    return MM_PER_INCH / resolution_ppi
