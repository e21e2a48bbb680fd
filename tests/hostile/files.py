"""Makes the files: each function takes how large it is to be and returns a whole file."""

from __future__ import annotations

import random
import struct
import zlib
from collections.abc import Callable, Iterable

from tests.factories import PT, Pdf, Raw, Ref, Stream

LABEL = (106.0, 106.0)
TRIM = (3, 3, 103, 103)
FORM = {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 320, 320]}
SEED = 20

Maker = Callable[[int], bytes]


def packed(pieces: Iterable[bytes], level: int = 6) -> bytes:
    """Return pieces deflated together, without ever holding what they unpack to."""
    packer = zlib.compressobj(level)
    return b"".join([*map(packer.compress, pieces), packer.flush()])


def deflated(pieces: Iterable[bytes], level: int = 6, /, **entries: object) -> Stream:
    return Stream(packed(pieces, level), {**entries, "Filter": "FlateDecode"})


def label(
    contents: object, resources: dict[str, object] | None = None, pdf: Pdf | None = None
) -> bytes:
    """Return a 12-inch label's page of small size with the contents given, in points."""
    pdf = pdf or Pdf("1.7")
    pdf.page("", LABEL, trim_mm=TRIM, resources=resources or {}, Contents=contents)
    return pdf.bytes()


def content(
    data: bytes, resources: dict[str, object] | None = None, pdf: Pdf | None = None
) -> bytes:
    pdf = pdf or Pdf("1.7")
    return label(pdf.add(Stream(data, deflate=True)), resources, pdf)


