"""Placed pictures: an image dictionary and a matrix make an `ImageItem` (ISO 32000-2, 8.9)."""

from __future__ import annotations

import struct
from collections.abc import Mapping

from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    ByteStringObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    NullObject,
    NumberObject,
    PdfObject,
    StreamObject,
)

from prepcheck.art.model import ImageItem, Paint, Space, SpaceFamily
from prepcheck.art.pdf.colour import DEVICE_CMYK, DEVICE_GREY, DEVICE_RGB, read_space
from prepcheck.art.pdf.content.state import State
from prepcheck.art.pdf.objects import dictionary, integer, name, raw_entry, stream, truth
from prepcheck.art.pdf.streams import Stored, filter_names
from prepcheck.art.pdf.tokens import Name, Operand, image_entries
from prepcheck.errors import ObjectError
from prepcheck.geometry import Affine, Box
from prepcheck.units import MM_PER_INCH

UNIT = Box(0.0, 0.0, 1.0, 1.0)
SMALLEST_EDGE = 1e-6
"""A picture squeezed to less than this many mm paints nothing."""
JPX_HEAD = 1024
"""Bytes of a JPEG 2000 file in which its image header is looked for."""


def picture_item(
    name: str,
    holder: DictionaryObject,
    data: Stored,
    resources: DictionaryObject,
    state: State,
    paint: Paint,
    layer: str | None,
    key: int | None,
) -> ImageItem | None:
    """Return a picture as placed, or None where nothing of it is seen.

    `data` are its samples as stored, `paint` the fill paint (for masks and overprint), `key` its
    object number, None for an inline image. Raises ObjectError when the picture has no size.
    """
    ctm = state.ctm
    width, height = integer(holder, "Width", "W"), integer(holder, "Height", "H")
    if not width or not height or width < 0 or height < 0:
        raise ObjectError("a picture without a size")
    if ctm.x_scale < SMALLEST_EDGE or ctm.y_scale < SMALLEST_EDGE:
        return None
    visible = state.clip.cut(ctm.box(UNIT))
    if visible is None:
        return None
    filters = filter_names(holder)
    is_mask = truth(holder, "ImageMask") or truth(holder, "IM")
    space, bits = _depth(holder, data, filters, resources, is_mask)
    mask_key, mask_samples = _mask_of(holder)
    around = state.mask or state.group_mask
    if mask_samples is None and around is not None:
        mask_key, mask_samples = around.key, around.samples
    return ImageItem(
        name=name,
        quad=ctm.quad(UNIT),
        visible=visible,
        samples=(width, height),
        bits=bits,
        space=space,
        filters=filters,
        ppi=effective_ppi(ctm, width, height),
        is_mask=is_mask,
        paint=paint if is_mask else None,
        inline=key is None,
        layer=layer,
        opacity=paint.opacity,
        overprint=paint.overprint,
        key=key or 0,
        mask_key=mask_key,
        mask_samples=mask_samples,
        mask_quad=around.quad if around is not None and mask_key == around.key else None,
    )


def _mask_of(holder: DictionaryObject) -> tuple[int, tuple[int, int] | None]:
    """Return the object number and the size of a picture's mask; a soft one goes before a hard one
    (ISO 32000-2, 8.9.5.1). 0 and None where it has none."""
    for entry_name in ("SMask", "Mask"):
        reference, mask = raw_entry(holder, entry_name), stream(holder, entry_name)
        if mask is not None and isinstance(reference, IndirectObject):
            width, height = integer(mask, "Width"), integer(mask, "Height")
            if width and height and width > 0 and height > 0:
                return reference.idnum, (width, height)
    return 0, None


def effective_ppi(ctm: Affine, width: int, height: int) -> tuple[float, float]:
    """Return samples per inch along a picture's own width and height, placed by `ctm` (mm)."""
    return width * MM_PER_INCH / ctm.x_scale, height * MM_PER_INCH / ctm.y_scale


def _depth(
    holder: DictionaryObject,
    data: Stored,
    filters: tuple[str, ...],
    resources: DictionaryObject,
    is_mask: bool,
) -> tuple[Space, int]:
    """Return colour space and bits a sample."""
    if is_mask:
        return DEVICE_GREY.facts, 1
    source = raw_entry(holder, "ColorSpace")
    source = raw_entry(holder, "CS") if source is None else source
    bits = integer(holder, "BitsPerComponent", "BPC")
    if "JPXDecode" in filters:
        found, depth = jpx_depth(data)
        # In JPEG 2000 the file's own depth counts, and its own space where none is stated.
        return (found if source is None else read_space(source, resources).facts), depth
    if source is None:
        return Space(SpaceFamily.UNKNOWN, 0), bits or 1
    return read_space(source, resources).facts, bits or 8


def jpx_depth(data: Stored) -> tuple[Space, int]:
    """Return space and bits of a JPEG 2000 picture from its header (ISO/IEC 15444-1, I.5.3.1 for
    a file, A.5.1 for a bare codestream)."""
    unknown = Space(SpaceFamily.UNKNOWN, 0), 8
    head = bytes(data[:JPX_HEAD])
    at = head.find(b"ihdr")
    try:
        if at >= 0:
            count, bits = struct.unpack_from(">HB", head, at + 12)
        elif head.startswith(b"\xff\x4f\xff\x51"):
            count, bits = struct.unpack_from(">HB", head, 40)
        else:
            return unknown
    except struct.error:
        return unknown
    device = {1: DEVICE_GREY, 2: DEVICE_GREY, 3: DEVICE_RGB, 4: DEVICE_CMYK}.get(count)
    return (device.facts if device else unknown[0]), (bits & 0x7F) + 1 if bits != 0xFF else 8


def inline_dictionary(raw: bytes) -> DictionaryObject:
    """Return an inline image's dictionary as a PDF object, keys and space names in full."""
    return _mapping(image_entries(raw))


INLINE_NAMES = {"G": "/DeviceGray", "RGB": "/DeviceRGB", "CMYK": "/DeviceCMYK"}


def inline_stream(raw: bytes, image: bytes, resources: DictionaryObject) -> StreamObject:
    """Return an inline image as a stream, with the colour space that its name stands for among
    resources."""
    source = StreamObject()
    source.update(inline_dictionary(raw))
    source[NameObject("/Subtype")] = NameObject("/Image")
    for short, full in INLINE_NAMES.items():
        if name(source, "ColorSpace") == short:
            source[NameObject("/ColorSpace")] = NameObject(full)
    given = name(source, "ColorSpace")
    known = dictionary(resources, "ColorSpace")
    if given is not None and known is not None and "/" + given in known:
        source[NameObject("/ColorSpace")] = known["/" + given]
    source._data = image
    return source


def _mapping(entries: Mapping[str, Operand]) -> DictionaryObject:
    return DictionaryObject({NameObject(key): as_object(v) for key, v in entries.items()})


def as_object(value: Operand) -> PdfObject:
    """Return a parsed operand as an object of the PDF library."""
    match value:
        case Name():
            return NameObject(value)
        case bool():
            return BooleanObject(value)
        case float():
            return NumberObject(int(value)) if value.is_integer() else FloatObject(value)
        case bytes():
            return ByteStringObject(value)
        case list():
            return ArrayObject(as_object(item) for item in value)
        case dict():
            return _mapping(value)
    return NullObject()
