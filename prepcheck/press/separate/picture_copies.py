"""Pictures with other colours: a copy's three channels for each sample."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from PIL import Image
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    StreamObject,
)

from prepcheck.art.decoded_ahead import DecodedAhead
from prepcheck.art.limits import Limits
from prepcheck.art.model import ALL_INKS, PROCESS_INKS, Samples, Space
from prepcheck.art.pdf.colour import ColourSpace, Indexed, Lab
from prepcheck.art.pdf.content.mix import Mix, Scope, mix_of, scope_of, space_plates
from prepcheck.art.pdf.content.record import RecordedPicture
from prepcheck.art.pdf.images import picture_samples
from prepcheck.art.pdf.objects import array, entry, integer, numbers, raw_entry, stream, truth
from prepcheck.art.pdf.streams import filter_names
from prepcheck.errors import UnreadableError
from prepcheck.geometry import FloatArray
from prepcheck.press.separate.conversion import ConversionWay, ConvertedSpace, ToInks
from prepcheck.press.separate.writer import PdfWriter, pdf_object, stream_object
from prepcheck.press.view import ByteArray

MASKS = ("/SMask", "/Mask")
BAND_SAMPLES = 4_000_000
"""Pixels that are averaged at a time."""


class Plane(NamedTuple):
    """What a copy wants of a picture: the three channels of a colour (for tables), and those of
    decoded samples (rows, columns, 3; 1 where all are the same)."""

    of_mix: Callable[[Mix], tuple[float, float, float]]
    of_samples: Callable[[DecodedPicture], ByteArray]


class DecodedPicture(NamedTuple):
    """A decoded picture: samples (rows, columns, components), 255 solid or white, by plate."""

    data: ByteArray
    plates: tuple[str, ...]
    """Ink plates of the components; empty where there are no ink amounts (then `data` is RGB)."""
    light: bool
    """Components tell light, not ink: 255 is none."""

    def component(self, plate: str) -> ByteArray | None:
        """Return the component that goes to a plate (rows, columns); None where there is none."""
        if ALL_INKS in self.plates:
            return self.data[:, :, self.plates.index(ALL_INKS)]
        return self.data[:, :, self.plates.index(plate)] if plate in self.plates else None

    def ink(self, plate: str) -> ByteArray | None:
        """Return the amounts on a plate (rows, columns); None where there are none."""
        component = self.component(plate)
        return 255 - component if component is not None and self.light else component


def recoloured(
    picture: RecordedPicture,
    planes: Sequence[Plane],
    shrink: int,
    writer: PdfWriter,
    limits: Limits,
    ahead: DecodedAhead | None = None,
) -> list[IndirectObject]:
    """Return one copy of a picture for each plane; a stencil is shared by all.

    `shrink` is the whole factor by which samples may be averaged first. Raises UnreadableError
    for what cannot be decoded.
    """
    source, space = picture.source, picture.space
    if space is None:
        return [writer.add(_kept(source, picture))] * len(planes)
    if _by_table(source, space):
        return [writer.add(_with_table(source, space, plane)) for plane in planes]
    mask = _colour_key(picture, writer, limits)
    decoded = _decoded(picture, 1 if mask is not None else shrink, limits, ahead)
    return [
        writer.add(_as_channels(source, space, decoded, plane, mask, writer)) for plane in planes
    ]


def white(picture: RecordedPicture, writer: PdfWriter) -> IndirectObject:
    """Return a picture of the same shape, all white."""
    made = stream_object(
        b"\xff",
        {"Type": "XObject", "Subtype": "Image", "Width": 1, "Height": 1,
         "ColorSpace": "DeviceGray", "BitsPerComponent": 8},
    )  # fmt: skip
    made.update({key: picture.source[key] for key in MASKS if stream(picture.source, key[1:])})
    return writer.add(made)


def _by_table(source: StreamObject, space: ColourSpace) -> bool:
    """Say whether a colour table can stand in for the space, with no sample decoded."""
    bits = integer(source, "BitsPerComponent", "BPC") or 8
    return (
        space.facts.components == 1
        and bits <= 8
        and "JPXDecode" not in filter_names(source)
        and array(source, "Mask") is None
    )


def _with_table(source: StreamObject, space: ColourSpace, plane: Plane) -> StreamObject:
    bits = 1 if "JBIG2Decode" in filter_names(source) else integer(
        source, "BitsPerComponent", "BPC"
    ) or 8  # fmt: skip
    if {"CCITTFaxDecode"} & set(filter_names(source)):
        bits = 1
    if bits not in (1, 2, 4, 8):
        raise UnreadableError(f"a picture of {bits} bits a sample cannot be read")
    most = (1 << bits) - 1
    indexed = isinstance(space, Indexed)
    decode = (0.0, float(most)) if indexed else (0.0, 1.0)
    given = numbers(entry(source, "Decode", "D"))
    if given is not None and len(given) >= 2:
        decode = given[0], given[1]
    table = bytearray()
    for value in range(most + 1):
        component = decode[0] + value / most * (decode[1] - decode[0])
        mix = mix_of(space, (round(component) if indexed else component,))
        table += bytes(round(channel * 255) for channel in plane.of_mix(mix))
    made = StreamObject()
    made.update({
        key: value for key, value in source.items()
        if key not in ("/ColorSpace", "/CS", "/Decode", "/D")
    })  # fmt: skip
    made[NameObject("/Subtype")] = NameObject("/Image")
    made[NameObject("/ColorSpace")] = ArrayObject([
        NameObject("/Indexed"), NameObject("/DeviceRGB"), pdf_object(most),
        ByteStringObject(bytes(table)),
    ])  # fmt: skip
    made._data = source._data
    return made


def _kept(source: StreamObject, picture: RecordedPicture) -> StreamObject:
    """Return a stencil as it is, in full words where it was an inline picture."""
    made = StreamObject()
    made.update(source)
    made[NameObject("/Subtype")] = NameObject("/Image")
    made._data = source._data
    return made


def _decoded(
    picture: RecordedPicture, shrink: int, limits: Limits, ahead: DecodedAhead | None
) -> DecodedPicture:
    """Return a picture decoded and shrunk; a Decode that only inverts is put off until then."""
    source = picture.source
    decode = numbers(entry(source, "Decode", "D"))
    inverted = (
        decode is not None
        and set(zip(decode[::2], decode[1::2], strict=False)) == {(1.0, 0.0)}
        and "JPXDecode" not in filter_names(source)
        and not isinstance(getattr(picture.space, "source", picture.space), Indexed | Lab)
    )
    if inverted:
        source = StreamObject()
        source.update({k: v for k, v in picture.source.items() if k not in ("/Decode", "/D")})
        source._data = picture.source._data
    samples = picture_samples(source, picture.resources, limits, shrink, ahead)
    if samples is None:
        raise UnreadableError("its samples cannot be decoded")
    width = integer(source, "Width", "W") or samples.data.shape[1]
    left = shrink // max(1, round(width / samples.data.shape[1]))
    if left > 1:
        samples = Samples(_shrunk(samples.data, left), samples.space)
    base = picture.space.base if isinstance(picture.space, Indexed) else picture.space
    if isinstance(base, ConvertedSpace) and scope_of(samples.space) is Scope.SEEN:
        if inverted:
            samples = Samples(255 - samples.data, samples.space)
        return in_inks(samples, base.to_inks, base.way.profile)
    decoded = decoded_samples(samples)
    if inverted and decoded.plates:
        return decoded._replace(light=not decoded.light)
    if inverted:
        decoded = decoded._replace(data=255 - decoded.data)
    return decoded


def in_inks(samples: Samples, to_inks: ToInks, profile: bytes | None) -> DecodedPicture:
    """Return samples without ink amounts converted to process inks, those of RGB by a profile."""
    way = ConversionWay(True) if _is_lab(samples.space) else ConversionWay(False, profile)
    return DecodedPicture(to_inks.samples(_three(samples.data), way), PROCESS_INKS, light=False)


def decoded_samples(samples: Samples) -> DecodedPicture:
    """Return samples sorted by the plates they stand for."""
    data, space = samples.data, samples.space
    scope = scope_of(space)
    if scope is Scope.SEEN:
        return DecodedPicture(_lab_as_rgb(data) if _is_lab(space) else _three(data), (), False)
    return DecodedPicture(data, space_plates(space), space.kind == "grey")


def _three(data: ByteArray) -> ByteArray:
    return np.repeat(data[:, :, :1], 3, axis=2) if data.shape[2] < 3 else data[:, :, :3]


def _is_lab(space: Space) -> bool:
    return space.kind == "lab"


def _lab_as_rgb(data: ByteArray) -> ByteArray:
    """Return Lab samples (L* × 2.55, a* + 128, b* + 128) as they look on screen."""
    out = np.empty_like(data)
    for first in range(0, len(data), 256):
        lab: FloatArray = data[first : first + 256].astype(np.float32)
        m = (lab[:, :, 0] / 2.55 + 16) / 116
        xyz = np.stack((m + (lab[:, :, 1] - 128) / 500, m, m - (lab[:, :, 2] - 128) / 200), axis=2)
        xyz = np.where(xyz >= 6 / 29, xyz**3, 108 / 841 * (xyz - 4 / 29))
        matrix = np.array(
            ((3.0800, -1.5372, -0.5430), (-0.9209, 1.8758, 0.0452), (0.0529, -0.2040, 1.1511)),
            np.float32,
        )
        light = (xyz @ matrix.T).clip(0.0, 1.0)
        seen = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        out[first : first + 256] = seen * 255 + 0.5
    return out


def _shrunk(data: ByteArray, factor: int) -> ByteArray:
    """Average blocks of factor × factor samples; the last ones may be smaller.

    A band at a time, since Pillow works on a copy.
    """
    rows = max(1, BAND_SAMPLES // max(1, data.shape[1] * factor)) * factor
    bands = [_shrunk_band(data[top : top + rows], factor) for top in range(0, len(data), rows)]
    return bands[0] if len(bands) == 1 else np.concatenate(bands)


def _shrunk_band(data: ByteArray, factor: int) -> ByteArray:
    mode = {3: "RGB", 4: "CMYK"}.get(data.shape[2])
    if mode is not None:
        picture = Image.frombytes(mode, data.shape[1::-1], np.ascontiguousarray(data).data)
        return np.asarray(picture.reduce(factor))
    layers = [
        np.asarray(Image.fromarray(np.ascontiguousarray(data[:, :, n])).reduce(factor))
        for n in range(data.shape[2])
    ]
    return np.stack(layers, axis=2)


def _as_channels(
    source: StreamObject,
    space: ColourSpace,
    decoded: DecodedPicture,
    plane: Plane,
    mask: IndirectObject | None,
    writer: PdfWriter,
) -> StreamObject:
    channels = plane.of_samples(decoded)
    soft = stream(source, "SMask")
    matte = None if soft is None else numbers(entry(soft, "Matte"))
    if matte is not None:
        channels = _three(channels)
    grey = channels.shape[2] == 1
    made = stream_object(
        np.ascontiguousarray(channels).data.cast("B"),
        {"Type": "XObject", "Subtype": "Image", "Width": channels.shape[1],
         "Height": channels.shape[0], "ColorSpace": "DeviceGray" if grey else "DeviceRGB",
         "BitsPerComponent": 8},
    )  # fmt: skip
    if truth(source, "Interpolate"):
        made[NameObject("/Interpolate")] = pdf_object(True)
    if mask is not None:
        made[NameObject("/Mask")] = mask
    elif stream(source, "Mask") is not None:
        made[NameObject("/Mask")] = raw_entry(source, "Mask")
    if soft is not None:
        reference = raw_entry(source, "SMask")
        if matte is not None:
            changed = StreamObject()
            changed.update(soft)
            changed._data = soft._data
            values = plane.of_mix(mix_of(space, matte))
            changed[NameObject("/Matte")] = pdf_object([*values])
            reference = writer.add(changed)
        made[NameObject("/SMask")] = reference
    return made


def _colour_key(
    picture: RecordedPicture, writer: PdfWriter, limits: Limits
) -> IndirectObject | None:
    """Return a colour-key mask (8.9.6.4) as a stencil; None where the picture has none."""
    ranges = numbers(array(picture.source, "Mask"))
    if not ranges:
        return None
    count = len(ranges) // 2
    if len(ranges) != 2 * count:
        raise UnreadableError("its colour-key mask cannot be read")
    device = {1: "DeviceGray", 3: "DeviceRGB", 4: "DeviceCMYK"}.get(count)
    if device is None:
        raise UnreadableError("its colour-key mask cannot be read")
    plain = StreamObject()
    plain.update({
        key: value for key, value in picture.source.items()
        if key not in ("/ColorSpace", "/CS", "/Decode", "/D", "/Mask")
    })  # fmt: skip
    plain[NameObject("/ColorSpace")] = NameObject("/" + device)
    plain._data = picture.source._data
    samples = picture_samples(plain, DictionaryObject(), limits)
    if samples is None or samples.data.shape[2] != count:
        raise UnreadableError("its colour-key mask cannot be read")
    bits = min(max(integer(picture.source, "BitsPerComponent", "BPC") or 8, 1), 8)
    most = (1 << bits) - 1
    masked = np.ones(samples.data.shape[:2], bool)
    for component, low, high in zip(range(count), ranges[::2], ranges[1::2], strict=True):
        raw = np.rint(samples.data[:, :, component] * (most / 255.0))
        masked &= (raw >= low) & (raw <= high)
    height, width = samples.data.shape[:2]
    stencil = stream_object(
        np.packbits(masked, axis=1).tobytes(),
        {"Type": "XObject", "Subtype": "Image", "Width": width, "Height": height,
         "ImageMask": True, "BitsPerComponent": 1},
    )  # fmt: skip
    return writer.add(stencil)
