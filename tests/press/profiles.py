"""ICC output profiles for tests (ICC.1:2001-04, 6.1 header, 6.5.9 lut8Type)."""

from __future__ import annotations

import itertools
import struct

from PIL import ImageCms

from prepcheck.press.show.condition import load_condition
from prepcheck.press.show.icc import condition_profile

_TAGS, _TAG = 128, 12


def press_profile(condition: str = "coated-board") -> bytes:
    """Return a profile of a print condition that leads both ways.

    From colour to inks it is simple: black is 1 - L*/100, green gives cyan, red magenta and
    yellow yellow, in step with a* and b*.
    """
    shown = condition_profile(load_condition(condition))
    count = struct.unpack(">I", shown[_TAGS : _TAGS + 4])[0]
    tags = {}
    for index in range(count):
        at = _TAGS + 4 + _TAG * index
        name, start, length = struct.unpack(">4sII", shown[at : at + _TAG])
        tags[name] = shown[start : start + length]
    tags[b"B2A0"] = _to_inks()
    body, directory = b"", struct.pack(">I", len(tags))
    start = _TAGS + 4 + _TAG * len(tags)
    for name, data in tags.items():
        directory += struct.pack(">4sII", name, start + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    size = struct.pack(">I", start + len(body))
    return size + shown[4:_TAGS] + directory + body


def exchanged_rgb() -> bytes:
    """Return a profile like sRGB, in which red and green have changed places."""
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = struct.unpack(">I", data[_TAGS : _TAGS + 4])[0]
    places = {}
    for index in range(count):
        at = _TAGS + 4 + _TAG * index
        places[bytes(data[at : at + 4])] = slice(at + 4, at + _TAG)
    red, green = places[b"rXYZ"], places[b"gXYZ"]
    data[red], data[green] = data[green], data[red]
    return bytes(data)


def _to_inks() -> bytes:
    straight = bytes(range(256))
    table = b""
    for lightness, a, b in itertools.product(range(3), repeat=3):
        inks = (a == 0, a == 2, b == 2, 1 - lightness / 2)
        table += bytes(round(255 * ink) for ink in inks)
    head = struct.pack(">4sIBBBB", b"mft1", 0, 3, 4, 3, 0)
    matrix = struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    return head + matrix + straight * 3 + table + straight * 4
