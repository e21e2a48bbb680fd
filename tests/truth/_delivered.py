"""The same page delivered otherwise: turned, in other units or places, inside a form, painted in
other colour spaces; or painted by PDFium and saved as a picture in one of many formats.

What a page looks like stays the same, so what is said of it must. The rewriting is done on plain
operators, as reportlab and the factories write them, with pypdf for the objects, and shares no code
with the reader.
"""

from __future__ import annotations

import io
import math
import random
import re
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pypdfium2
import tifffile
from numpy.typing import NDArray
from PIL import Image, ImageCms
from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)

from tests.art.test_raster import psd

TURNED = (
    "turned 90", "turned 180", "turned 270", "user unit", "box elsewhere", "in a form",
    "in a group", "all at once",
)  # fmt: skip
SPACES = ("Lab", "ICC RGB", "calibrated RGB", "DeviceN")
SPOTS = ("spots",)
PICTURES = (
    "tiff lzw", "tiff planar cmyk", "tiff tiled", "tiff 16", "tiff lab", "tiff spot", "psd",
    "psd cmyk", "psd 16", "png palette", "png alpha", "png 16", "jpeg cmyk", "jpeg",
)  # fmt: skip
GREY = ("tiff grey", "jpeg grey", "tiff bilevel")
MM = 72 / 25.4

Six = tuple[float, float, float, float, float, float]
Rgb = NDArray[np.uint8]


@dataclass(frozen=True)
class Delivered:
    """A file's bytes and the ending of its name."""

    data: bytes
    suffix: str = "pdf"

    def as_file(self, folder: Path) -> Path:
        """Write the file into a folder."""
        path = folder / f"art.{self.suffix}"
        path.write_bytes(self.data)
        return path


def delivered(page: bytes, way: str, seed: int, spare_mm: float = 0.0, ppi: float = 300.0
              ) -> Delivered:  # fmt: skip
    """Return a PDF of one page delivered in a way; `spare_mm` of its rim is cut off pictures."""
    rng = random.Random(f"{way}{seed}")
    if way == "plain":
        return Delivered(page)
    if way == "all at once":
        made = _recoloured(page, rng.choice(("Lab", "ICC RGB", "DeviceN")))
        steps = ("in a group", "in a form", "user unit", rng.choice(TURNED[:3]), "box elsewhere")
        for step in steps:
            made = _moved(made, step, rng)
        return Delivered(made)
    if way in TURNED:
        return Delivered(_moved(page, way, rng))
    if way in (*SPACES, *SPOTS):
        return Delivered(_recoloured(page, way))
    if way == "tiff bilevel":
        ppi = 2 * ppi
    rgb = painted(page, ppi, spare_mm)
    suffix = way.split()[0].replace("jpeg", "jpg").replace("tiff", "tif")
    return Delivered(saved(rgb, way, ppi), suffix)


def painted(page: bytes, ppi: float, spare_mm: float = 0.0) -> Rgb:
    """Return a page as PDFium paints it (rows, columns, 3)."""
    document = pypdfium2.PdfDocument(page)
    rgb = np.asarray(document[0].render(scale=ppi / 72).to_pil().convert("RGB"))
    document.close()
    off = round(spare_mm / 25.4 * ppi)
    return rgb[off : rgb.shape[0] - off, off : rgb.shape[1] - off]


