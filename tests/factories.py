"""Makes small PDFs of known truth, places given in mm, for tests of every room.

The writer is our own and shares no code with the reader under test.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

PT = 72 / 25.4
"""Points per mm."""


class Raw(str):
    """PDF source written as it stands."""


@dataclass(frozen=True)
class Stream:
    """A stream object: its dictionary (without Length) and its data."""

    data: bytes
    entries: Mapping[str, object] = field(default_factory=dict)
    deflate: bool = False


class Ref(int):
    """A reference to an object by its number."""


def serial(value: object) -> bytes:
    """Return a Python value as PDF source: str is a name, bytes a string, Raw itself."""
    match value:
        case Ref():
            return b"%d 0 R" % int(value)
        case Raw():
            return value.encode("latin-1")
        case bool():
            return b"true" if value else b"false"
        case None:
            return b"null"
        case int():
            return b"%d" % value
        case float():
            return f"{value:.6f}".rstrip("0").rstrip(".").encode()
        case str():
            return b"/" + b"".join(
                bytes([c]) if 33 <= c <= 126 and c not in b"#/()<>[]{}%" else b"#%02X" % c
                for c in value.encode()
            )
        case bytes():
            return b"<" + value.hex().encode() + b">"
        case Mapping():
            return b"<<" + b" ".join(serial(k) + b" " + serial(v) for k, v in value.items()) + b">>"
        case Sequence():
            return b"[" + b" ".join(serial(item) for item in value) + b"]"
    raise TypeError(type(value))


class Pdf:
    """A PDF under construction."""

    def __init__(self, version: str = "1.6") -> None:
        self.version = version
        self._objects: list[bytes] = []
        self._pages: list[Ref] = []
        self._tree = self.add(None)
        self.catalog: dict[str, object] = {"Type": "Catalog", "Pages": self._tree}
        self.tree: dict[str, object] = {"Type": "Pages"}
        self.info: dict[str, object] = {}
        self.trailer: dict[str, object] = {}

    def add(self, value: object) -> Ref:
        """Add an object and return its reference."""
        self._objects.append(b"")
        ref = Ref(len(self._objects))
        self.put(ref, value)
        return ref

    def put(self, ref: Ref, value: object) -> None:
        """Replace an object."""
        if isinstance(value, Stream):
            data = zlib.compress(value.data) if value.deflate else value.data
            entries = dict(value.entries)
            if value.deflate:
                entries["Filter"] = "FlateDecode"
            source = serial({**entries, "Length": len(data)})
            self._objects[ref - 1] = source + b"\nstream\n" + data + b"\nendstream"
        else:
            self._objects[ref - 1] = serial(value)

    def page(
        self,
        content: str | bytes,
        size_mm: tuple[float, float],
        *,
        trim_mm: Sequence[float] | None = None,
        bleed_mm: Sequence[float] | None = None,
        resources: Mapping[str, object] | None = None,
        millimetres: bool = True,
        **entries: object,
    ) -> Ref:
        """Add a page with its MediaBox at the origin; boxes are (x0, y0, x1, y1) in mm.

        With `millimetres` the content's unit is the mm, else the point.
        """
        source = content.encode("latin-1") if isinstance(content, str) else content
        if millimetres:
            source = b"q %.10f 0 0 %.10f 0 0 cm\n" % (PT, PT) + source + b"\nQ"
        page: dict[str, object] = {
            "Type": "Page",
            "Parent": self._tree,
            "MediaBox": [0, 0, size_mm[0] * PT, size_mm[1] * PT],
            "Resources": resources or {},
            "Contents": self.add(Stream(source)),
        }
        for key, box in (("TrimBox", trim_mm), ("BleedBox", bleed_mm)):
            if box is not None:
                page[key] = [value * PT for value in box]
        page.update(entries)
        ref = self.add({k: v for k, v in page.items() if v is not None})
        self._pages.append(ref)
        return ref

    def bytes(self) -> bytes:
        """Return the finished file."""
        self.put(self._tree, {**self.tree, "Kids": self._pages, "Count": len(self._pages)})
        root = self.add(self.catalog)
        trailer: dict[str, object] = {"Root": root, **self.trailer}
        if self.info:
            trailer["Info"] = self.add(self.info)
        out = bytearray(f"%PDF-{self.version}\n%\xe2\xe3\xcf\xd3\n".encode("latin-1"))
        offsets = []
        for number, source in enumerate(self._objects, 1):
            offsets.append(len(out))
            out += b"%d 0 obj\n" % number + source + b"\nendobj\n"
        start = len(out)
        out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(offsets) + 1)
        out += b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
        trailer["Size"] = len(offsets) + 1
        out += b"trailer\n" + serial(trailer) + b"\nstartxref\n%d\n%%%%EOF\n" % start
        return bytes(out)


def one_page(content: str | bytes, size_mm: tuple[float, float], **options: object) -> bytes:
    """Return a one-page PDF; options as for `Pdf.page`."""
    pdf = Pdf()
    pdf.page(content, size_mm, **options)  # type: ignore[arg-type]
    return pdf.bytes()


def disc_path(x: float, y: float, radius: float) -> str:
    """Return a circle of four Bézier arcs (error under 0.03 % of the radius), closed."""
    k = radius * 0.5522847498
    r = radius
    return (
        f"{x + r} {y} m "
        f"{x + r} {y + k} {x + k} {y + r} {x} {y + r} c "
        f"{x - k} {y + r} {x - r} {y + k} {x - r} {y} c "
        f"{x - r} {y - k} {x - k} {y - r} {x} {y - r} c "
        f"{x + k} {y - r} {x + r} {y - k} {x + r} {y} c h"
    )
