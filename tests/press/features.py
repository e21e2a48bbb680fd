"""Small pages, one a feature of painting, for plates to be made of. 144 by 108 points."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Mapping

import numpy as np
from PIL import Image

from tests.factories import Pdf, Stream

SIZE_PT = (144, 108)
SIZE_MM = (50.8, 38.1)


def tint(*end: float, start: tuple[float, ...] = ()) -> dict[str, object]:
    """Return an exponential function from no ink (or `start`) to `end`."""
    return {
        "FunctionType": 2, "Domain": [0, 1], "N": 1,
        "C0": [*(start or (0.0,) * len(end))], "C1": [*map(float, end)],
    }  # fmt: skip


GOLD = ["Separation", "Gold", "DeviceCMYK", tint(0, 0.2, 0.8, 0.2)]
GREEN = ["Separation", "Green", "DeviceCMYK", tint(0.8, 0, 0.9, 0)]


def page(
    content: str | bytes,
    pdf: Pdf | None = None,
    entries: Mapping[str, object] | None = None,
    **resources: object,
) -> bytes:
    """Return a one-page PDF in points; `entries` go into the page's dictionary."""
    pdf = pdf or Pdf()
    shared: dict[str, object] = {
        "ColorSpace": {"Gold": GOLD, "Green": GREEN},
        "ExtGState": {
            "OPM0": {"OP": True, "op": True, "OPM": 0},
            "OPM1": {"OP": True, "op": True, "OPM": 1},
            "Off": {"OP": False, "op": False},
            "Half": {"ca": 0.5, "CA": 0.5},
            **{mode: {"BM": mode} for mode in BLENDS},
        },
    }
    for kind, named in resources.items():
        assert isinstance(named, Mapping)
        shared[kind] = {**shared.get(kind, {}), **named}  # type: ignore[dict-item]
    own = {"MediaBox": [0, 0, *SIZE_PT], **(entries or {})}
    pdf.page(content, (0, 0), resources=shared, millimetres=False, **own)
    return pdf.bytes()


BLENDS = (
    "Normal", "Multiply", "Screen", "Overlay", "Darken", "Lighten", "ColorDodge", "ColorBurn",
    "HardLight", "SoftLight", "Difference", "Exclusion", "Hue", "Saturation", "Color",
    "Luminosity",
)  # fmt: skip
BACKDROP = "0.4 0.2 0.6 0.1 k 10 10 80 88 re f /Gold cs 0.7 scn 20 5 30 98 re f "


def image(
    width: int, height: int, space: object, data: bytes, bits: int = 8, **entries: object
) -> Stream:
    return Stream(
        data,
        {"Type": "XObject", "Subtype": "Image", "Width": width, "Height": height,
         "ColorSpace": space, "BitsPerComponent": bits, **entries},
        deflate="Filter" not in entries,
    )  # fmt: skip


def ramp(width: int, height: int, channels: int) -> np.ndarray:
    """Return a smooth picture, each channel a slope of its own."""
    y, x = np.mgrid[0:height, 0:width]
    slopes = (x / width, y / height, 1 - x / width, (x + y) / (width + height) * 0.5)
    return np.rint(np.stack(slopes[:channels], axis=2) * 255).astype(np.uint8)


def drawn(picture: Stream, before: str = "") -> bytes:
    """Return a page that draws a picture, partly on a tint."""
    pdf = Pdf()
    content = f"0.2 0 0 0 k 0 0 144 50 re f {before} q 114 0 0 80 12 14 cm /Im Do Q"
    return page(content, pdf, XObject={"Im": pdf.add(picture)})


def group(content: str, resources: Mapping[str, object] | None = None, **entries: object) -> Stream:
    return Stream(
        content.encode(),
        {
            "Type": "XObject", "Subtype": "Form", "BBox": [0, 0, *SIZE_PT],
            "Group": {"S": "Transparency", "CS": "DeviceCMYK", **entries},
            "Resources": resources or {},
        },
    )  # fmt: skip


