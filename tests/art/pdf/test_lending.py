"""Large streams and files are lent, not copied: what is read is what reading copies gives."""

from __future__ import annotations

import mmap
import random
import re
import zlib
from pathlib import Path

import pytest

from prepcheck.art import open as opening_art
from prepcheck.art.open import open_art
from prepcheck.art.pdf import lending, reader, streams
from prepcheck.art.pdf.lending import Views, as_stream
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate.plates import make_plates
from tests.factories import Pdf, Stream

SIDE = 64


def _with_a_picture() -> tuple[bytes, bytes]:
    """Return a page with a picture of noise, packed, and its samples."""
    samples = random.Random(4).randbytes(SIDE * SIDE * 4)
    pdf = Pdf("1.7")
    picture = pdf.add(Stream(zlib.compress(samples), {
        "Type": "XObject", "Subtype": "Image", "Width": SIDE, "Height": SIDE,
        "ColorSpace": "DeviceCMYK", "BitsPerComponent": 8, "Filter": "FlateDecode",
    }))  # fmt: skip
    pdf.page("q 90 0 0 90 5 5 cm /P Do Q", (100, 100), resources={"XObject": {"P": picture}})
    return pdf.bytes(), samples


@pytest.mark.parametrize("in_place", [False, True])
def test_what_is_lent_is_read_as_it_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_place: bool
) -> None:
    data, samples = _with_a_picture()
    path = tmp_path / "label.pdf"
    path.write_bytes(data)
    copied = open_art(path)
    for module in (lending, reader):
        monkeypatch.setattr(module, "LENT_FROM", 1000)
    monkeypatch.setattr(opening_art, "LARGE_BYTES", 1000)
    given: list[object] = []
    own = streams.inflated
    monkeypatch.setattr(
        streams, "inflated", lambda data, *more: given.append(data) or own(data, *more)
    )
    art = open_art(path, in_place=in_place)
    assert (art.sha256, art.bytes) == (copied.sha256, copied.bytes)
    (image,) = art.pages[0].content(Affine.identity()).images
    assert image.key is not None
    found = art.pages[0].picture(image.key)
    assert found is not None
    assert found.data.tobytes() == samples
    (stored,) = (one for one in given if isinstance(one, memoryview))
    assert isinstance(stored.obj, mmap.mmap if in_place else bytes)


def test_both_streams_tell_the_same(tmp_path: Path) -> None:
    """Python's own file is the measure."""
    path = tmp_path / "some.bin"
    path.write_bytes(bytes(range(256)) * 8)
    with path.open("rb") as file:
        mapped = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        for one in (as_stream(mapped), as_stream(path.read_bytes()), Views(mapped)):
            for offset, whence, size in (
                (0, 0, 3),
                (5, 1, 4),
                (-9, 2, 20),
                (7, 0, 0),
                (100, 0, -1),
            ):
                file.seek(offset, whence)
                one.seek(offset, whence)
                assert bytes(one.read(size)) == file.read(size)
                assert one.tell() == file.tell()


@pytest.mark.parametrize("ratio", ["noise", "spaces"])
def test_more_than_is_unpacked_at_once(monkeypatch: pytest.MonkeyPatch, ratio: str) -> None:
    monkeypatch.setattr(streams, "AT_ONCE", 1 << 10)
    plain = random.Random(5).randbytes(9000) if ratio == "noise" else b" " * 90_000
    packed = zlib.compress(plain)
    for cut, whole in ((len(packed), True), (len(packed) - 12, False)):
        for expected in (0, len(plain)):
            found = streams.inflated(memoryview(packed)[:cut], 1 << 20, expected)
            assert found.whole is whole
            assert plain.startswith(found.data)
            assert len(found.data) == len(plain) if whole else found.data
    assert len(streams.inflated(memoryview(packed), 5000).data) == 5001


def _in_memory(path: Path) -> int:
    """Return how many bytes of a file this process holds mapped (proc(5), `Rss` of smaps)."""
    held, mine = 0, False
    for line in Path("/proc/self/smaps").read_text().splitlines():
        if re.match(r"[0-9a-f]+-[0-9a-f]+ ", line):
            mine = line.endswith(str(path))
        elif mine and line.startswith("Rss:"):
            held += int(line.split()[1]) * 1024
    return held


@pytest.mark.skipif(not Path("/proc/self/smaps").exists(), reason="only Linux tells")
def test_a_file_read_where_it_lies_takes_no_memory_once_it_was_read(tmp_path, monkeypatch):
    side, pdf = 1000, Pdf("1.7")
    picture = pdf.add(Stream(random.Random(4).randbytes(side * side * 4), {
        "Type": "XObject", "Subtype": "Image", "Width": side, "Height": side,
        "ColorSpace": "DeviceCMYK", "BitsPerComponent": 8,
    }))  # fmt: skip
    pdf.page("q 90 0 0 90 5 5 cm /P Do Q", (100, 100), resources={"XObject": {"P": picture}})
    path = tmp_path / "label.pdf"
    path.write_bytes(pdf.bytes())
    monkeypatch.setattr(opening_art, "LARGE_BYTES", 1000)
    page = open_art(path, in_place=True).pages[0]
    (image,) = page.content(Affine.identity()).images
    for look in (
        lambda: page.picture(image.key),
        lambda: make_plates(page, Affine.identity(), Box(0, 0, 100, 100), 50),
    ):
        assert look() is not None
        assert _in_memory(path) < 1_000_000
