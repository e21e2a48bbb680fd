"""TIFF files (TIFF 6.0, its Technical Notes and BigTIFF), of one or several pages.

Pillow decodes what it can in full; pictures of 8 and 16 bits whose channels it would drop or
shorten are put together from strips and tiles here, each unpacked by libtiff through Pillow.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import BinaryIO, NamedTuple

import numpy as np
from PIL import TiffImagePlugin
from PIL.TiffImagePlugin import ImageFileDirectory_v2

from prepcheck.art.damage import quietly, taking
from prepcheck.art.jpeg import as_array, check_size
from prepcheck.art.layered import guides, tiff_layers
from prepcheck.art.limits import Limits
from prepcheck.art.model import PROCESS_INKS, RasterFacts, Samples, Space
from prepcheck.art.name_bytes import decoded
from prepcheck.art.raster import RasterFile, RasterPage, Stored, raster_page, stated_ppi
from prepcheck.art.resources import (
    TRANSPARENCY,
    ExtraChannel,
    extra_channels,
    read_resources,
    resolution,
)
from prepcheck.art.samples import (
    CMYK,
    GREY,
    LAB,
    RGB,
    inks_space,
    on_paper,
    profile_name,
    turns_sideways,
    upright,
    with_profile,
    with_spots,
)
from prepcheck.art.tiff_strips import PLAIN_COMPRESSIONS, Strips, assembled, with_room
from prepcheck.errors import UnreadableError

_COMPRESSIONS = {
    1: "none", 2: "CCITT", 3: "CCITT G3", 4: "CCITT G4", 5: "LZW", 6: "old JPEG", 7: "JPEG",
    8: "Deflate", 32773: "PackBits", 32946: "Deflate", 34925: "LZMA", 50000: "Zstandard",
    50001: "WebP",
}  # fmt: skip
_SPACES = {0: GREY, 1: GREY, 2: RGB, 3: RGB, 5: CMYK, 6: RGB, 8: LAB, 9: LAB}
"""Spaces by PhotometricInterpretation; palettes and YCbCr are read as RGB."""
_NUMBER_KINDS = {
    2: "numbers with a sign", 3: "floating-point numbers", 5: "complex numbers",
    6: "complex numbers",
}  # fmt: skip
"""Kinds of number by SampleFormat that are not read (TIFF 6.0, section 19)."""
_ASSOCIATED, _UNASSOCIATED = 1, 2
LARGE = 150_000_000
"""Pixels near those that Pillow refuses."""
_SIGNED = np.array((0, 128, 128), np.uint8)
_OWN_PHOTOMETRICS = (0, 1, 2, 5, 8, 9)


class _Layout(NamedTuple):
    """What one page's tags say."""

    offset: int
    size: tuple[int, int]
    """As stored."""
    bits: int
    photometric: int
    compression: int
    orientation: int
    space: Space
    own: int
    """Channels before the extra ones."""
    channels: int
    spots: tuple[int, ...]
    """Extra channels that are inks."""
    alpha: int | None
    premultiplied: bool


def read_tiff_file(path: Path, data: bytes, limits: Limits) -> RasterFile:
    """Read a TIFF; raises UnreadableError where it is damaged, too large or of a kind unread.

    Reduced copies and masks (NewSubfileType bits 0 and 2) are no pages.
    """
    with quietly("TIFF"):
        directories = [
            found for found in _directories(data, limits) if not int(found[1].get(254, 0)) & 0b101
        ]
        pages = tuple(
            _page(path, index, offset, tags, limits)
            for index, (offset, tags) in enumerate(directories)
        )
    if not pages:
        raise UnreadableError(f"{path.name}: the TIFF holds no picture; export it again")
    return RasterFile(pages)


def _header(data: bytes) -> bytes:
    return data[:16] if data[2:4] in (b"+\0", b"\0+") else data[:8]


def _directory(data: bytes, offset: int) -> ImageFileDirectory_v2:
    tags = ImageFileDirectory_v2(_header(data))
    if offset > len(data):
        raise UnreadableError("the TIFF is cut short; send it again")
    file = io.BytesIO(data)
    file.seek(offset)
    tags.load(file)
    return tags