def in_group(content: str, before: str = BACKDROP, use: str = "/Fm Do", **entries: object) -> bytes:
    pdf = Pdf()
    states = {mode: {"BM": mode} for mode in BLENDS}
    states["OPM1"] = {"OP": True, "op": True, "OPM": 1}
    inner = {"ColorSpace": {"Gold": GOLD, "Green": GREEN}, "ExtGState": states}
    form = pdf.add(group(content, inner, **entries))
    return page(f"{before} {use}", pdf, XObject={"Fm": form})


def cmyk_jpeg() -> bytes:
    """Return a CMYK JPEG as Pillow writes it: inverted, as Adobe's are."""
    out = io.BytesIO()
    Image.frombytes("CMYK", (64, 48), ramp(64, 48, 4).tobytes()).save(out, "JPEG", quality=95)
    return out.getvalue()


def transferred_mask(kind: str, function: object, space: str = "DeviceGray") -> bytes:
    """Return a page with a soft mask whose values a transfer function changes."""
    pdf = Pdf()
    colour = {"DeviceGray": "0.7 g", "DeviceRGB": "0.6 0.7 0.8 rg"}[space]
    mask = pdf.add(
        Stream(
            f"/Weak gs {colour} 0 0 72 108 re f".encode(),
            {
                "Type": "XObject", "Subtype": "Form", "BBox": [0, 0, *SIZE_PT],
                "Group": {"S": "Transparency", "CS": space},
                "Resources": {"ExtGState": {"Weak": {"ca": 0.3}}},
            },
        )
    )  # fmt: skip
    held = pdf.add(function) if isinstance(function, Stream) else function
    state = {"SMask": {"Type": "Mask", "S": kind, "G": mask, "TR": held}}
    content = "0.2 0 0 0 k 0 0 144 50 re f q /Soft gs 0 1 0 0.5 k 10 10 124 88 re f Q"
    return page(content, pdf, ExtGState={"Soft": state})


TURNED = tint(0.0, start=(1.0,))
SQUARED = {"FunctionType": 2, "Domain": [0, 1], "N": 2}
CALCULATED = Stream(b"{ 1 exch sub }", {"FunctionType": 4, "Domain": [0, 1], "Range": [0, 1]})


def soft_masked(space: str = "DeviceGray") -> bytes:
    pdf = Pdf()
    shade = {
        "ShadingType": 2, "ColorSpace": space, "Coords": [0, 0, 144, 0], "Extend": [True, True],
        "Function": tint(1.0, start=(0.0,)) if space == "DeviceGray"
        else tint(0.2, 0.3, 0.4, 0.5),
    }  # fmt: skip
    mask = pdf.add(
        Stream(
            b"/Sh sh",
            {
                "Type": "XObject", "Subtype": "Form", "BBox": [0, 0, *SIZE_PT],
                "Group": {"S": "Transparency", "CS": space},
                "Resources": {"Shading": {"Sh": shade}},
            },
        )
    )  # fmt: skip
    state = {"SMask": {"Type": "Mask", "S": "Luminosity", "G": mask}}
    return page(
        BACKDROP + "q /Soft gs 1 0 0 0 k 0 0 144 108 re f Q", pdf, ExtGState={"Soft": state}
    )


def fax() -> bytes:
    """Return a 1-bit picture of 64 by 48 samples in CCITT group 4, as a TIFF writer packs it."""
    dots = (ramp(64, 48, 1)[:, :, 0] > 90).astype(np.uint8) * 255
    out = io.BytesIO()
    Image.fromarray(dots).convert("1").save(out, "TIFF", compression="group4")
    with Image.open(out) as picture:
        tags = picture.tag_v2  # type: ignore[attr-defined]
        (start,), (length,) = tags[273], tags[279]
        assert tags[262] == 1
    return out.getvalue()[start : start + length]


def grey_jpeg() -> bytes:
    out = io.BytesIO()
    Image.fromarray(ramp(64, 48, 1)[:, :, 0]).save(out, "JPEG", quality=95)
    return out.getvalue()


def jpeg_2000() -> bytes:
    out = io.BytesIO()
    Image.fromarray(ramp(64, 48, 1)[:, :, 0]).save(out, "JPEG2000")
    return out.getvalue()


