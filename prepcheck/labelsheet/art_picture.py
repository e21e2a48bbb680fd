"""A client's picture file as an image on the sheet, its samples as they are."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Sequence

import numpy as np
from PIL import Image, PngImagePlugin
from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    NumberObject,
    PdfObject,
    StreamObject,
)

from prepcheck.art.damage import quietly
from prepcheck.art.jpeg import as_array, open_jpeg
from prepcheck.art.limits import DEFAULT
from prepcheck.art.model import RasterFacts, Space, SpaceFamily
from prepcheck.art.png import png_chunks, png_without_notes
from prepcheck.art.raster import RasterPage, Stored
from prepcheck.art.samples import SampleArray
from prepcheck.art.sniff import sniff
from prepcheck.errors import UnreadableError
from prepcheck.geometry import Affine
from prepcheck.labelsheet.mark_colours import ink_space, made

_UPRIGHT = {
    2: Affine(-1, 0, 0, 1, 1, 0), 3: Affine(-1, 0, 0, -1, 1, 1), 4: Affine(1, 0, 0, -1, 0, 1),
    5: Affine(0, -1, -1, 0, 1, 1), 6: Affine(0, -1, 1, 0, 0, 1), 7: Affine(0, 1, 1, 0, 0, 0),
    8: Affine(0, 1, -1, 0, 1, 0),
}  # fmt: skip
"""How a stored picture's unit square is turned upright, by its orientation (TIFF 6.0, tag 274)."""
_DEVICE = {"grey": "DeviceGray", "rgb": "DeviceRGB", "cmyk": "DeviceCMYK"}
_COMPONENTS = {"grey": 1, "rgb": 3, "cmyk": 4}
_SIGNATURES = {b"GRAY": 1, b"RGB ": 3, b"CMYK": 4}
"""Colour spaces of ICC profiles (ICC.1:2022, Table 19), with their components."""
_PALETTE, _ALPHA = 3, (4, 6)


def picture_image(
    page: RasterPage, data: bytes, writer: PdfWriter
) -> tuple[IndirectObject, Affine]:
    """Return a picture file as an image XObject (ISO 32000-2, 8.9), and the map from its unit
    square to the page in mm. Samples stay as they are, in their depth; opacity becomes a soft mask.

    The bytes of a JPEG and the packed samples of a plain PNG are copied. Raises UnreadableError
    for what is damaged, and for what no PDF can hold unchanged.
    """
    facts, media = page.facts, page.boxes.media
    across = Affine.scale(media.width, media.height).then(Affine.move(media.x0, media.y0))
    kind = sniff(data[:1024])
    if kind == "JPEG":
        image = _jpeg(facts, data, writer)
        turned = _UPRIGHT.get(facts.orientation, Affine.identity())
        return writer._add_object(image), turned.then(across)
    if kind == "PNG":
        return writer._add_object(_png(facts, data, writer)), across
    stored = Stored(page.samples.data, page.samples.space) if page.stored is None else page.stored()
    return writer._add_object(_of_stored(stored, facts, writer)), across


def _image(size: Sequence[int], bits: int, space: PdfObject, data: bytes) -> StreamObject:
    image = StreamObject()
    image.set_data(data)
    image.update(
        made(
            Type="XObject", Subtype="Image", Width=size[0], Height=size[1], BitsPerComponent=bits,
            ColorSpace=space,
        )
    )  # fmt: skip
    return image


def _packed(data: SampleArray, space: PdfObject) -> StreamObject:
    """Return samples as an image, 16 bits with the high byte first (ISO 32000-2, 8.9.3)."""
    rows, columns = data.shape[:2]
    deep = data.dtype.itemsize == 2
    plain = data.astype(">u2") if deep else np.ascontiguousarray(data)
    image = _image((columns, rows), 16 if deep else 8, space, zlib.compress(plain.tobytes()))
    image[NameObject("/Filter")] = NameObject("/FlateDecode")
    return image


def _of_stored(stored: Stored, facts: RasterFacts, writer: PdfWriter) -> StreamObject:
    image = _packed(stored.data, _space(stored.space, facts, writer, stored.most))
    if stored.most and stored.most[0] != 100.0:
        ends = [n for low, most in zip((0, -128, -128), stored.most, strict=True)
                for n in (low, most)]  # fmt: skip
        image[NameObject("/Decode")] = ArrayObject(FloatObject(n) for n in ends)
    if stored.alpha is not None:
        mask = _packed(stored.alpha, NameObject("/DeviceGray"))
        if stored.matte is not None:
            mask[NameObject("/Matte")] = ArrayObject(
                FloatObject(stored.matte) for _ in range(stored.data.shape[2])
            )
        image[NameObject("/SMask")] = writer._add_object(mask)
    return image