def _directories(data: bytes, limits: Limits) -> Iterator[tuple[int, ImageFileDirectory_v2]]:
    offset = ImageFileDirectory_v2(_header(data)).next
    seen: set[int] = set()
    while offset and offset not in seen and len(seen) < limits.pages:
        seen.add(offset)
        tags = _directory(data, offset)
        yield offset, tags
        offset = tags.next


def _page(
    path: Path, index: int, offset: int, tags: ImageFileDirectory_v2, limits: Limits
) -> RasterPage:
    resources = read_resources(_as_bytes(tags.get(34377)))
    layout, extra = _layout(offset, tags, extra_channels(resources), limits)
    profile = _as_bytes(tags.get(34675)) or None
    name = profile_name(profile)
    if not layout.spots and layout.own == _SPACES[layout.photometric].components:
        layout = layout._replace(space=with_profile(layout.space, name))
    sideways = turns_sideways(layout.orientation)
    dpi = _resolution(tags, sideways)
    if dpi is None and (block := resolution(resources)):
        dpi = stated_ppi(*block, sideways)
    facts = RasterFacts(
        samples=layout.size[::-1] if sideways else layout.size,
        bits=layout.bits,
        space=layout.space,
        ppi=dpi,
        compression=_COMPRESSIONS.get(layout.compression, f"method {layout.compression}"),
        extra_channels=extra,
        has_alpha=layout.alpha is not None,
        orientation=layout.orientation,
        profile=name,
        profile_data=profile,
        layers=tiff_layers(_as_bytes(tags.get(37724))),
        guides=guides(resources),
    )
    return raster_page(
        index,
        path.name,
        facts,
        partial(_decode, path, layout),
        partial(_stored, path, layout, True),
    )


