"""A PDF 2.0 whose small objects lie in object streams (ISO 32000-2, 7.5.7 and 7.5.8)."""

from __future__ import annotations

import zlib

import numpy as np

from tests.factories import PT, Raw, Ref, serial

IN_A_STREAM = 200
"""Objects of one object stream."""


def streamed(size_mm: tuple[float, float], bleed: float, pictures: int, forms: int) -> bytes:
    """Return a page of pictures of 4 MB each, and forms each with a graphics state of its own."""
    rng = np.random.default_rng(11)
    width, height = (side * PT for side in size_mm)
    whole: dict[int, tuple[bytes, bytes]] = {}
    small: dict[int, bytes] = {1: serial({"Type": "Catalog", "Pages": Ref(2)})}
    small[2] = serial({"Type": "Pages", "Kids": [Ref(3)], "Count": 1})
    drawn: dict[str, Ref] = {}
    content = [b"0.05 0.08 0.2 0 k 0 0 %.2f %.2f re f" % (width, height)]
    number = 5
    for i in range(pictures):
        across = {"Type": "XObject", "Subtype": "Image", "Width": 1000, "Height": 1000,
                  "ColorSpace": "DeviceCMYK", "BitsPerComponent": 8}  # fmt: skip
        whole[number] = serial(across)[:-2], rng.bytes(4_000_000)
        drawn[f"P{i}"] = Ref(number)
        x, y = 40 + i % 10 * 170, 40 + i // 10 * 420
        content.append(b"q 160 0 0 160 %d %d cm /P%d Do Q" % (x, y, i))
        number += 1
    for i in range(forms):
        small[number] = serial({"Type": "ExtGState", "LW": 0.5 + i % 7, "ca": 1})
        small[number + 1] = serial({"G": Ref(number)})
        small[number + 2] = serial({"ExtGState": Ref(number + 1)})
        box = {"Type": "XObject", "Subtype": "Form", "BBox": Raw("[0 0 30 30]"),
               "Resources": Ref(number + 2)}  # fmt: skip
        data = b"/G gs 0 %.2f 0.4 0 k 2 2 m 20 4 l 24 24 l h B" % (i % 10 / 10)
        whole[number + 3] = serial(box)[:-2], data
        drawn[f"F{i}"] = Ref(number + 3)
        x, y = rng.random(2) * (width - 60, height - 60) + 30
        content.append(b"q 1 0 0 1 %.2f %.2f cm /F%d Do Q" % (x, y, i))
        number += 4
    trim = [bleed * PT, bleed * PT, width - bleed * PT, height - bleed * PT]
    small[3] = serial({
        "Type": "Page", "Parent": Ref(2), "MediaBox": [0, 0, width, height], "TrimBox": trim,
        "BleedBox": [0, 0, width, height], "Contents": Ref(4), "Resources": {"XObject": drawn},
    })  # fmt: skip
    whole[4] = b"<<", b"\n".join(content)
    return _file(whole, small, number)


def _file(whole: dict[int, tuple[bytes, bytes]], small: dict[int, bytes], free: int) -> bytes:
    out = bytearray(b"%PDF-2.0\n%\xe2\xe3\xcf\xd3\n")
    places: dict[int, tuple[int, int, int]] = {}
    names = sorted(small)
    for first in range(0, len(names), IN_A_STREAM):
        held = names[first : first + IN_A_STREAM]
        heads, at = [], 0
        for index, name in enumerate(held):
            heads.append(b"%d %d" % (name, at))
            at += len(small[name]) + 1
            places[name] = 2, free, index
        head = b" ".join(heads) + b"\n"
        data = zlib.compress(head + b"\n".join(small[name] for name in held))
        entries = b"<</Type /ObjStm /N %d /First %d /Filter /FlateDecode" % (len(held), len(head))
        whole[free] = entries, data
        free += 1
    for name, (entries, data) in whole.items():
        places[name] = 1, len(out), 0
        out += b"%d 0 obj\n%b /Length %d>>\nstream\n" % (name, entries, len(data))
        out += data + b"\nendstream\nendobj\n"
    start = len(out)
    places[free] = 1, start, 0
    rows = b"".join(
        kind.to_bytes(1, "big") + a.to_bytes(4, "big") + b.to_bytes(2, "big")
        for kind, a, b in (places.get(n, (0, 0, 65535)) for n in range(free + 1))
    )
    table = zlib.compress(rows)
    out += (
        b"%d 0 obj\n<</Type /XRef /Size %d /W [1 4 2] /Root 1 0 R /Filter /FlateDecode "
        b"/Length %d>>\nstream\n" % (free, free + 1, len(table))
    )
    out += table + b"\nendstream\nendobj\nstartxref\n%d\n%%%%EOF\n" % start
    return bytes(out)