def soft_masked_picture() -> bytes:
    pdf = Pdf()
    mask = pdf.add(image(40, 30, "DeviceGray", ramp(40, 30, 1).tobytes()))
    data = np.full((30, 40, 4), (0, 255, 128, 0), np.uint8).tobytes()
    picture = pdf.add(image(40, 30, "DeviceCMYK", data, SMask=mask))
    content = BACKDROP + "q 114 0 0 80 12 14 cm /Im Do Q"
    return page(content, pdf, XObject={"Im": picture})


def shading(**entries: object) -> bytes:
    return page("/Sh sh", Shading={"Sh": entries})


def mesh(kind: int, data: bytes, space: object, colours: int, **entries: object) -> bytes:
    pdf = Pdf()
    stream = pdf.add(
        Stream(
            data,
            {
                "ShadingType": kind, "ColorSpace": space, "BitsPerCoordinate": 16,
                "BitsPerComponent": 8, "Decode": [0, 144, 0, 108, *[0, 1] * colours], **entries,
            },
        )
    )  # fmt: skip
    return page("/Sh sh", pdf, Shading={"Sh": stream})


def point(x: float, y: float) -> bytes:
    return struct.pack(">HH", round(x / 144 * 65535), round(y / 108 * 65535))


TRIANGLES = b"".join(
    b"\0" + point(*place) + bytes(colour)
    for place, colour in (
        ((10, 10), (255, 0, 0, 0)), ((130, 20), (0, 255, 0, 0)), ((70, 100), (0, 0, 255, 128)),
    )
)  # fmt: skip
LATTICE = b"".join(
    point(*place) + bytes(colour)
    for place, colour in (
        ((10, 10), (255, 0, 0, 0)), ((130, 10), (0, 255, 0, 0)),
        ((10, 95), (0, 0, 255, 0)), ((130, 95), (0, 0, 0, 255)),
    )
)  # fmt: skip
_EDGE = (
    (10, 10), (5, 40), (15, 70), (10, 98), (50, 104), (90, 90), (130, 98), (135, 70), (125, 40),
    (130, 10), (90, 16), (50, 4),
)  # fmt: skip
_CORNERS = ((255, 0, 0, 0), (0, 255, 0, 0), (0, 0, 255, 0), (64, 64, 64, 128))
COONS = b"\0" + b"".join(point(*p) for p in _EDGE) + b"".join(map(bytes, _CORNERS))
TENSOR = (
    b"\0" + b"".join(point(*p) for p in (*_EDGE, (50, 40), (50, 70), (90, 70), (90, 40)))
    + b"".join(map(bytes, _CORNERS))
)  # fmt: skip


def tiling(paint: int, cell: str, use: str, **spaces: object) -> bytes:
    pdf = Pdf()
    pattern = pdf.add(
        Stream(
            cell.encode(),
            {
                "Type": "Pattern", "PatternType": 1, "PaintType": paint, "TilingType": 1,
                "BBox": [0, 0, 24, 24], "XStep": 24, "YStep": 24,
                "Resources": {"ColorSpace": {"Gold": GOLD}},
            },
        )
    )  # fmt: skip
    return page(use, pdf, Pattern={"Ti": pattern}, ColorSpace=spaces)


def type3(procedure: str, show: str = "0.9 0 0 0.3 k 10 30 Td (AA) Tj") -> bytes:
    pdf = Pdf()
    font = pdf.add({
        "Type": "Font", "Subtype": "Type3", "FontBBox": [0, 0, 1000, 1000],
        "FontMatrix": [0.001, 0, 0, 0.001, 0, 0], "FirstChar": 65, "LastChar": 65,
        "Widths": [1000], "Encoding": {"Type": "Encoding", "Differences": [65, "a"]},
        "CharProcs": {"a": pdf.add(Stream(procedure.encode()))},
        "Resources": {"ColorSpace": {"Gold": GOLD}},
    })  # fmt: skip
    spaces = {"Gold": GOLD}
    return page(BACKDROP + f"BT /F 40 Tf {show} ET", pdf, Font={"F": font}, ColorSpace=spaces)