def _layout(
    offset: int, tags: ImageFileDirectory_v2, named: tuple[ExtraChannel, ...], limits: Limits
) -> tuple[_Layout, tuple[str, ...]]:
    """Return what the tags say, and the names of all extra channels."""
    width, height = _number(tags, 256, 0), _number(tags, 257, 0)
    bits = _numbers(tags, 258) or (1,)
    channels = _number(tags, 277, len(bits))
    photometric, compression = _number(tags, 262, 1), _number(tags, 259, 1)
    if photometric not in _SPACES:
        raise UnreadableError(f"TIFF colour of kind {photometric} is not read; save it as CMYK")
    for kind in set(_numbers(tags, 339)) & set(_NUMBER_KINDS):
        raise UnreadableError(
            f"a TIFF of {_NUMBER_KINDS[kind]} is not read; save it with 8 bits without sign"
        )
    if len(set(bits)) > 1 or bits[0] not in (1, 2, 4, 8, 16):
        raise UnreadableError(
            f"a TIFF of {'/'.join(map(str, bits))} bits a channel is not read; save it with 8 bits"
        )
    if not 0 < channels <= 64:
        raise UnreadableError(f"a TIFF of {channels} channels is not read; save it as CMYK")
    check_size((width, height), channels * max(1, bits[0] // 8), limits)
    kinds = _numbers(tags, 338)
    base = _SPACES[photometric]
    own = 1 if photometric == 3 else base.components
    if photometric == 5:
        inks = _ink_names(tags, channels - len(kinds))
        own = max(channels - len(kinds), 1) if inks else own
        base = inks_space(inks, CMYK if inks[:4] == PROCESS_INKS else None) if inks else base
    if channels < own:
        raise UnreadableError("the TIFF has fewer channels than its colour needs; export it again")
    spots: tuple[int, ...] = ()
    names = {own + at: channel for at, channel in enumerate(named) if own + at < channels}
    if base is GREY or base is CMYK:
        spots = tuple(at for at, channel in names.items() if channel.spot)
    alpha = None
    for at in range(own, channels):
        kind = kinds[at - own] if at - own < len(kinds) else 0
        clear = names[at].name == TRANSPARENCY if at in names else kind in (1, 2)
        if clear and alpha is None:
            alpha = at
    layout = _Layout(
        offset=offset,
        size=(width, height),
        bits=bits[0],
        photometric=photometric,
        compression=compression,
        orientation=_number(tags, 274, 1),
        space=with_spots(base, tuple(names[at].name for at in spots)),
        own=own,
        channels=channels,
        spots=spots,
        alpha=alpha,
        premultiplied=alpha is not None and kinds[alpha - own : alpha - own + 1] == (_ASSOCIATED,),
    )
    extra = tuple(
        names[at].name if at in names else f"channel {at + 1}" for at in range(own, channels)
    )
    return layout, extra


def _ink_names(tags: ImageFileDirectory_v2, count: int) -> tuple[str, ...]:
    """Return the inks of a separated TIFF that names them (InkSet, InkNames: section 16)."""
    listed = str(tags.get(333) or "").encode("latin-1", "replace")
    named = [decoded(part) for part in listed.split(b"\0") if part.strip()]
    if count <= 0 or (not named and (_number(tags, 332, 1) == 1 or count == 4)):
        return ()
    process = {ink.lower(): ink for ink in PROCESS_INKS}
    names = [process.get(name.strip().lower(), name.strip()) for name in named[:count]]
    return tuple(names + [f"ink {at + 1}" for at in range(len(names), count)])


def _resolution(tags: ImageFileDirectory_v2, sideways: bool) -> tuple[float, float] | None:
    unit = _number(tags, 296, 2)
    if unit not in (2, 3):
        return None
    return stated_ppi(tags.get(282), tags.get(283), sideways, 2.54 if unit == 3 else 1.0)


def _decode(path: Path, layout: _Layout) -> Samples:
    """Return a page's samples as bytes, laid on paper."""
    stored = _stored(path, layout, False)
    art = stored.data
    # What was blended with the colour of the paper beforehand lies on it already.
    if stored.alpha is not None and stored.matte != 1.0:
        art = on_paper(art, stored.alpha, layout.space, stored.matte is not None)
    return Samples(art, layout.space)


def _stored(path: Path, layout: _Layout, whole: bool) -> Stored:
    """Return a page's samples and their opacity, as bytes, or `whole` in the depth they have."""
    with quietly("TIFF"):
        own = (
            layout.bits in (8, 16)
            and layout.photometric in _OWN_PHOTOMETRICS
            and layout.compression in PLAIN_COMPRESSIONS
        )
        if not own:
            return _by_pillow(path.read_bytes(), layout)
        with path.open("rb") as file:
            return _assembled(file, layout, whole)


def _assembled(file: BinaryIO, layout: _Layout, whole: bool) -> Stored:
    head = file.read(16)
    tags = ImageFileDirectory_v2(_header(head))
    file.seek(layout.offset)
    tags.load(file)
    stored = assembled(file, _strips(head, file.seek(0, 2), tags, layout), whole=whole)
    wanted = [*range(layout.own), *layout.spots]
    art = stored if len(wanted) == layout.channels else stored[:, :, wanted]
    most = np.iinfo(stored.dtype).max
    if layout.photometric == 0:
        np.subtract(most, art[:, :, 0], out=art[:, :, 0])
    elif layout.photometric == 8:  # a* and b* are signed there
        art ^= np.array((0, most // 2 + 1, most // 2 + 1), stored.dtype)
    if layout.spots:
        # Photoshop keeps spots as grey pictures, black where the ink is (from memory).
        first = 0 if layout.own == 1 else layout.own
        np.subtract(most, art[:, :, first:], out=art[:, :, first:])
    art = upright(np.ascontiguousarray(art), layout.orientation)
    alpha, matte = None, None
    if layout.alpha is not None:
        alpha = upright(np.ascontiguousarray(stored[:, :, layout.alpha]), layout.orientation)
        if layout.premultiplied:
            matte = 1.0 if layout.photometric == 0 else 0.0
    return Stored(art, layout.space, alpha, matte, _lab_most(layout, most))


def _lab_most(layout: _Layout, most: int) -> tuple[float, ...]:
    """Return what the greatest numbers of Lab of 16 bits stand for: a* and b* are in 256ths, and
    L* is 100 at 65,535, or in the numbers of ICC profiles at 65,280 (TIFF 6.0 and its notes)."""
    if layout.space.kind != "lab" or most == 255:
        return ()
    ab = most / 256 - 128
    return (100.0 * most / 65280 if layout.photometric == 9 else 100.0), ab, ab


def _strips(head: bytes, size: int, tags: ImageFileDirectory_v2, layout: _Layout) -> Strips:
    tiled = 324 in tags
    width, height = layout.size
    offsets, counts = (_numbers(tags, tag) for tag in ((324, 325) if tiled else (273, 279)))
    if not counts and layout.compression == 1:  # left out by old writers
        counts = (size,) * len(offsets)
    return Strips(
        size=layout.size,
        channels=layout.channels,
        bits=layout.bits,
        order="<" if head[:2] == b"II" else ">",
        compression=layout.compression,
        predictor=_number(tags, 317, 1),
        planar=_number(tags, 284, 1) == 2,
        fill_order=_number(tags, 266, 1),
        tiled=tiled,
        piece=(
            (_number(tags, 322, width), _number(tags, 323, height))
            if tiled
            else (width, min(_number(tags, 278, height) or height, height))
        ),
        offsets=offsets,
        counts=counts,
    )


def _by_pillow(data: bytes, layout: _Layout) -> Stored:
    """Let Pillow open the page; it turns the picture upright itself."""
    size = len(_header(data)) // 2
    start = layout.offset.to_bytes(size, "little" if data[:2] == b"II" else "big")
    patched = io.BytesIO(data[:size] + start + data[2 * size :])
    opened = TiffImagePlugin.TiffImageFile(patched)
    if opened.mode.startswith(("I", "F")):
        raise UnreadableError("a TIFF of this depth and compression is not read; save it as 8 bits")
    if opened.width * opened.height > LARGE:
        with_room(opened)
    with taking(2 * len(data) + _PIECE_BYTES * _piece_pixels(opened) * layout.channels):
        opened.load()
    kind = layout.space.kind
    target = {"grey": "L", "rgb": "RGB", "cmyk": "CMYK", "lab": "LAB"}.get(kind)
    if target is None:
        raise UnreadableError("a TIFF of named inks compressed as JPEG is not read; save it as LZW")
    clear = layout.alpha is not None and opened.mode in ("LA", "La", "RGBA", "RGBa", "PA")
    if clear:
        layered = as_array(opened.convert({"L": "LA", "RGB": "RGBA"}[target]))
        return Stored(layered[:, :, :-1], layout.space, layered[:, :, -1])
    art = as_array(opened if opened.mode == target else opened.convert(target))
    if kind == "lab":
        art ^= _SIGNED  # Pillow hands out a* and b* signed
    return Stored(art, layout.space)


_PIECE_BYTES = 4
"""Bytes that a sample of a strip takes while it is decoded, at most: as it comes out, in Pillow's
four channels, and the two of its coefficient in a JPEG of several scans."""


def _piece_pixels(opened: TiffImagePlugin.TiffImageFile) -> int:
    """Return how many pixels are decoded at once: a strip or a tile of them."""
    tags, (width, height) = opened.tag_v2, opened.size
    across, down = _number(tags, 322, width), _number(tags, 323 if 322 in tags else 278, height)
    return min(max(across, 0), width) * min(max(down, 0), height)


def _as_bytes(value: object) -> bytes:
    """Return a tag of bytes, which comes as bytes, as a tuple of them or as one of numbers."""
    if isinstance(value, tuple):
        return b"".join(
            part if isinstance(part, bytes) else bytes((part & 255,))
            for part in value
            if isinstance(part, (bytes, int))
        )
    return value if isinstance(value, bytes) else b""


def _numbers(tags: ImageFileDirectory_v2, tag: int) -> tuple[int, ...]:
    value = tags.get(tag, ())
    try:
        return tuple(int(part) for part in (value if isinstance(value, tuple) else (value,)))
    except (TypeError, ValueError, OverflowError) as error:
        raise UnreadableError(
            f"the TIFF's tag {tag} holds no whole numbers; export it again"
        ) from error


def _number(tags: ImageFileDirectory_v2, tag: int, default: int) -> int:
    return next(iter(_numbers(tags, tag)), default)
