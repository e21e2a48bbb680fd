"""Opens an artwork file of whatever kind, told by its content and never by its suffix."""

from __future__ import annotations

import hashlib
import mmap
from collections.abc import Callable, Mapping
from pathlib import Path

from prepcheck.art.damage import about
from prepcheck.art.facts import DocumentFacts
from prepcheck.art.limits import DEFAULT, Limits
from prepcheck.art.model import ArtKind, Artwork
from prepcheck.art.raster import RasterFile
from prepcheck.art.sniff import HEAD_BYTES, sniff
from prepcheck.errors import UnreadableError, short_of

LARGE_BYTES = 32 << 20
"""Size of a PDF from which it may be read where it lies."""


def open_art(path: Path, limits: Limits = DEFAULT, in_place: bool = False) -> Artwork:
    """Read an artwork file. Pages of a PDF are walked later; raster pages are decoded once to see
    that they are whole. All that is read of the file, then and later, draws on one budget: that
    given, or a new one with the limits given.

    A large PDF may be read `in_place`, where it lies on disk, for which it takes no memory: for a
    process of its own, which ends where the file is cut short meanwhile.

    Raises UnreadableError for what is missing, damaged, of another kind or beyond the limits, and
    PasswordError for what opens only with a password; both name the file and say what to do.
    """
    limits = limits.opened()
    with about(path):
        data = _read(path, limits, in_place)
        kind = sniff(data[:HEAD_BYTES])
        digest = hashlib.sha256(data).hexdigest()
        if kind is ArtKind.PDF:
            # Imported here so that a raster file costs no PDF library.
            from prepcheck.art.pdf.document import read_pdf

            if isinstance(data, mmap.mmap):
                data.madvise(mmap.MADV_DONTNEED)  # read so far only for its digest
            document = read_pdf(path, data, limits)
            return Artwork(
                path, kind, digest, len(data), document.facts, document.pages,
                troubles=document.lost,
            )  # fmt: skip
        raster = _RASTER[kind](path, bytes(data), limits)
        size = len(data)
        del data
        for page in raster.pages[1:]:
            page.decode()
        first = raster.pages[0]
        _ = first.samples
        return Artwork(
            path, kind, digest, size, DocumentFacts(troubles=raster.mended), raster.pages,
            first.facts, raster.troubles,
        )  # fmt: skip


def _read(path: Path, limits: Limits, in_place: bool) -> bytes | mmap.mmap:
    if path.is_dir():
        raise UnreadableError("this is a folder; name the artwork file in it")
    if path.exists() and not path.is_file():
        raise UnreadableError("this is a pipe or a device; save the artwork as a file first")
    try:
        size = path.stat().st_size
        if size > limits.file_bytes:
            raise UnreadableError(
                f"the file has {size / 1e6:.0f} MB, more than a label or sleeve needs; "
                "send it flattened, at 300 to 600 ppi"
            )
        if in_place and size >= LARGE_BYTES and hasattr(mmap, "MADV_DONTNEED"):
            with path.open("rb") as file:
                if sniff(file.read(HEAD_BYTES)) is ArtKind.PDF:
                    return mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise UnreadableError(
            "there is no such file; see that name and folder are right"
        ) from error
    except OSError as error:
        if short_of(error) is not None:  # no fault of the file
            raise
        reason = error.strerror or "unknown reason"
        raise UnreadableError(f"the file cannot be opened ({reason}); copy it afresh") from error
    if not data:
        raise UnreadableError("the file is empty, the transfer failed; send it again")
    return data


def _jpeg(path: Path, data: bytes, limits: Limits) -> RasterFile:
    from prepcheck.art.photo import read_jpeg_file

    return read_jpeg_file(path, data, limits)


def _png(path: Path, data: bytes, limits: Limits) -> RasterFile:
    from prepcheck.art.photo import read_png_file

    return read_png_file(path, data, limits)


def _psd(path: Path, data: bytes, limits: Limits) -> RasterFile:
    from prepcheck.art.psd import read_psd_file

    return read_psd_file(path, data, limits)


def _tiff(path: Path, data: bytes, limits: Limits) -> RasterFile:
    from prepcheck.art.tiff import read_tiff_file

    return read_tiff_file(path, data, limits)


_RASTER: Mapping[ArtKind, Callable[[Path, bytes, Limits], RasterFile]] = {
    ArtKind.JPEG: _jpeg,
    ArtKind.PNG: _png,
    ArtKind.PSD: _psd,
    ArtKind.TIFF: _tiff,
}
