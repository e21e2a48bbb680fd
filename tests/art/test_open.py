"""Opening a file: told by content, hashed, refused with one sentence that says what to do."""

from __future__ import annotations

import hashlib
import io
import os
import zipfile
from pathlib import Path

import pytest
from PIL import Image

from prepcheck.art.limits import Limits
from prepcheck.art.model import ArtKind
from prepcheck.art.open import open_art
from prepcheck.errors import UnreadableError
from tests.factories import one_page


def pillow(kind: str, mode: str = "RGB") -> bytes:
    out = io.BytesIO()
    Image.new(mode, (8, 8)).save(out, kind)
    return out.getvalue()


def office() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("word/document.xml", "<w/>")
    return out.getvalue()


def archive() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("label.tif", b"x")
    return out.getvalue()


PDF = one_page("0 0 10 10 re f", (100, 100))


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (PDF, ArtKind.PDF),
        (b"%!junk of a mail program\n" * 20 + PDF, ArtKind.PDF),
        (pillow("TIFF"), ArtKind.TIFF),
        (pillow("JPEG"), ArtKind.JPEG),
        (pillow("PNG"), ArtKind.PNG),
    ],
)
def test_kind_is_told_by_content(tmp_path: Path, data: bytes, kind: ArtKind) -> None:
    path = tmp_path / "label.doc"
    path.write_bytes(data)
    art = open_art(path)
    assert (art.kind, art.bytes, art.path) == (kind, len(data), path)
    assert art.sha256 == hashlib.sha256(data).hexdigest()
    assert path.read_bytes() == data


@pytest.mark.parametrize(
    ("data", "says", "advises"),
    [
        (b"", "empty", "send it again"),
        (bytes(5000), "zeros", "TIFF"),
        (b"8BPS\0\2" + bytes(40), "PSB", "save it as PSD or TIFF"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n", "EPS or PostScript", "as PDF"),
        (b"\xc5\xd0\xd3\xc6" + bytes(30), "EPS", "as PDF"),
        (b"\x06\x06\xed\xf5\xd8\x1d\x46\xe5\xbd\x31", "page-layout document", "as PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500), "office document", "as PDF"),
        (office(), "office document", "as PDF"),
        (archive(), "ZIP", "unpacked"),
        (pillow("GIF", "P"), "GIF", "TIFF"),
        (pillow("WEBP"), "WebP", "TIFF"),
        (pillow("BMP"), "BMP", "TIFF"),
        (pillow("JPEG2000"), "JPEG 2000", "TIFF"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC", "TIFF"),
        (b"\0\0\0\x18ftypisom\0\0\0\0", "film", "TIFF"),
        (b'<?xml version="1.0"?>\n<svg xmlns="x">', "SVG", "as PDF"),
        (b"<!DOCTYPE html><html>", "web page", "not the page"),
        ("Größe 100 mm\n".encode(), "plain text", "artwork itself"),
        ("\ufeffnotes".encode("utf-16-le"), "plain text", "artwork itself"),
        (b"\0\5\x16\7\0\2\0\0Mac OS X", "resource half of a Mac file", "artwork itself"),
        (b"RIFF\x10\0\0\0WAVEfmt ", "WAV", "artwork itself"),
        (bytes(range(1, 256)), "unknown kind", "artwork itself"),
    ],
)
def test_other_kinds_are_named(tmp_path: Path, data: bytes, says: str, advises: str) -> None:
    path = tmp_path / "label.pdf"
    path.write_bytes(data)
    with pytest.raises(UnreadableError) as caught:
        open_art(path)
    (line,) = caught.value.lines
    assert line.startswith("label.pdf: ")
    assert says in line
    assert advises in line


def test_folder_and_missing_file(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="is a folder"):
        open_art(tmp_path)
    with pytest.raises(UnreadableError, match="no such file"):
        open_art(tmp_path / "none.pdf")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in folders here")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "label.pdf")
    with pytest.raises(UnreadableError, match="a pipe or a device"):
        open_art(tmp_path / "label.pdf")


def test_file_beyond_the_limit(tmp_path: Path) -> None:
    path = tmp_path / "label.tif"
    path.write_bytes(pillow("TIFF"))
    with pytest.raises(UnreadableError, match="more than a label or sleeve needs"):
        open_art(path, Limits(file_bytes=100))