def layered() -> bytes:
    pdf = Pdf()
    shown, hidden = (pdf.add({"Type": "OCG", "Name": name}) for name in (b"art", b"notes"))
    pdf.catalog["OCProperties"] = {
        "OCGs": [shown, hidden], "D": {"ON": [shown], "OFF": [hidden]},
    }  # fmt: skip
    return page(
        "/OC /Art BDC 1 0 0 0 k 10 10 60 80 re f EMC /OC /Notes BDC 0 1 0 0 k 40 20 90 60 re f EMC",
        pdf, Properties={"Art": shown, "Notes": hidden},
    )  # fmt: skip


def predicted(data: np.ndarray) -> bytes:
    """Return samples as deflated PNG rows, each with the Sub filter."""
    rows, columns, channels = data.shape
    flat = data.reshape(rows, columns * channels).astype(np.int16)
    flat[:, channels:] = flat[:, channels:] - flat[:, :-channels].copy()
    lines = np.hstack((np.ones((rows, 1)), flat % 256)).astype(np.uint8)
    return zlib.compress(lines.tobytes())


def device_n() -> bytes:
    pdf = Pdf()
    tints = pdf.add(
        Stream(
            b"{ exch dup 0.2 mul exch 0.8 mul 3 -1 roll }",
            {"FunctionType": 4, "Domain": [0, 1] * 3, "Range": [0, 1] * 4},
        )
    )  # fmt: skip
    space = ["DeviceN", ["Cyan", "Gold", "Black"], "DeviceCMYK", tints]
    return page(
        "/N cs 0.2 0.9 0.6 scn 10 10 70 70 re f 1 0 0.5 scn 60 40 70 60 re f", pdf,
        ColorSpace={"N": space},
    )  # fmt: skip


def device_n_picture() -> bytes:
    pdf = Pdf()
    tints = pdf.add(
        Stream(
            b"{ 0 exch 2 index 0.2 mul exch 2 index 0.8 mul exch 4 -1 roll pop }",
            {"FunctionType": 4, "Domain": [0, 1] * 2, "Range": [0, 1] * 4},
        )
    )
    space = ["DeviceN", ["Gold", "Black"], "DeviceCMYK", tints]
    picture = pdf.add(image(40, 30, space, ramp(40, 30, 2).tobytes()))
    return page("q 114 0 0 80 12 14 cm /Im Do Q", pdf, XObject={"Im": picture})


def function_shading() -> bytes:
    pdf = Pdf()
    function = pdf.add(
        Stream(
            b"{ 2 copy mul 0.5 mul 0 }",
            {"FunctionType": 4, "Domain": [0, 1, 0, 1], "Range": [0, 1] * 4},
        )
    )
    shade = {
        "ShadingType": 1, "ColorSpace": "DeviceCMYK", "Domain": [0, 1, 0, 1],
        "Matrix": [144, 0, 0, 108, 0, 0], "Function": function,
    }  # fmt: skip
    return page("/Sh sh", pdf, Shading={"Sh": shade})


