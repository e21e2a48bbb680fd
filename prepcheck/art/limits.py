"""What one artwork file may ask for before it is refused."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Limits:
    """Safety limits for one file. A file beyond one of them is refused with UnreadableError.

    Time and memory of the whole process are limited where the process is started, not here.
    """

    file_bytes: int = 2_000_000_000
    """Size of the file. A gatefold at 600 ppi in 16-bit CMYK, uncompressed, is 0.9 GB."""
    picture_pixels: int = 200_000_000
    """Decoded pixels of one picture. A gatefold (639 × 321 mm) at 600 ppi has 114 million."""
    picture_bytes: int = 1_000_000_000
    """Decoded bytes of one picture, all channels."""
    stream_bytes: int = 400_000_000
    """Decoded bytes of one stream that is no picture; the largest drawings seen have 0.1 GB."""
    profile_bytes: int = 64_000_000
    """A colour profile unpacked; those of printing conditions have up to 3 MB."""
    filters: int = 8
    """Filters in a row on one stream; honest files use two."""
    depth: int = 40
    """Forms in forms, and levels of any tree. Drawing programs nest about ten deep."""
    pages: int = 500
    """Pages that are read. A piece has one or two, a booklet about thirty."""
    objects: int = 2_000_000
    """Entries of the cross-reference table."""
    array_items: int = 2_000_000
    """Elements of one array or dictionary in a PDF."""
    annotations: int = 5_000
    """Annotations that are read from one page."""
    fonts: int = 5_000
    """Resource dictionaries that are searched for fonts on one page."""


DEFAULT = Limits()
