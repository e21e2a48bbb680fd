"""Pictures made by hand, for what Pillow does not write."""

from __future__ import annotations

import struct

import numpy as np


def plain_tiff(
    samples: np.ndarray, photometric: int, *, extra: int = 0, inks: bytes = b""
) -> bytes:
    """Return samples (rows, columns, channels) as a TIFF at 100 ppi, uncompressed, in one strip.

    `extra` is the kind of the last channel (1 associated, 2 unassociated alpha), `inks` are names
    ended by zeros. Source: TIFF 6.0, sections 2 and 16.
    """
    rows, columns, channels = samples.shape
    bits = samples.dtype.itemsize * 8
    body = samples.astype(f"<u{bits // 8}").tobytes()
    tags: list[tuple[int, int, bytes]] = [
        (256, 3, struct.pack("<H", columns)), (257, 3, struct.pack("<H", rows)),
        (258, 3, struct.pack("<H", bits) * channels), (259, 3, struct.pack("<H", 1)),
        (262, 3, struct.pack("<H", photometric)), (273, 4, struct.pack("<I", 8)),
        (277, 3, struct.pack("<H", channels)), (278, 3, struct.pack("<H", rows)),
        (279, 4, struct.pack("<I", len(body))), (282, 5, struct.pack("<II", 100, 1)),
        (283, 5, struct.pack("<II", 100, 1)), (296, 3, struct.pack("<H", 2)),
    ]  # fmt: skip
    if inks:
        tags += [(332, 3, struct.pack("<H", 2)), (333, 2, inks),
                 (334, 3, struct.pack("<H", channels))]  # fmt: skip
    if extra:
        tags.append((338, 3, struct.pack("<H", extra)))
    size = {2: 1, 3: 2, 4: 4, 5: 8}
    out = bytearray(8) + body
    entries = b""
    for tag, kind, value in tags:
        count = len(value) // size[kind]
        if len(value) <= 4:
            entries += struct.pack("<HHI", tag, kind, count) + value.ljust(4, b"\0")
        else:
            out += b"\0" * (len(out) % 2)
            entries += struct.pack("<HHII", tag, kind, count, len(out))
            out += value
    out += b"\0" * (len(out) % 2)
    out[:8] = struct.pack("<2sHI", b"II", 42, len(out))
    return bytes(out + struct.pack("<H", len(tags)) + entries + struct.pack("<I", 0))
