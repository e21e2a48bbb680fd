"""What is raised while a picture is decoded: the file's damage, the system's, or a slip of ours;
what decoders warn of stays muted for as long as any thread decodes, and no longer."""

from __future__ import annotations

import errno
import io
import struct
import threading
import warnings
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, JpegImagePlugin, PngImagePlugin

from prepcheck.art import photo
from prepcheck.art.damage import quietly
from prepcheck.art.open import open_art
from prepcheck.errors import UnreadableError
from tests.art.test_raster import psd


@pytest.mark.parametrize(
    "asked",
    [
        "image.convert('no such mode')",
        "image.crop((4, 4, 1, 1))",
        "Image.frombytes('L', (9, 9), b'')",
        "Image.frombuffer('RGB', (9, 9), b'', 'raw', 'RGB', 0, 1)",
        "{'L': 1}[image.mode]",
        "np.frombuffer(b'', np.uint8, 4)",
    ],
)
def test_what_is_asked_of_a_library_amiss_is_a_slip_of_ours(asked: str) -> None:
    # As code of ours would ask it: the frame bears the name of a module of ours.
    names = {"__name__": "prepcheck.art", "Image": Image, "np": np}
    names["image"] = Image.new("RGB", (5, 5))
    with pytest.raises((ValueError, KeyError)) as raised, quietly("JPEG"):
        eval(asked, names)
    assert not isinstance(raised.value, UnreadableError)


def test_a_slip_while_a_sound_picture_is_opened_is_ours(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Image.new("CMYK", (30, 30)).save(tmp_path / "a.jpg", dpi=(300, 300))
    monkeypatch.setattr(photo, "_JPEG_SPACES", {})
    with pytest.raises(KeyError):
        open_art(tmp_path / "a.jpg")


def _png(*chunks: tuple[bytes, bytes]) -> bytes:
    """Return a PNG of some chunks, their checksums wrong (PNG, 3rd edition, 5.3)."""
    whole = (struct.pack(">I", len(body)) + kind + body + b"\0\0\0\0" for kind, body in chunks)
    return b"\x89PNG\r\n\x1a\n" + b"".join(whole)


def test_what_pillow_finds_in_the_data_is_damage() -> None:
    head = (b"IHDR", struct.pack(">IIBBBBB", 4, 4, 8, 2, 0, 0, 0))
    for broken in (b"", b"\x89PNG", _png((b"IHDR", b"\0\0")), _png(head), _png(head, head)):
        with pytest.raises(UnreadableError, match="damaged"), quietly("PNG"):
            PngImagePlugin.PngImageFile(io.BytesIO(broken)).load()
    for notes in (b"Exif\0\0II*\0\xff\xff\xff\xff", b"Exif\0\0no notes", b"Exif\0\0MM\0*\0"):
        out = io.BytesIO()
        Image.new("RGB", (4, 4)).save(out, "JPEG", exif=notes)
        with suppress(UnreadableError), quietly("JPEG"):  # damage or none, but no slip
            JpegImagePlugin.JpegImageFile(io.BytesIO(out.getvalue())).getexif().get(274)


def test_a_png_of_palette_colours_without_the_palette_is_damaged(tmp_path: Path) -> None:
    # Such a PNG shall have one (PNG, 3rd edition, 11.2.2).
    out = io.BytesIO()
    Image.new("P", (9, 9)).save(out, "PNG", transparency=0)
    data = out.getvalue()
    at = data.index(b"PLTE") - 4
    (size,) = struct.unpack_from(">I", data, at)
    (tmp_path / "a.png").write_bytes(data[:at] + data[at + 12 + size :])
    with pytest.raises(UnreadableError, match="palette"):
        open_art(tmp_path / "a.png")


@pytest.mark.parametrize("number", [errno.EMFILE, errno.ENFILE, errno.ENOMEM])
def test_what_the_system_is_short_of_is_no_damage(number: int) -> None:
    with pytest.raises(OSError, match="short") as raised, quietly("TIFF"):
        raise OSError(number, "short")
    assert not isinstance(raised.value, UnreadableError)


def test_a_file_that_went_away_or_cannot_be_read_is_not_called_damaged() -> None:
    missing = FileNotFoundError(errno.ENOENT, "No such file", "a.tif")
    for error in (missing, OSError(errno.EIO, "Input/output error")):
        told = pytest.raises(UnreadableError, match=r"cannot be read .* copy it afresh")
        with told, quietly("TIFF"):
            raise error


def test_packed_rows_that_do_not_come_out_even_are_damage(tmp_path: Path) -> None:
    inks = np.random.default_rng(3).integers(0, 256, (20, 20, 4), np.uint8)
    data = bytearray(psd(inks, 4, packed=True))
    # The rows come last; a count of 128 says nothing, so that each row lacks what it had.
    data[-200:] = b"\x80" * 200
    (tmp_path / "a.psd").write_bytes(data)
    with pytest.raises(UnreadableError, match="damaged"):
        open_art(tmp_path / "a.psd")


def _tiff(*tags: tuple[int, int, int, int], big: bool = False) -> bytes:
    """Return a TIFF of nothing but tags (number, type, count, value): TIFF 6.0, section 2."""
    if big:
        return struct.pack("<2sHHHQ", b"II", 43, 8, 0, tags[0][3])
    entries = b"".join(struct.pack("<HHII", *tag) for tag in tags)
    return struct.pack("<2sHIH", b"II", 42, 8, len(tags)) + entries + b"\0" * 4


@pytest.mark.parametrize(
    "data",
    [
        _tiff((256, 2, 4, 0x41424344), (257, 3, 1, 4), (273, 4, 1, 8), (279, 4, 1, 4)),
        _tiff((256, 3, 1, 4), (257, 3, 1, 4), (262, 3, 1, 1), (258, 3, 1, 8),
              (273, 9, 1, 0xFFFFFFF0), (279, 4, 1, 16)),
        _tiff((256, 3, 1, 4), (257, 3, 1, 4), (262, 3, 1, 1), (258, 3, 1, 8),
              (273, 4, 1, 0xFFFFFFF0), (279, 4, 1, 16)),
        _tiff((0, 0, 0, 2**64 - 9), big=True),
    ],
    ids=["a width in letters", "a strip before the file", "a strip behind it", "tags far away"],
)  # fmt: skip
def test_a_tiff_whose_tags_cannot_be_meant_is_damaged(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "a.tif").write_bytes(data)
    with pytest.raises(UnreadableError, match=r"(?:export|send) it again"):
        open_art(tmp_path / "a.tif")


def test_a_thread_that_leaves_does_not_take_the_mute_from_another() -> None:
    inside, leave = threading.Event(), threading.Event()

    def decode() -> None:
        with quietly("JPEG"):
            inside.set()
            leave.wait(20)

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        thread = threading.Thread(target=decode)
        thread.start()
        assert inside.wait(20)
        with quietly("TIFF"):
            leave.set()
            thread.join(20)
            warnings.warn("a library's own affair", stacklevel=1)
        with pytest.raises(UserWarning):
            warnings.warn("a caller's affair", stacklevel=1)