def saved(rgb: Rgb, way: str, ppi: float) -> bytes:
    """Return a picture in a format."""
    picture, dpi, out = Image.fromarray(rgb), (ppi, ppi), io.BytesIO()
    bare = np.zeros((*rgb.shape[:2], 1), np.uint8)
    cmyk = np.concatenate((255 - rgb, bare), axis=2)
    stated = {"resolution": (ppi, ppi), "metadata": None}
    if way == "tiff lzw":
        picture.save(out, "TIFF", compression="tiff_lzw", dpi=dpi)
    elif way == "tiff planar cmyk":
        tifffile.imwrite(
            out, np.moveaxis(cmyk, 2, 0), photometric="separated", planarconfig="separate",
            **stated,
        )  # fmt: skip
    elif way == "tiff tiled":
        tifffile.imwrite(out, rgb, photometric="rgb", tile=(256, 256), **stated)
    elif way == "tiff 16":
        tifffile.imwrite(
            out, rgb.astype(np.uint16) * 257, photometric="rgb", byteorder=">", **stated
        )
    elif way == "tiff lab":
        _lab_picture(picture).save(out, "TIFF", dpi=dpi)
    elif way == "tiff grey":
        picture.convert("L").save(out, "TIFF", compression="tiff_adobe_deflate", dpi=dpi)
    elif way == "tiff bilevel":
        picture.convert("L").point(lambda v: 255 * (v > 150)).convert("1").save(
            out, "TIFF", compression="group4", dpi=dpi
        )
    elif way == "psd":
        return _at_ppi(psd(rgb, 3, packed=True), ppi)
    elif way == "tiff spot":
        # What is magenta is laid down by a spot beside the four inks, which stands in for it.
        extra = np.concatenate((cmyk[:, :, :1], bare, cmyk[:, :, 2:], cmyk[:, :, 1:2]), axis=2)
        tifffile.imwrite(
            out, extra, photometric="separated", planarconfig="contig", extrasamples=[0], **stated
        )
    elif way == "psd cmyk":
        return _at_ppi(psd(255 - cmyk, 4), ppi)
    elif way == "psd 16":
        return _at_ppi(psd(rgb, 3, bits=16), ppi)
    elif way == "png 16":
        return _png_16(rgb, ppi)
    elif way == "png palette":
        flat = picture.quantize(256, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
        flat.save(out, "PNG", dpi=dpi)
    elif way == "png alpha":
        _see_through(rgb).save(out, "PNG", dpi=dpi)
    elif way == "jpeg cmyk":
        Image.fromarray(cmyk, "CMYK").save(out, "JPEG", quality=92, subsampling=0, dpi=dpi)
    elif way in ("jpeg", "jpeg grey"):
        mode = "L" if way == "jpeg grey" else "RGB"
        picture.convert(mode).save(out, "JPEG", quality=92, subsampling=0, dpi=dpi)
    else:
        raise ValueError(way)
    return out.getvalue()


def _lab_picture(picture: Image.Image) -> Image.Image:
    srgb, lab = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
    made = ImageCms.profileToProfile(picture, srgb, lab, outputMode="LAB")
    assert made is not None
    return made


def _see_through(rgb: Rgb) -> Image.Image:
    """Return a picture that is the more see-through the nearer it is to paper white."""
    least = rgb.min(axis=2, keepdims=True).astype(np.float64)
    alpha = 255.0 - least
    with np.errstate(divide="ignore", invalid="ignore"):
        own = np.where(alpha > 0, (rgb - least) / alpha * 255.0, 0.0)
    return Image.fromarray(np.concatenate((own, alpha), axis=2).round().astype(np.uint8), "RGBA")


def _png_16(rgb: Rgb, ppi: float) -> bytes:
    """Return a PNG of 16 bits a sample (ISO/IEC 15948), which Pillow does not write in colour."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = zlib.crc32(kind + data)
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)

    high, wide = rgb.shape[:2]
    deep = (rgb.astype(">u2") * 257).astype(">u2").reshape(high, -1)
    rows = b"".join(b"\0" + row.tobytes() for row in deep)
    per_metre = round(ppi / 0.0254)
    return b"\x89PNG\r\n\x1a\n" + b"".join((
        chunk(b"IHDR", struct.pack(">IIBBBBB", wide, high, 16, 2, 0, 0, 0)),
        chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1)),
        chunk(b"IDAT", zlib.compress(rows, 1)), chunk(b"IEND", b""),
    ))  # fmt: skip


def _at_ppi(data: bytes, ppi: float) -> bytes:
    """Return a PSD of 300 ppi with another resolution."""
    was = struct.pack(">IHHIHH", 300 * 65536, 1, 1, 300 * 65536, 1, 1)
    fixed = round(ppi * 65536)
    return data.replace(was, struct.pack(">IHHIHH", fixed, 1, 1, fixed, 1, 1), 1)


def _moved(page: bytes, way: str, rng: random.Random) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(page)))
    only = writer.pages[0]
    boxes = {
        name: [float(v) for v in only[name]]
        for name in ("/MediaBox", "/TrimBox", "/BleedBox")
        if name in only
    }
    x0, y0, x1, y1 = boxes["/MediaBox"]
    wide, high = x1 - x0, y1 - y0
    assert (x0, y0) == (0, 0)
    six: Six = (1, 0, 0, 1, 0, 0)
    if way == "in a form":
        _into_form(writer, rng.uniform(0, 360))
    elif way == "in a group":
        _into_form(writer, 0.0, isolated=True)
    elif way == "user unit":
        unit = rng.choice((0.5, 2.0, 10.0))
        six = (1 / unit, 0, 0, 1 / unit, 0, 0)
        only[NameObject("/UserUnit")] = FloatObject(unit)
    elif way == "box elsewhere":
        six = (1, 0, 0, 1, rng.uniform(-900, 900), rng.uniform(-900, 900))
    else:
        turn = int(way.split()[1])
        # The page is shown turned clockwise, so its content is turned back beforehand.
        six = {
            90: (0, 1, -1, 0, high, 0), 180: (-1, 0, 0, -1, wide, high), 270: (0, -1, 1, 0, 0, wide)
        }[turn]  # type: ignore[assignment]  # fmt: skip
        only[NameObject("/Rotate")] = NumberObject(turn)
    content = only.get_contents()
    assert content is not None
    moved = DecodedStreamObject()
    by = " ".join(f"{v:.8f}" for v in six)
    moved.set_data(f"q {by} cm\n".encode() + content.get_data() + b"\nQ\n")
    only[NameObject("/Contents")] = writer._add_object(moved)
    for name, (left, low, right, top) in boxes.items():
        corners = [_at(six, left, low), _at(six, right, top)]
        xs, ys = sorted(x for x, _ in corners), sorted(y for _, y in corners)
        only[NameObject(name)] = ArrayObject(map(FloatObject, (xs[0], ys[0], xs[1], ys[1])))
    return _written(writer)


def _at(six: Six, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = six
    return a * x + c * y + e, b * x + d * y + f


def _into_form(writer: PdfWriter, turn: float, isolated: bool = False) -> None:
    """Put a page's content into a form whose matrix turns it, or a group; the page turns back."""
    page = writer.pages[0]
    content = page.get_contents()
    assert content is not None
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    form = DecodedStreamObject()
    form.set_data(content.get_data())
    form.update({
        NameObject("/Type"): NameObject("/XObject"), NameObject("/Subtype"): NameObject("/Form"),
        NameObject("/BBox"): page["/MediaBox"],
        NameObject("/Resources"): page.get("/Resources", DictionaryObject()),
        NameObject("/Matrix"): ArrayObject(map(FloatObject, (cos, sin, -sin, cos, 0, 0))),
    })  # fmt: skip
    if isolated:
        form[NameObject("/Group")] = DictionaryObject({
            NameObject("/S"): NameObject("/Transparency"), NameObject("/CS"):
            NameObject("/DeviceCMYK"), NameObject("/I"): BooleanObject(True),
        })  # fmt: skip
    page[NameObject("/Resources")] = DictionaryObject({
        NameObject("/XObject"): DictionaryObject({NameObject("/Fm"): writer._add_object(form)})
    })  # fmt: skip
    shown = DecodedStreamObject()
    shown.set_data(f"{cos:.9f} {-sin:.9f} {sin:.9f} {cos:.9f} 0 0 cm /Fm Do".encode())
    page[NameObject("/Contents")] = writer._add_object(shown)


_NUMBER = rb"[-+]?(?:\d+\.?\d*|\.\d+)"
_COLOUR = re.compile(
    rb"(?<![\w.])((?:" + _NUMBER + rb"\s+){4})([kK])(?!\w)"
    rb"|(?<![\w.])((?:" + _NUMBER + rb"\s+){3})(rg|RG)(?!\w)"
)

Set = Callable[[tuple[float, ...], tuple[float, float, float], str], str]


def _recoloured(page: bytes, way: str) -> bytes:
    """Return a page whose inks are set, and whose pictures are kept, in another space."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(page)))
    only = writer.pages[0]
    resources = only.setdefault(NameObject("/Resources"), DictionaryObject()).get_object()
    spaces = DictionaryObject()
    resources[NameObject("/ColorSpace")] = spaces
    if way in SPACES:
        space = _space(writer, way)
        spaces[NameObject("/Own")] = space
        _repacked(resources, way, space)

    def other(found: re.Match[bytes]) -> bytes:
        inks, rgb_ = found[1], found[3]
        operator = (found[2] or found[4]).decode()
        if inks is not None:
            amounts = tuple(map(float, inks.split()))
            rgb = tuple((1 - v) * (1 - amounts[3]) for v in amounts[:3])
        else:
            rgb = tuple(map(float, rgb_.split()))
            amounts = (*(1 - v for v in rgb), 0.0)
        cs, sc = ("cs", "scn") if operator in ("k", "rg") else ("CS", "SCN")
        if way == "spots":
            if max(amounts) == 0.0:
                return b"%s %s" % (b" ".join((b"0",) * 4), b"k" if cs == "cs" else b"K")
            name = f"S{len(spaces)}"
            known = {tuple(map(float, one[3]["/C1"])): key for key, one in spaces.items()}
            key = known.get(amounts)
            if key is None:
                key = NameObject("/" + name)
                spaces[key] = _separation(f"Moss {len(spaces) + 1}", amounts)
            return f"{key} {cs} 1 {sc}".encode()
        values = amounts if way == "DeviceN" else lab_of(rgb) if way == "Lab" else rgb
        return f"/Own {cs} {' '.join(f'{v:.5f}' for v in values)} {sc}".encode()

    content = only.get_contents()
    assert content is not None
    made = DecodedStreamObject()
    made.set_data(_COLOUR.sub(other, content.get_data()))
    only[NameObject("/Contents")] = writer._add_object(made)
    return _written(writer)


def lab_of(rgb: tuple[float, ...] | np.ndarray) -> np.ndarray:
    """Return L*, a*, b* (..., 3) for D50 of sRGB 0..1 (IEC 61966-2-1, Bradford-adapted)."""
    share = np.asarray(rgb, float)
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    white = np.array((0.9642, 1.0, 0.8249))
    rows = ((0.4360747, 0.3850649, 0.1430804), (0.2225045, 0.7168786, 0.0606169),
            (0.0139322, 0.0971045, 0.7141733))  # fmt: skip
    xyz = linear @ np.array(rows).T / white
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    x, y, z = np.moveaxis(f, -1, 0)
    return np.stack((116 * y - 16, 500 * (x - y), 200 * (y - z)), axis=-1)


def _numbers(*values: float) -> ArrayObject:
    return ArrayObject(map(FloatObject, values))


def _space(writer: PdfWriter, way: str) -> ArrayObject:
    if way == "Lab":
        return ArrayObject([NameObject("/Lab"), DictionaryObject({
            NameObject("/WhitePoint"): _numbers(0.9642, 1.0, 0.8249),
            NameObject("/Range"): _numbers(-128, 127, -128, 127),
        })])  # fmt: skip
    if way == "ICC RGB":
        profile = DecodedStreamObject()
        profile.set_data(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
        profile[NameObject("/N")] = NumberObject(3)
        return ArrayObject([NameObject("/ICCBased"), writer._add_object(profile)])
    if way == "calibrated RGB":
        return ArrayObject([NameObject("/CalRGB"), DictionaryObject({
            NameObject("/WhitePoint"): _numbers(0.9505, 1.0, 1.089),
            NameObject("/Gamma"): _numbers(2.2, 2.2, 2.2),
            NameObject("/Matrix"): _numbers(
                0.4124, 0.2126, 0.0193, 0.3576, 0.7152, 0.1192, 0.1805, 0.0722, 0.9505
            ),
        })])  # fmt: skip
    names = ("Cyan", "Magenta", "Yellow", "Black")
    function = DecodedStreamObject()
    function.set_data(b"{}")
    function.update({
        NameObject("/FunctionType"): NumberObject(4), NameObject("/Domain"): _numbers(*(0, 1) * 4),
        NameObject("/Range"): _numbers(*(0, 1) * 4),
    })  # fmt: skip
    return ArrayObject([
        NameObject("/DeviceN"), ArrayObject(NameObject("/" + name) for name in names),
        NameObject("/DeviceCMYK"), writer._add_object(function),
    ])  # fmt: skip


def _separation(name: str, amounts: tuple[float, ...]) -> ArrayObject:
    return ArrayObject([
        NameObject("/Separation"), NameObject("/" + name), NameObject("/DeviceCMYK"),
        DictionaryObject({
            NameObject("/FunctionType"): NumberObject(2), NameObject("/Domain"): _numbers(0, 1),
            NameObject("/C0"): _numbers(0, 0, 0, 0), NameObject("/C1"): _numbers(*amounts),
            NameObject("/N"): NumberObject(1),
        }),
    ])  # fmt: skip


def _repacked(resources: DictionaryObject, way: str, space: ArrayObject) -> None:
    """Have all CMYK pictures of eight bits without a Decode in another space."""
    for held in resources.get("/XObject", DictionaryObject()).values():
        image = held.get_object()
        if not isinstance(image, StreamObject) or image.get("/Subtype") != "/Image":
            continue
        if image.get("/ColorSpace") != "/DeviceCMYK" or "/Decode" in image:
            continue
        inks = np.frombuffer(image.get_data(), np.uint8).reshape(-1, 4).astype(np.float64)
        rgb = (255 - inks[:, :3]) * (255 - inks[:, 3:]) / 255
        if way == "DeviceN":
            data = inks
        elif way == "Lab":
            data = lab_of(rgb / 255) * (2.55, 1, 1) + (0, 128, 128)
        else:
            data = rgb
        for entry in ("/Filter", "/DecodeParms"):
            image.pop(entry, None)
        image._data = np.clip(np.round(data), 0, 255).astype(np.uint8).tobytes()
        image[NameObject("/ColorSpace")] = space


def _written(writer: PdfWriter) -> bytes:
    out = io.BytesIO()
    writer.add_metadata({"/Title": TextStringObject("delivered")})
    writer.write(out)
    return out.getvalue()
