"""Telling what a file is from its first bytes."""

from __future__ import annotations

import re
from typing import NamedTuple

from prepcheck.art.model import ArtKind
from prepcheck.errors import UnreadableError

HEAD_BYTES = 4096
"""Bytes of a file that are looked at."""
PDF_WITHIN = 1024
"""Bytes within which a PDF's header stands."""
READ = "PDF, TIFF, JPEG, PNG or PSD"

_AS_PDF = "export it as PDF"
_AS_PICTURE = "save it as TIFF, CMYK, at 300 ppi or more"
_ITSELF = f"send the artwork itself as {READ}"
_UNPACKED = f"{_ITSELF}, unpacked or in a ZIP"


class _Kind(NamedTuple):
    """A kind of file that is not read: where its bytes stand, what it is, what to send."""

    at: int
    magic: bytes
    what: str
    advice: str


_OTHERS = (
    _Kind(0, b"8BPS\0\2", "a large-document PSD (PSB)", "save it as PSD or TIFF"),
    _Kind(0, b"%!PS-Adobe", "an EPS or PostScript file", _AS_PDF),
    _Kind(0, b"%!", "a PostScript file", _AS_PDF),
    _Kind(0, b"\xc5\xd0\xd3\xc6", "an EPS file with a preview", _AS_PDF),
    _Kind(0, b"\x06\x06\xed\xf5\xd8\x1d\x46\xe5", "a page-layout document", _AS_PDF),
    _Kind(2, b"IIXPR", "a page-layout document", _AS_PDF),
    _Kind(2, b"MMXPR", "a page-layout document", _AS_PDF),
    _Kind(0, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a layout or office document", _AS_PDF),
    _Kind(0, b"{\\rtf", "a word-processor text (RTF)", _AS_PDF),
    _Kind(0, b"Rar!", "an archive (RAR)", _UNPACKED),
    _Kind(0, b"7z\xbc\xaf", "an archive (7z)", _UNPACKED),
    _Kind(0, b"PK\7\x08", "one piece of a split archive (ZIP)", f"{_ITSELF}, or as one whole ZIP"),
    _Kind(0, b"PK00", "one piece of a split archive (ZIP)", f"{_ITSELF}, or as one whole ZIP"),
    _Kind(257, b"ustar", "an archive (TAR)", _UNPACKED),
    _Kind(0, b"\x1f\x8b", "a compressed file (gzip)", _UNPACKED),
    _Kind(0, b"\x1f\x9d", "a compressed file (compress)", _UNPACKED),
    _Kind(0, b"BZh", "a compressed file (bzip2)", _UNPACKED),
    _Kind(0, b"\xfd7zXZ\0", "a compressed file (xz)", _UNPACKED),
    _Kind(0, b"\x28\xb5\x2f\xfd", "a compressed file (Zstandard)", _UNPACKED),
    _Kind(0, b"MSCF", "an archive (CAB)", _UNPACKED),
    _Kind(0, b"**ACE**", "an archive (ACE)", _UNPACKED),
    _Kind(7, b"**ACE**", "an archive (ACE)", _UNPACKED),
    _Kind(0, b"\x60\xea", "an archive (ARJ)", _UNPACKED),
    _Kind(2, b"-lh", "an archive (LHA)", _UNPACKED),
    _Kind(0, b"!<arch>\n", "an archive (AR)", _UNPACKED),
    _Kind(0, b"070707", "an archive (CPIO)", _UNPACKED),
    _Kind(0, b"070701", "an archive (CPIO)", _UNPACKED),
    _Kind(0, b"070702", "an archive (CPIO)", _UNPACKED),
    _Kind(0, b"\x78\x9f\x3e\x22", "a mail's wrapped attachments (TNEF)", _UNPACKED),
    _Kind(0, b"StuffIt", "an archive (SIT)", _UNPACKED),
    _Kind(0, b"SIT!", "an archive (SIT)", _UNPACKED),
    _Kind(0, b"GIF8", "a GIF picture of at most 256 colours", _AS_PICTURE),
    _Kind(8, b"WEBP", "a WebP picture", _AS_PICTURE),
    _Kind(8, b"WAVE", "a sound file (WAV)", _ITSELF),
    _Kind(8, b"AIFF", "a sound file (AIFF)", _ITSELF),
    _Kind(0, b"fLaC", "a sound file (FLAC)", _ITSELF),
    _Kind(0, b"ID3", "a sound file (MP3)", _ITSELF),
    _Kind(0, b"\0\0\0\x0cjP  ", "a JPEG 2000 picture", _AS_PICTURE),
    _Kind(0, b"\xff\x4f\xff\x51", "a JPEG 2000 picture", _AS_PICTURE),
    _Kind(0, b"\0\0\0\x0cJXL ", "a JPEG XL picture", _AS_PICTURE),
    _Kind(0, b"\xff\x0a", "a JPEG XL picture", _AS_PICTURE),
    _Kind(0, b"gimp xcf", "a picture editor's own file (XCF)", _AS_PICTURE),
    _Kind(0, b"\xd7\xcd\xc6\x9a", "a metafile (WMF)", _AS_PDF),
    _Kind(40, b" EMF", "a metafile (EMF)", _AS_PDF),
    _Kind(0, b"AC10", "a technical drawing (DWG)", _AS_PDF),
    _Kind(0, b"OTTO", "a font file", _ITSELF),
    _Kind(0, b"\0\1\0\0\0", "a font file", _ITSELF),
    _Kind(0, b"true", "a font file", _ITSELF),
    _Kind(0, b"\0\5\x16\7", "the resource half of a Mac file, without the artwork", _ITSELF),
    _Kind(0, b"\0\5\x16\0", "a Mac file wrapped with its resources", _ITSELF),
    _Kind(0, b"book\0\0\0\0mark", "a Mac alias to a file, not the file", _ITSELF),
    _Kind(0, b"L\0\0\0\x01\x14\x02\0", "a shortcut to a file, not the file", _ITSELF),
)
_ZIP = (b"PK\3\4", b"PK\5\6")
BLANK = b"\0\t\n\f\r \xef\xbb\xbf"
"""Blanks and a byte order mark, which make a file no other kind."""
_HEADERS = re.compile(rb"(?:From [^\n]*\n|--[^\n]{1,100}\r?\n)?[A-Za-z][A-Za-z0-9-]{1,60}:")
_CONTENT = re.compile(rb"(?im)^(?:content-type|content-disposition|mime-version|message-id):")
_BRANDS = {
    b"heic": "a HEIC picture", b"heix": "a HEIC picture", b"mif1": "a HEIC picture",
    b"hevc": "a HEIC picture", b"msf1": "a HEIC picture", b"avif": "an AVIF picture",
    b"avis": "an AVIF picture",
}  # fmt: skip


def sniff(head: bytes) -> ArtKind:
    """Return the kind of a file from its first bytes.

    Raises UnreadableError, saying what the file is and what to send instead, for any other kind.
    """
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return ArtKind.TIFF
    if head.startswith(b"\xff\xd8\xff"):
        return ArtKind.JPEG
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return ArtKind.PNG
    if head.startswith(b"8BPS\0\1"):
        return ArtKind.PSD
    start = head.find(b"%PDF-", 0, PDF_WITHIN)
    # What holds a PDF need not be one: a PDF stored in an archive stands as near the start as one
    # behind a few stray bytes, so other kinds come before a header that is not at the very start.
    if start >= 0 and (not head[:start].strip(BLANK) or _holder(head, start) is None):
        return ArtKind.PDF
    what, advice = _other(head)
    raise UnreadableError(f"this is {what}, not {READ}; {advice}")


def is_zip(head: bytes) -> bool:
    """Say whether a file is a ZIP archive of files, by its first bytes; an office document, which
    is packed as one, is not."""
    return head.startswith(_ZIP) and not _is_document(head)


def _holder(head: bytes, start: int) -> tuple[str, str] | None:
    """Return the kind of a file in which a PDF's header stands `start` bytes from its beginning;
    None where the bytes before it are of no kind that is known."""
    if head.startswith((*_ZIP, b"RIFF")) or head[4:8] == b"ftyp":
        return _other(head)
    if head.startswith(b"%!") and not head.startswith(b"%!PS-Adobe"):
        return None  # what mail programs and printers put before a file often begins so
    known = _known(head)
    return known if known is not None else _mail(head[:start])


def _known(head: bytes) -> tuple[str, str] | None:
    for kind in _OTHERS:
        if head[kind.at : kind.at + len(kind.magic)] == kind.magic:
            return kind.what, kind.advice
    return ("an archive (TAR)", _UNPACKED) if _is_tar(head) else None


def _is_tar(head: bytes) -> bool:
    """Say whether a header block of a TAR stands at the start, also of one without 'ustar': its
    checksum is the sum of the block's bytes with the checksum itself as blanks (POSIX.1, pax)."""
    block = head[:512]
    if len(block) < 512:
        return False
    field = block[148:156].strip(b"\0 ")
    if not re.fullmatch(rb"[0-7]{1,7}", field):
        return False
    return sum(block[:148]) + 8 * 32 + sum(block[156:]) == int(field, 8)


def _mail(text: bytes) -> tuple[str, str] | None:
    """Say that a text is a mail or an upload with its attachments: it begins with header lines
    (RFC 5322), one of which tells of its content (RFC 2045)."""
    if not _HEADERS.match(text) or not _CONTENT.search(text):
        return None
    return "a mail with its attachments (EML)", _UNPACKED


def _other(head: bytes) -> tuple[str, str]:
    known = _known(head)
    if known is not None:
        return known
    if head.startswith(_ZIP):
        return _zip(head)
    if head[4:8] == b"ftyp":
        brand = _BRANDS.get(head[8:12])
        return (brand, _AS_PICTURE) if brand else ("a film or sound file", _ITSELF)
    if head.startswith(b"RIFF"):
        return "a drawing program's own file", _AS_PDF
    if head.startswith(b"BM") and head[6:10] == b"\0\0\0\0":
        return "a BMP picture", _AS_PICTURE
    if not head.strip(b"\0"):
        return "a file of nothing but zeros; the transfer failed", _ITSELF
    mail = _mail(head)
    if mail is not None:
        return mail
    text = _text(head)
    if text is None:
        return "a file of unknown kind", _ITSELF
    if re.search(r"<svg[\s>]", text):
        return "an SVG drawing", f"{_AS_PDF}, with type turned to outlines"
    if re.search(r"<!doctype html|<html[\s>]", text, re.IGNORECASE):
        return "a web page", f"{_ITSELF}, not the page that links to it"
    return "a plain text", _ITSELF


def _zip(head: bytes) -> tuple[str, str]:
    if _is_document(head):
        return "a layout or office document", _AS_PDF
    return "an archive (ZIP)", f"{_ITSELF}, unpacked"


def _is_document(head: bytes) -> bool:
    """Say whether a ZIP is a document, by the name of its first entry (PKWARE APPNOTE, 4.3.7)."""
    length = int.from_bytes(head[26:28], "little")
    name = head[30 : 30 + length]
    return head.startswith(b"PK\3\4") and (
        name == b"mimetype" or name.startswith((b"[Content_Types]", b"_rels/", b"docProps/"))
    )


def _text(head: bytes) -> str | None:
    """Return the head as text if it reads as text, else None."""
    for mark, encoding in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        if head.startswith(mark):
            return head[2:].decode(encoding, "replace")
    control = sum(byte < 32 and byte not in b"\t\n\r\f\x1b" for byte in head)
    return head.decode("utf-8", "replace") if control == 0 else None
