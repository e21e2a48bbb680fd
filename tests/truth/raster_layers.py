"""Layers beside the merged picture of a PSD or TIFF.

Truth by construction: the layer records are written here after Adobe's file format specification
and TIFF technical notes, and share no code with the reader.
"""

from __future__ import annotations

import io
import random
import struct
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import tifffile
from PIL import Image

from prepcheck.findings import Severity
from tests.art.test_raster import psd, psd_resource
from tests.truth._run import worst
from tests.truth.case import Case

CLASS = "layers of a PSD or TIFF"
SEEDS = 32
FAST = 1
SIDE = 220
NAMES = ("Background", "Texture", "Ornament", "Tone", "Edge", "Alte Fassung", "Título", "Copy 2")


def block(key: bytes, data: bytes, order: str) -> bytes:
    tag = b"8BIM" + key if order == ">" else b"MIB8" + key[::-1]
    step = 2 if order == ">" else 4
    return tag + struct.pack(order + "I", len(data)) + data + bytes(-len(data) % step)


def record(name: str, order: str, *, hidden: bool, text: bool, clipped: bool) -> bytes:
    coding = "utf-16-be" if order == ">" else "utf-16-le"
    short = name.encode("mac-roman", "replace")[:30]
    pascal = bytes((len(short),)) + short
    extra = struct.pack(order + "II", 0, 0) + pascal + bytes(-len(pascal) % 4)
    extra += block(b"luni", struct.pack(order + "I", len(name)) + name.encode(coding), order)
    if text:
        extra += block(b"TySh", bytes(60), order)
    mode = b"8BIMnorm" if order == ">" else b"MIB8mron"
    return (
        struct.pack(order + "4iH", 0, 0, 20, 20, 1) + struct.pack(order + "hI", 0, 2) + mode
        + bytes((255, clipped, 8 | (2 if hidden else 0), 0))
        + struct.pack(order + "I", len(extra)) + extra
    )  # fmt: skip


def layer_info(rng: random.Random, order: str, fault: str) -> bytes:
    names = rng.sample(NAMES, rng.randint(1, 5))
    odd = rng.randrange(len(names))
    records = [
        record(
            name, order, hidden=fault == "hidden" and at == odd,
            text=fault == "text" and at == odd, clipped=rng.random() < 0.2,
        )
        for at, name in enumerate(names)
    ]  # fmt: skip
    info = struct.pack(order + "h", len(names)) + b"".join(records) + bytes(2 * len(names))
    return info + bytes(len(info) % 2)


def as_psd(info: bytes) -> bytes:
    flat = psd(np.full((SIDE, SIDE, 3), 200, np.uint8), 3, extra=psd_resource(1057, b"\0\0\0\1\1"))
    body = struct.pack(">I", len(info)) + info + struct.pack(">I", 0) if info else b""
    colour = 26 + 4
    (resources,) = struct.unpack_from(">I", flat, colour)
    at = colour + 4 + resources
    return flat[:at] + struct.pack(">I", len(body)) + body + flat[at + 4 :]


def as_tiff(info: bytes, order: str) -> bytes:
    out = io.BytesIO()
    data = b"Adobe Photoshop Document Data Block\0" + block(b"Layr", info, order)
    tifffile.imwrite(
        out, np.full((SIDE, SIDE, 3), 200, np.uint8), photometric="rgb", byteorder=order,
        metadata=None, resolution=(100, 100),
        extratags=[(37724, 7, len(data), data, True)] if info else (),
    )  # fmt: skip
    return out.getvalue()


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(seed)
    kind = ("psd", "tif")[seed % 2]
    order = ">" if kind == "psd" else rng.choice("<>")
    for fault in ("hidden", "text", "visible", "flat"):
        info = b"" if fault == "flat" else layer_info(rng, order, fault)
        source = as_psd(info) if kind == "psd" else as_tiff(info, order)
        yield Case(f"{kind} {order} {fault}", fault in ("hidden", "text"), (kind, source))


def judge(case: Case) -> Severity | None:
    kind, source = case.held
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"art.{kind}"
        path.write_bytes(source)
        Image.open(path).close()  # another reader takes it for a sound file
        return worst(path, "file.layers", "sticker-square-50mm")