def of_stream(piece: bytes, count: int) -> bytes:
    """Return a label whose content is a piece over and over."""
    at_once = max(1, min(count, (1 << 20) // len(piece)))
    pieces = [piece * at_once] * (count // at_once) + [piece * (count % at_once)]
    pdf = Pdf("1.7")
    return label(pdf.add(deflated(pieces)), pdf=pdf)


def saves(count: int) -> bytes:
    return of_stream(b"q Q ", count)


def same_rectangles(count: int) -> bytes:
    return of_stream(b"9 9 50 50 re f\n", count)


def spaces(count: int) -> bytes:
    return of_stream(b" ", count)


def content_streams(count: int) -> bytes:
    pdf = Pdf("1.7")
    return label([pdf.add(Stream(b"9 9 50 50 re f\n")) for _ in range(count)], pdf=pdf)


def content_streams_unpacked(count: int) -> bytes:
    """One stream named over and over: a small file that unpacks to `count` megabytes."""
    pdf = Pdf("1.7")
    one = pdf.add(deflated([b"q Q " * (1 << 18)]))
    return label([one] * count, pdf=pdf)


def doubling_forms(levels: int) -> bytes:
    """Forms that each draw the next one twice: the last is drawn 2^levels times."""
    pdf = Pdf("1.7")
    inner = pdf.add(Stream(b"9 9 50 50 re f", FORM))
    for _ in range(levels):
        entries = {**FORM, "Resources": {"XObject": {"F": inner}}}
        inner = pdf.add(Stream(b"/F Do /F Do", entries))
    return content(b"/F Do", {"XObject": {"F": inner}}, pdf)


def pictures(count: int, side: int = 6000) -> bytes:
    """CMYK pictures of side × side pixels, each another, laid over one another."""
    pdf = Pdf("1.7")
    chance = random.Random(SEED)
    drawn = {}
    for number in range(count):
        row = chance.randbytes(64) * (side * 4 // 64 + 1)
        picture = deflated(
            (row[: side * 4] for _ in range(side)), Type="XObject", Subtype="Image",
            Width=side, Height=side, ColorSpace="DeviceCMYK", BitsPerComponent=8,
        )  # fmt: skip
        drawn[f"P{number}"] = pdf.add(picture)
    shown = b"".join(
        b"q %d 0 0 %d %d %d cm /P%d Do Q\n" % (200, 200, 20 + n * 5, 20 + n * 5, n)
        for n in range(count)
    )
    return content(shown, {"XObject": drawn}, pdf)


def mask_of_itself(_: int) -> bytes:
    pdf = Pdf("1.7")
    group, state = pdf.add(None), pdf.add(None)
    pdf.put(state, {"Type": "ExtGState", "SMask": {"S": "Luminosity", "G": group}})
    own = {"ExtGState": {"M": state}, "XObject": {"G": group}}
    entries = {**FORM, "Group": {"S": "Transparency", "CS": "DeviceGray"}, "Resources": own}
    pdf.put(group, Stream(b"/M gs 9 9 50 50 re f /G Do", entries))
    return content(b"/M gs 0 1 1 0 k 20 20 200 200 re f", own, pdf)


def png(side: int) -> bytes:
    """An RGB picture of side × side pixels, all one colour but for its edge."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    row = b"\0" + b"\x30\x80\xc0" * side
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    density = struct.pack(">IIB", side * 10, side * 10, 1)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"pHYs", density)
        + chunk(b"IDAT", packed(row for _ in range(side))) + chunk(b"IEND", b"")
    )  # fmt: skip


def tiling(step: str) -> bytes:
    pdf = Pdf("1.7")
    cell = pdf.add(Stream(
        b"0 1 1 0 k 0 0 4 4 re f",
        {"Type": "Pattern", "PatternType": 1, "PaintType": 1, "TilingType": 1,
         "BBox": [0, 0, 8, 8], "XStep": Raw(step), "YStep": Raw(step), "Resources": {}},
    ))  # fmt: skip
    shown = b"/Pattern cs /T scn 20 20 250 250 re f"
    return content(shown, {"Pattern": {"T": cell}}, pdf)


def tiny_tiling(denominator: int) -> bytes:
    return tiling(f"{1 / denominator:.9f}")


def negative_tiling(denominator: int) -> bytes:
    return tiling(f"-{1 / denominator:.9f}")


def calculator(operators: int) -> bytes:
    """A tint transform of so many operators, asked for by 200 colours and one shading."""
    pdf = Pdf("1.7")
    program = b"{ " + b"dup pop " * (operators // 2) + b"dup dup dup }"
    tint = pdf.add(Stream(
        program, {"FunctionType": 4, "Domain": [0, 1], "Range": [0, 1] * 4}, deflate=True
    ))  # fmt: skip
    space = pdf.add(["Separation", "Foil", "DeviceCMYK", tint])
    ramp = {"FunctionType": 2, "Domain": [0, 1], "C0": [0], "C1": [1], "N": 1}
    shading = {
        "ShadingType": 2, "ColorSpace": space, "Coords": [20, 0, 280, 0], "Function": ramp,
    }  # fmt: skip
    shown = b"/S cs " + b"".join(b"%.3f scn 20 20 99 99 re f\n" % (n / 200) for n in range(200))
    return content(shown + b"/H sh", {"ColorSpace": {"S": space}, "Shading": {"H": shading}}, pdf)


def shadings(count: int) -> bytes:
    pdf = Pdf("1.7")
    drawn: dict[str, object] = {}
    for n in range(count):
        ramp = {"FunctionType": 2, "Domain": [0, 1], "C0": [0, n / count, 0, 0], "C1": [1, 0, 1, 0],
                "N": 1}  # fmt: skip
        drawn[f"H{n}"] = pdf.add({
            "ShadingType": 3, "ColorSpace": "DeviceCMYK", "Extend": [True, True],
            "Coords": [150 + n % 50, 150, 0, 150, 150, 100 + n % 77], "Function": ramp,
        })  # fmt: skip
    shown = b"".join(
        b"q %d %d 60 60 re W n /H%d sh Q\n" % (n % 230, n % 227, n) for n in range(count)
    )
    return content(shown, {"Shading": drawn}, pdf)


def mesh(triangles: int) -> bytes:
    """Free triangles of three corners each, coloured in CMYK."""
    chance = random.Random(SEED)
    data = bytearray()
    for _ in range(triangles):
        x, y = chance.randrange(60000), chance.randrange(60000)
        for dx, dy in ((0, 0), (900, 0), (0, 900)):
            data += struct.pack(">BHH4B", 0, x + dx, y + dy, *chance.randbytes(4))
    pdf = Pdf("1.7")
    shading = pdf.add(Stream(bytes(data), {
        "ShadingType": 4, "ColorSpace": "DeviceCMYK", "BitsPerCoordinate": 16,
        "BitsPerComponent": 8, "BitsPerFlag": 8,
        "Decode": [0, 300, 0, 300, 0, 1, 0, 1, 0, 1, 0, 1],
    }, deflate=True))  # fmt: skip
    return content(b"/H sh", {"Shading": {"H": shading}}, pdf)


def text_map(ranges: int) -> bytes:
    """A font whose ToUnicode map has so many ranges of 65,536 codes each."""
    lines = b"".join(
        b"1 beginbfrange\n<%08x> <%08x> <0041>\nendbfrange\n" % (n << 16, n << 16 | 0xFFFF)
        for n in range(ranges)
    )
    source = b"1 begincodespacerange <00000000> <ffffffff> endcodespacerange\n" + lines
    pdf = Pdf("1.7")
    inner = pdf.add({
        "Type": "Font", "Subtype": "CIDFontType2", "BaseFont": "Odd", "DW": 600,
        "CIDSystemInfo": {"Registry": b"Adobe", "Ordering": b"Identity", "Supplement": 0},
        "FontDescriptor": pdf.add({"Type": "FontDescriptor", "FontName": "Odd", "Flags": 4}),
    })  # fmt: skip
    fonts = {}
    for number in range(4):
        fonts[f"T{number}"] = pdf.add({
            "Type": "Font", "Subtype": "Type0", "BaseFont": f"Odd{number}",
            "Encoding": "Identity-H", "DescendantFonts": [inner],
            "ToUnicode": pdf.add(Stream(source, deflate=True)),
        })  # fmt: skip
    shown = b"".join(
        b"BT /T%d 20 Tf 40 %d Td <00010002> Tj ET\n" % (n, 40 + n * 40) for n in range(4)
    )
    return content(shown, {"Font": fonts}, pdf)


def nested_groups(levels: int) -> bytes:
    """Transparency groups one inside the other."""
    pdf = Pdf("1.7")
    inner = pdf.add(Stream(b"0 1 1 0 k 9 9 50 50 re f", FORM))
    for _ in range(levels):
        entries = {
            **FORM, "Group": {"S": "Transparency", "I": True},
            "Resources": {"XObject": {"F": inner}, "ExtGState": {"A": {"ca": 0.9}}},
        }  # fmt: skip
        inner = pdf.add(Stream(b"/A gs /F Do", entries))
    return content(b"/F Do", {"XObject": {"F": inner}}, pdf)


def groups_side_by_side(count: int) -> bytes:
    """Transparency groups as large as the page, one after the other."""
    pdf = Pdf("1.7")
    drawn: dict[str, object] = {}
    for n in range(count):
        entries = {
            **FORM, "Group": {"S": "Transparency", "I": True},
            "Resources": {"ExtGState": {"A": {"ca": 0.5, "BM": "Multiply"}}},
        }  # fmt: skip
        drawn[f"F{n}"] = pdf.add(Stream(b"/A gs 0 1 1 0 k %d 9 250 250 re f" % (n % 40), entries))
    return content(
        b"/B gs " + b" ".join(b"/F%d Do" % n for n in range(count)),
        {"XObject": drawn, "ExtGState": {"B": {"ca": 0.5}}}, pdf,
    )  # fmt: skip


def spots(count: int) -> bytes:
    """Separations, each painted with once."""
    pdf = Pdf("1.7")
    tint = pdf.add(
        {"FunctionType": 2, "Domain": [0, 1], "C0": [0, 0, 0, 0], "C1": [0, 1, 1, 0], "N": 1}
    )
    named = {f"S{n}": ["Separation", f"Ink {n}", "DeviceCMYK", tint] for n in range(count)}
    shown = b"".join(
        b"/S%d cs 1 scn %d %d 9 9 re f\n" % (n, 20 + n % 25 * 10, 20 + n // 25 * 10)
        for n in range(count)
    )
    return content(shown, {"ColorSpace": named}, pdf)


# Honest, but heavy.


def _numbers(count: int) -> random.Random:
    return random.Random(f"{SEED} {count}")


def rectangles(count: int) -> bytes:
    chance = _numbers(count)
    return content(b"".join(
        b"%d %d %d %d re f\n" % (chance.randrange(290), chance.randrange(290),
                                 chance.randrange(1, 9), chance.randrange(1, 9))
        for _ in range(count)
    ))  # fmt: skip


def coloured_strokes(count: int) -> bytes:
    """Lines that change colour and width each time, among some 1,300 colours."""
    chance = _numbers(count)
    return content(b"".join(
        b"%.1f %.1f 0 %.1f K %.1f w %d %d m %d %d l S\n" % (
            chance.random(), chance.random(), chance.random(), chance.uniform(0, 2),
            *(chance.randrange(290) for _ in range(4)))
        for _ in range(count)
    ))  # fmt: skip


def path_of_rectangles(count: int) -> bytes:
    """Rectangles that are all one path, filled together."""
    chance = _numbers(count)
    return content(b"".join(
        b"%d %d %d %d re\n" % (chance.randrange(290), chance.randrange(290),
                               chance.randrange(1, 9), chance.randrange(1, 9))
        for _ in range(count)
    ) + b"f")  # fmt: skip


def strokes(count: int) -> bytes:
    chance = _numbers(count)
    return content(b"".join(
        b"%d %d m %d %d l S\n" % tuple(chance.randrange(290) for _ in range(4))
        for _ in range(count)
    ))  # fmt: skip


def long_path(points: int) -> bytes:
    chance = _numbers(points)
    return content(b"20 20 m\n" + b"".join(
        b"%.2f %.2f l\n" % (chance.uniform(9, 290), chance.uniform(9, 290)) for _ in range(points)
    ) + b"0 1 1 0 k f")  # fmt: skip


def curves(count: int) -> bytes:
    chance = _numbers(count)
    lines = []
    for _ in range(count):
        x, y = chance.randrange(270), chance.randrange(270)
        lines.append(b"%d %d m %d %d %d %d %d %d c f\n" % (
            x, y, x + 9, y + 2, x + 12, y + 7, x + chance.randrange(20), y + 15))  # fmt: skip
    return content(b"".join(lines))


def text_shows(count: int) -> bytes:
    chance = _numbers(count)
    pdf = Pdf("1.7")
    font = pdf.add({"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica"})
    lines = [
        b"BT /T 7 Tf %d %d Td (Side A %d) Tj ET\n" % (
            chance.randrange(20, 260), chance.randrange(20, 280), n)
        for n in range(count)
    ]  # fmt: skip
    return content(b"".join(lines), {"Font": {"T": font}}, pdf)


def one_picture(side: int) -> bytes:
    """A CMYK picture of side × side pixels over the whole of a label at 1,200 ppi and more."""
    chance = random.Random(SEED)
    # Repeated within what deflating sees at a time: the file is to be small, the picture large.
    tile = [(chance.randbytes(2000) * (side * 4 // 2000 + 1))[: side * 4] for _ in range(4)]
    pdf = Pdf("1.7")
    picture = pdf.add(deflated(
        (tile[row % 4] for row in range(side)), Type="XObject", Subtype="Image",
        Width=side, Height=side, ColorSpace="DeviceCMYK", BitsPerComponent=8,
    ))  # fmt: skip
    return content(
        b"q %.3f 0 0 %.3f 0 0 cm /P Do Q" % (106 * PT, 106 * PT), {"XObject": {"P": picture}}, pdf
    )


def gatefold_tiff(ppi: int) -> bytes:
    """A CMYK TIFF, uncompressed, of a whole gatefold jacket with 3 mm of bleed."""
    from prepcheck.spec.load import load_spec

    box = load_spec("gatefold-12in").outline_of(0).bounds.grown(3.0)
    width, height = (round(side / 25.4 * ppi) for side in (box.width, box.height))
    chance = random.Random(SEED)
    rows = [chance.randbytes(width * 4) for _ in range(16)]
    per = 64
    strips = -(-height // per)
    tags = [
        (256, 4, 1, width), (257, 4, 1, height), (258, 3, 4, 0), (259, 3, 1, 1), (262, 3, 1, 5),
        (273, 4, strips, 0), (277, 3, 1, 4), (278, 4, 1, per), (279, 4, strips, 0),
        (282, 5, 1, 0), (283, 5, 1, 0), (296, 3, 1, 2), (332, 3, 1, 1),
    ]  # fmt: skip
    at = 8 + 2 + 12 * len(tags) + 4
    extra, places = b"", {}
    sizes = [min(per, height - n * per) * width * 4 for n in range(strips)]
    data_at = at + 8 + 8 * strips + 16
    offsets = [data_at]
    for size in sizes[:-1]:
        offsets.append(offsets[-1] + size)
    for tag, block in (
        (258, struct.pack("<4H", 8, 8, 8, 8)), (273, struct.pack(f"<{strips}I", *offsets)),
        (279, struct.pack(f"<{strips}I", *sizes)), (282, struct.pack("<II", ppi, 1)),
        (283, struct.pack("<II", ppi, 1)),
    ):  # fmt: skip
        places[tag] = at + len(extra)
        extra += block
    head = struct.pack("<2sHIH", b"II", 42, 8, len(tags))
    for tag, kind, number, value in tags:
        head += struct.pack("<HHII", tag, kind, number, places.get(tag, value))
    head += b"\0\0\0\0" + extra
    return head + b"".join(rows[row % 16] for row in range(height))


def large_pdf(megabytes: int) -> bytes:
    """A PDF of so many MB: noise in 5 MB pictures without compression, each shown."""
    chance = random.Random(SEED)
    pdf = Pdf("1.7")
    drawn = {}
    width, height = 1000, 1250
    for number in range(megabytes // 5):
        drawn[f"P{number}"] = pdf.add(Stream(chance.randbytes(width * height * 4), {
            "Type": "XObject", "Subtype": "Image", "Width": width, "Height": height,
            "ColorSpace": "DeviceCMYK", "BitsPerComponent": 8,
        }))  # fmt: skip
    shown = b"".join(
        b"q 40 0 0 50 %d %d cm /P%d Do Q\n" % (n % 7 * 40, n // 7 % 6 * 50, n)
        for n in range(len(drawn))
    )
    return content(shown, {"XObject": drawn}, pdf)


def ref(number: int) -> Ref:
    return Ref(number)


HOSTILE: dict[str, tuple[Maker, int]] = {
    "saves": (saves, 95_000_000),
    "same-rectangles": (same_rectangles, 25_000_000),
    "spaces": (spaces, 4_000_000_000),
    "content-streams": (content_streams, 100_000),
    "content-streams-unpacked": (content_streams_unpacked, 100_000),
    "doubling-forms": (doubling_forms, 29),
    "pictures": (pictures, 12),
    "mask-of-itself": (mask_of_itself, 1),
    "png": (png, 14_000),
    "tiny-tiling": (tiny_tiling, 1_000_000),
    "negative-tiling": (negative_tiling, 1000),
    "calculator": (calculator, 300_000),
    "shadings": (shadings, 3000),
    "mesh": (mesh, 200_000),
    "text-map": (text_map, 3000),
    "nested-groups": (nested_groups, 2000),
    "groups": (groups_side_by_side, 2000),
    "spots": (spots, 600),
}
"""Each with its full size."""
HONEST: dict[str, tuple[Maker, int]] = {
    "rectangles": (rectangles, 1_000_000),
    "strokes": (strokes, 1_000_000),
    "path-of-rectangles": (path_of_rectangles, 1_000_000),
    "long-path": (long_path, 1_000_000),
    "text-shows": (text_shows, 200_000),
    "curves": (curves, 300_000),
    "one-picture": (one_picture, 14_000),
    "gatefold-tiff": (gatefold_tiff, 600),
    "large-pdf": (large_pdf, 250),
}
"""What has to pass."""
TOO_HEAVY: dict[str, tuple[Maker, int]] = {
    "coloured-strokes": (coloured_strokes, 1_000_000),
}
"""Honest as well, but ended by time: 60 s of processor are not enough. Without a limit it takes
some 130 s (a busy machine, 2026), a quarter each for painting and for edges near the trim."""
