"""A PDF inside another file is never read as if it were the file."""

from __future__ import annotations

import gzip
import tarfile
from email.message import EmailMessage
from pathlib import Path

import pytest

from prepcheck.art.model import ArtKind
from prepcheck.art.open import open_art
from prepcheck.art.sniff import PDF_WITHIN
from prepcheck.errors import UnreadableError
from tests.factories import one_page
from tests.intake.archives import old_tar, tarred, zip_bytes

PDF = one_page("0 0 10 10 re f", (100, 100))


def mail(encoding: str) -> bytes:
    """A mail by Python's email package (RFC 5322 and MIME)."""
    message = EmailMessage()
    message["From"], message["To"], message["Subject"] = "a@example.org", "b@example.org", "Labels"
    if encoding == "bare":
        message.set_content(PDF, "application", "pdf", cte="8bit")
    else:
        message.set_content("Here are the labels.")
        message.add_attachment(PDF, "application", "pdf", cte=encoding, filename="label.pdf")
    return message.as_bytes()


HOLDERS = {
    "zip stored": (zip_bytes({"label.pdf": PDF}, stored=True), "ZIP"),
    "zip deflated": (zip_bytes({"label.pdf": PDF}), "ZIP"),
    "zip of four": (zip_bytes({f"{n}.pdf": PDF for n in range(4)}, stored=True), "ZIP"),
    "zip with a folder": (zip_bytes({"word/label.pdf": PDF}, stored=True), "ZIP"),
    "split zip": (b"PK\7\x08" + zip_bytes({"label.pdf": PDF}, stored=True), "split"),
    "tar": (tarred({"label.pdf": PDF}), "TAR"),
    "tar gnu": (tarred({"label.pdf": PDF}, form=tarfile.GNU_FORMAT), "TAR"),
    "tar pax": (tarred({"label.pdf": PDF}, form=tarfile.PAX_FORMAT), "TAR"),
    "tar old": (old_tar("label.pdf", PDF), "TAR"),
    "tar gz": (tarred({"label.pdf": PDF}, "w:gz"), "gzip"),
    "tar bz2": (tarred({"label.pdf": PDF}, "w:bz2"), "bzip2"),
    "tar xz": (tarred({"label.pdf": PDF}, "w:xz"), "xz"),
    "gzip": (gzip.compress(PDF), "gzip"),
    # Signatures of RAR 4 and 5 (RARLAB's technical note) and 7z (7zFormat.txt), file data stored.
    "rar 4": (b"Rar!\x1a\7\0" + bytes(40) + PDF, "RAR"),
    "rar 5": (b"Rar!\x1a\7\1\0" + bytes(40) + PDF, "RAR"),
    "7z": (b"7z\xbc\xaf\x27\x1c\0\4" + bytes(24) + PDF, "7z"),
    "eml 8bit": (mail("8bit"), "EML"),
    "eml base64": (mail("base64"), "EML"),
    "eml of nothing else": (mail("bare"), "EML"),
    "mbox": (b"From a@example.org Mon Jan  5 10:00:00 2026\n" + mail("8bit"), "EML"),
    "upload": (
        b"------Boundary7\r\nContent-Disposition: form-data; name=\"f\"\r\n"
        b"Content-Type: application/pdf\r\n\r\n" + PDF,
        "EML",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", HOLDERS)
@pytest.mark.parametrize("suffix", ["pdf", "bin"])
def test_refused_by_kind(tmp_path: Path, name: str, suffix: str) -> None:
    data, kind = HOLDERS[name]
    path = tmp_path / f"label.{suffix}"
    path.write_bytes(data)
    with pytest.raises(UnreadableError) as caught:
        open_art(path)
    (line,) = caught.value.lines
    assert kind in line
    assert "unpacked" in line or "whole ZIP" in line


@pytest.mark.parametrize("before", [b"\n", b"\xef\xbb\xbf", b" \r\n\0\0"])
def test_blanks_before_the_header_are_mended(tmp_path: Path, before: bytes) -> None:
    path = tmp_path / "label.pdf"
    path.write_bytes(before + PDF)
    art = open_art(path)
    assert art.document.stray_bytes == 0
    assert any("blank" in trouble for trouble in art.document.troubles)


@pytest.mark.parametrize(
    "before",
    [b"\x1b%-12345X@PJL JOB\r\n", bytes(range(128)), b"abc", b"x" * (PDF_WITHIN - 5)],
)
def test_other_bytes_before_the_header_are_told_apart(tmp_path: Path, before: bytes) -> None:
    path = tmp_path / "label.pdf"
    path.write_bytes(before + PDF)
    art = open_art(path)
    assert (art.kind, art.document.stray_bytes) == (ArtKind.PDF, len(before))


def test_a_picture_that_mentions_a_pdf_is_the_picture(tmp_path: Path) -> None:
    from PIL import Image

    path = tmp_path / "label.jpg"
    Image.new("L", (8, 8)).save(path, "JPEG", comment=b"made from %PDF-1.4")
    assert open_art(path).kind is ArtKind.JPEG
