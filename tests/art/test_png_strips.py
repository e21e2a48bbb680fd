"""Large PNGs, against Pillow, which decodes them in one go."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from prepcheck.art import photo, png
from prepcheck.art.open import open_art
from prepcheck.errors import UnreadableError


@pytest.mark.parametrize("mode", ["L", "RGB"])
@pytest.mark.parametrize("strip", [1, 700, 1 << 20])
def test_a_large_png_is_decoded_in_strips_as_pillow_does_at_once(
    mode: str, strip: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    samples = np.random.default_rng(4).integers(0, 256, (37, 53, 3), np.uint8)
    samples[10:30] = np.arange(53, dtype=np.uint8)[None, :, None]  # rows that other filters suit
    picture = Image.fromarray(samples).convert(mode)
    picture.save(tmp_path / "a.png", dpi=(300, 300))
    monkeypatch.setattr(photo, "LARGE_PIXELS", 100)
    monkeypatch.setattr(png, "STRIP_BYTES", strip)
    found = open_art(tmp_path / "a.png").pages[0].samples
    assert np.array_equal(np.squeeze(found.data), np.asarray(picture))
    data = (tmp_path / "a.png").read_bytes()
    at = data.index(b"IDAT") + 300
    for damaged in (data[:at], data[:at] + b"\0\0" + data[at + 2 :]):
        (tmp_path / "b.png").write_bytes(damaged)
        with pytest.raises(UnreadableError, match="damaged"):
            assert open_art(tmp_path / "b.png").pages[0].samples


def test_a_line_of_a_filter_that_there_is_not_is_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Lines name one of five filters, 0 to 4 (PNG, 3rd edition, 9.2).
    lines = b"".join(bytes((5 if row == 9 else 0,)) + bytes(40) for row in range(40))
    head = struct.pack(">IIBBBBB", 40, 40, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(lines)), (b"IEND", b""))
    data = b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )
    (tmp_path / "a.png").write_bytes(b"\x89PNG\r\n\x1a\n" + data)
    monkeypatch.setattr(photo, "LARGE_PIXELS", 100)
    with pytest.raises(UnreadableError, match="damaged"):
        open_art(tmp_path / "a.png")