TEXT_FONT = {"Font": {"F": {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica-Bold"}}}

FEATURES: dict[str, bytes] = {
    "tints": page("0.4 0.2 0.6 1 k 20 20 100 70 re f 0.3 g 60 40 70 60 re f"),
    "spots": page(
        "/Gold cs 1 scn 10 10 70 70 re f /Green cs 0.5 scn 50 30 80 70 re f "
        "0 0 0 1 k 60 5 20 98 re f"
    ),
    "stroke": page("0 0.8 0.2 0 K 9 w 20 20 m 80 90 l 120 30 l S 1 0 0 0 K 4 w 30 60 60 30 re S"),
    "fill-and-stroke": page("1 0 0 0 k 0 1 0 0 K 8 w 30 30 80 50 re B"),
    "text": page(
        BACKDROP + "BT /F 40 Tf 0 0 0 1 k 8 60 Td (Abg) Tj 1 0.5 0 0 k 0 -45 Td (Qrs) Tj ET",
        **TEXT_FONT,
    ),
    "overprint-black": page(BACKDROP + "/OPM1 gs 0 0 0 1 k 40 30 90 40 re f"),
    "overprint-mode-0": page(BACKDROP + "/OPM0 gs 0 0 0 1 k 40 30 90 40 re f"),
    "overprint-mode-1": page(BACKDROP + "/OPM1 gs 0 0.7 0 0 k 40 30 90 40 re f"),
    "overprint-grey": page(BACKDROP + "/OPM1 gs 0.3 g 40 30 90 40 re f"),
    "overprint-spot": page(BACKDROP + "/OPM1 gs /Green cs 0.8 scn 40 30 90 40 re f"),
    "overprint-text": page(
        BACKDROP + "/OPM1 gs BT /F 40 Tf 0 0 0 1 k 8 40 Td (Abg) Tj ET", **TEXT_FONT
    ),
    "overprint-stroke": page(BACKDROP + "/OPM1 gs 0 1 0 0 K 8 w 30 30 m 130 90 l S"),
    "white-overprint": page(BACKDROP + "/OPM1 gs 0 0 0 0 k 40 30 90 40 re f"),
    "all": page(
        "/Gold cs 0.5 scn 0 0 60 108 re f /All cs 0.8 scn 30 30 80 40 re f",
        ColorSpace={"All": ["Separation", "All", "DeviceCMYK", tint(1, 1, 1, 1)]},
    ),
    "none": page(
        BACKDROP + "/No cs 1 scn 30 30 80 40 re f",
        ColorSpace={"No": ["Separation", "None", "DeviceCMYK", tint(1, 1, 1, 1)]},
    ),
    "opacity": page(BACKDROP + "/Half gs 1 0 0 0.4 k 40 30 90 40 re f"),
    "picture-cmyk": drawn(image(40, 30, "DeviceCMYK", ramp(40, 30, 4).tobytes())),
    "picture-grey": drawn(image(40, 30, "DeviceGray", ramp(40, 30, 1).tobytes())),
    "picture-spot": drawn(image(40, 30, GOLD, ramp(40, 30, 1).tobytes())),
    "picture-indexed": drawn(
        image(4, 1, ["Indexed", "DeviceCMYK", 3,
                     bytes((255, 0, 0, 0, 0, 128, 0, 0, 0, 0, 200, 0, 0, 0, 0, 90))],
              bytes((0, 1, 2, 3)))
    ),
    "picture-1-bit": drawn(image(16, 8, "DeviceGray", bytes((0xF0, 0x3C)) * 8, bits=1)),
    "picture-16-bit": drawn(
        image(40, 30, "DeviceCMYK", (ramp(40, 30, 4).astype(">u2") * 257).astype(">u2").tobytes(),
              bits=16)
    ),
    "picture-decode": drawn(
        image(40, 30, "DeviceCMYK", ramp(40, 30, 4).tobytes(), Decode=[1, 0] * 4)
    ),
    "picture-predictor": drawn(
        image(40, 30, "DeviceCMYK", predicted(ramp(40, 30, 4)), Filter="FlateDecode",
              DecodeParms={"Predictor": 15, "Colors": 4, "Columns": 40})
    ),
    "picture-jpeg": drawn(
        image(64, 48, "DeviceCMYK", cmyk_jpeg(), Filter="DCTDecode",
              Decode=[1, 0] * 4)
    ),
    "picture-colour-key": drawn(
        image(40, 30, "DeviceCMYK", ramp(40, 30, 4).tobytes(),
              Mask=[0, 127, 0, 255, 0, 255, 0, 255])
    ),
    "stencil": drawn(
        Stream(bytes((0xF0, 0x3C)) * 8,
               {"Type": "XObject", "Subtype": "Image", "Width": 16, "Height": 8,
                "ImageMask": True, "BitsPerComponent": 1})
    ),
    "inline-picture": page(
        b"0 0.5 0 0 k 0 0 144 50 re f q 100 0 0 80 20 14 cm BI /W 2 /H 2 /BPC 8 /CS /CMYK ID "
        + bytes((255, 0, 0, 0, 0, 255, 0, 0, 0, 0, 255, 0, 0, 0, 0, 255)) + b" EI Q"
    ),
    "tiling-coloured": tiling(
        1, "1 0 0 0 k 2 2 12 12 re f /Gold cs 0.6 scn 12 12 10 10 re f",
        "0 0.3 0 0 k 0 0 144 54 re f /Pattern cs /Ti scn 12 12 120 84 re f",
    ),
    "tiling-uncoloured": tiling(
        2, "2 2 14 14 re f",
        "0 0.3 0 0 k 0 0 144 54 re f /Un cs 0.8 /Ti scn 12 12 120 84 re f",
        Un=["Pattern", GOLD],
    ),
    "shading-axial": shading(
        ShadingType=2, ColorSpace="DeviceCMYK", Coords=[20, 20, 120, 90], Extend=[True, True],
        Function=tint(0.9, 0.1, 0.3, 0.6, start=(0.0, 0.8, 0.0, 0.0)),
    ),
    "shading-spot": shading(
        ShadingType=2, ColorSpace=GOLD, Coords=[20, 0, 120, 0], Extend=[True, True],
        Function=tint(1.0),
    ),
    "shading-radial": shading(
        ShadingType=3, ColorSpace="DeviceCMYK", Coords=[72, 54, 0, 72, 54, 50],
        Extend=[False, True], Function=tint(0.9, 0.1, 0.3, 0.6, start=(0.0, 0.8, 0.0, 0.0)),
    ),
    "shading-triangles": mesh(4, TRIANGLES, "DeviceCMYK", 4, BitsPerFlag=8),
    "shading-lattice": mesh(5, LATTICE, "DeviceCMYK", 4, VerticesPerRow=2),
    "shading-coons": mesh(6, COONS, "DeviceCMYK", 4, BitsPerFlag=8),
    "shading-tensor": mesh(7, TENSOR, "DeviceCMYK", 4, BitsPerFlag=8),
    "form": in_group("0 0.9 0 0 k 30 20 80 60 re f"),
    "group-opacity": in_group(
        "0 0.9 0 0 k 30 20 60 60 re f 0.9 0 0 0 k 50 40 70 60 re f", use="/Half gs /Fm Do"
    ),
    "group-isolated-multiply": in_group(
        "0 0.9 0 0 k 30 20 60 60 re f 0.9 0 0 0 k 50 40 70 60 re f", use="/Multiply gs /Fm Do",
        I=True,
    ),
    "group-isolated-overprint": in_group(
        "0 0.9 0 0 k 30 20 60 60 re f /OPM1 gs 0.9 0 0 0 k 50 40 70 60 re f", I=True
    ),
    "soft-mask": soft_masked(),
    "soft-mask-transfer": transferred_mask("Luminosity", TURNED),
    "soft-mask-transfer-calculated": transferred_mask("Luminosity", CALCULATED, "DeviceRGB"),
    "alpha-mask-transfer": transferred_mask("Alpha", SQUARED),
    "soft-mask-cmyk": soft_masked("DeviceCMYK"),
    "type-3": type3("1000 0 0 0 1000 1000 d1 100 100 600 600 re f"),
    "type-3-coloured": type3("1000 0 d0 0 1 0 0 k 100 100 600 600 re f"),
    "type-3-in-the-text's-colours": type3(
        "1000 0 d0 60 w 100 100 400 600 re f 600 100 250 600 re S",
        "0.9 0 0 0.3 k 0 0.8 0 0 K 10 50 Td (A) Tj q 0 0 0.7 0 k (A) Tj Q"
        " -20 -40 Td (A) Tj /Gold cs 0.6 scn /Gold CS 0.3 SCN (A) Tj",
    ),
    "type-3-coloured-half-way": type3(
        "1000 0 d0 100 100 400 600 re f /Gold cs 0.8 scn 600 100 250 600 re f",
        "0.9 0 0 0.3 k 10 50 Td (A) Tj 0 0.8 0 0 k (A) Tj",
    ),
    "type-3-in-the-text's-overprint": type3(
        "1000 0 d0 100 100 600 600 re f", "/OPM1 gs 0.9 0 0 0 k 10 50 Td (AA) Tj",
    ),
    "type-3-of-a-spot-in-black-that-overprints": type3(
        "1000 0 d0 /Gold cs 0.8 scn 100 100 600 600 re f", "/OPM1 gs 0 g 10 50 Td (AA) Tj",
    ),
    "layers": layered(),
    "device-n": device_n(),
    "shading-function": function_shading(),
    "text-stroked": page(
        BACKDROP + "BT /F 48 Tf 2 Tr 3 w 0 1 0 0 k 1 0 0 0 K 8 40 Td (AHE) Tj ET", **TEXT_FONT
    ),
    "text-clip": page(
        "BT /F 60 Tf 7 Tr 4 30 Td (HEH) Tj ET 0 0.7 0.4 0 k 0 0 144 108 re f", **TEXT_FONT
    ),
    "turned": page(BACKDROP + "0 0 0 1 k 60 20 30 30 re f", entries={"Rotate": 90}),
    "default-black": page("10 10 60 60 re f 6 w 80 20 50 50 re S"),
    "picture-device-n": device_n_picture(),
    "picture-overprint": drawn(
        image(40, 30, GOLD, ramp(40, 30, 1).tobytes()), before="/OPM1 gs"
    ),
    "picture-cmyk-overprint": drawn(
        image(40, 30, "DeviceCMYK", ramp(40, 30, 4).tobytes()), before="/OPM1 gs"
    ),
    "shading-overprint": page(
        BACKDROP + "/OPM1 gs q 40 20 60 60 re W n /Sh sh Q",
        Shading={"Sh": {"ShadingType": 2, "ColorSpace": GOLD, "Coords": [40, 0, 100, 0],
                        "Function": tint(1.0)}},
    ),
    "picture-soft-mask": soft_masked_picture(),
    "stencil-spot": drawn(
        Stream(bytes((0xF0, 0x3C)) * 8,
               {"Type": "XObject", "Subtype": "Image", "Width": 16, "Height": 8,
                "ImageMask": True, "BitsPerComponent": 1}),
        before="/Gold cs 0.7 scn",
    ),
    "picture-fax": drawn(
        image(64, 48, GOLD, fax(), bits=1, Filter="CCITTFaxDecode",
              DecodeParms={"K": -1, "Columns": 64, "Rows": 48, "BlackIs1": True})
    ),
    "picture-jpeg-2000": drawn(
        image(64, 48, "DeviceGray", jpeg_2000(), Filter="JPXDecode")
    ),
    "picture-grey-jpeg": drawn(
        image(64, 48, ["Indexed", "DeviceCMYK", 255,
                       bytes(v for n in range(256) for v in (n, 0, 255 - n, 0))],
              grey_jpeg(), Filter="DCTDecode")
    ),
    "picture-run-lengths": drawn(
        image(4, 4, "DeviceGray", bytes((253, 0, 253, 90, 253, 180, 253, 255, 128)),
              Filter="RunLengthDecode")
    ),
    "shading-stitched": shading(
        ShadingType=2, ColorSpace="DeviceCMYK", Coords=[0, 0, 144, 0], Extend=[True, True],
        Function={"FunctionType": 3, "Domain": [0, 1], "Bounds": [0.3], "Encode": [0, 1, 1, 0],
                  "Functions": [tint(1, 0, 0, 0), tint(0, 0, 1, 0, start=(0.0, 1.0, 0.0, 0.0))]},
    ),
    "shading-pattern": page(
        "/Pattern cs /Sp scn 20 20 100 70 re f",
        Pattern={"Sp": {"PatternType": 2, "Shading": {
            "ShadingType": 3, "ColorSpace": GOLD, "Coords": [72, 54, 0, 72, 54, 60],
            "Extend": [True, True], "Function": tint(1.0)}}},
    ),
    "colour-into-group": in_group(
        "30 20 80 60 re f", use="0 0.4 0 0.3 k /Multiply gs /Fm Do", I=True
    ),
    **{
        f"blend-{mode.lower()}": page(BACKDROP + f"/{mode} gs 0.6 0.1 0.3 0.2 k 40 30 90 40 re f")
        for mode in BLENDS[1:]
    },
}  # fmt: skip