def _jpeg(facts: RasterFacts, data: bytes, writer: PdfWriter) -> StreamObject:
    picture = open_jpeg(data, DEFAULT)
    image = _image(picture.size, 8, _space(facts.space, facts, writer), data)
    image[NameObject("/Filter")] = NameObject("/DCTDecode")
    if picture.mode == "CMYK" and "adobe" in picture.info:
        # Such files hold 255 for bare paper; the decoder of a PDF does not turn that about.
        image[NameObject("/Decode")] = ArrayObject(NumberObject(n) for n in (1, 0) * 4)
    return image


def _png(facts: RasterFacts, data: bytes, writer: PdfWriter) -> StreamObject:
    """Return a PNG as an image: packed as it is, or with its opacity apart as a soft mask.

    Raises UnreadableError where neither can be done without a loss.
    """
    width, height, bits, colour, _, _, interlaced = struct.unpack(">IIBBBBB", data[16:29])
    chunks = list(png_chunks(data))
    key = next((body for kind, body in chunks if kind == b"tRNS"), None)
    deep_key = bits == 16 and key is not None and colour not in _ALPHA
    if bits == 16 and (colour in _ALPHA or interlaced):
        what = "interlaced" if interlaced else "with an opacity channel"
        raise UnreadableError(
            f"a PNG of 16 bits a sample that is {what} cannot be put on a sheet as it is; save it "
            "as TIFF, which can"
        )
    if not deep_key and (interlaced or colour in _ALPHA or key is not None):
        clear = colour in _ALPHA or key is not None
        return _unpacked_png(facts, data, clear, writer)
    space = _space(facts.space, facts, writer)
    components = 1 if colour in (0, _PALETTE) else 3
    if colour == _PALETTE:
        table = next((body for kind, body in chunks if kind == b"PLTE"), b"")
        space = _indexed(space, table, writer)
    packed = b"".join(body for kind, body in chunks if kind == b"IDAT")
    image = _image((width, height), bits, space, packed)
    image[NameObject("/Filter")] = NameObject("/FlateDecode")
    image[NameObject("/DecodeParms")] = made(
        Predictor=15, Colors=components, BitsPerComponent=bits, Columns=width
    )
    if deep_key and key is not None:  # one colour is clear (PNG, 3rd edition, 11.3.1.1)
        colours = struct.unpack(f">{components}H", key[: 2 * components])
        image[NameObject("/Mask")] = ArrayObject(NumberObject(n) for n in colours for _ in "01")
    return image


def _unpacked_png(facts: RasterFacts, data: bytes, clear: bool, writer: PdfWriter) -> StreamObject:
    with quietly("PNG"):
        plain = png_without_notes(data).data
        picture: Image.Image = PngImagePlugin.PngImageFile(io.BytesIO(plain))
        mode = "L" if facts.space.kind == "grey" else "RGB"
        samples = as_array(picture.convert(f"{mode}A" if clear else mode))
    colours = samples[:, :, :-1] if clear else samples
    image = _packed(colours, _space(facts.space, facts, writer))
    if clear:
        mask = _packed(samples[:, :, -1:], NameObject("/DeviceGray"))
        image[NameObject("/SMask")] = writer._add_object(mask)
    return image


def _indexed(base: PdfObject, table: bytes, writer: PdfWriter) -> ArrayObject:
    stream = StreamObject()
    stream.set_data(table)
    return ArrayObject(
        (
            NameObject("/Indexed"), base, NumberObject(len(table) // 3 - 1),
            writer._add_object(stream),
        )
    )  # fmt: skip


def _space(
    space: Space, facts: RasterFacts, writer: PdfWriter, most: Sequence[float] = ()
) -> PdfObject:
    """Return the colour space of samples; with the file's own profile where it fits. `most` is as
    in `Stored`."""
    if space.family is SpaceFamily.DEVICE_N:
        return ink_space(space.colorants, {}, writer)
    kind = space.kind
    if kind == "lab":
        ab = most[1] if most else 127
        return ArrayObject(
            (
                NameObject("/Lab"),
                DictionaryObject(
                    {
                        # D50, the white of ICC profiles and of Lab in TIFF and PSD files.
                        NameObject("/WhitePoint"): ArrayObject(
                            FloatObject(n) for n in (0.9642, 1.0, 0.8249)
                        ),
                        NameObject("/Range"): ArrayObject(
                            FloatObject(n) for n in (-128, ab, -128, ab)
                        ),
                    }
                ),
            )
        )
    if kind not in _DEVICE:
        raise UnreadableError("its colour space cannot be put into a PDF; save it as CMYK")
    device = NameObject(f"/{_DEVICE[kind]}")
    profile = facts.profile_data
    fits = (
        profile is not None
        and len(profile) > 40
        and profile[36:40] == b"acsp"
        and _SIGNATURES.get(bytes(profile[16:20])) == _COMPONENTS[kind]
    )
    if not fits or profile is None:
        return device
    stream = StreamObject()
    stream.set_data(profile)
    packed = stream.flate_encode()
    packed.update(made(N=_COMPONENTS[kind], Alternate=device))
    return ArrayObject((NameObject("/ICCBased"), writer._add_object(packed)))
