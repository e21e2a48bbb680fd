"""Photoshop image resources, as PSD files and TIFF tag 34377 carry them.

Source: Adobe Photoshop File Formats Specification, Image Resources Section (identifiers 1005, 1006,
1007, 1039, 1045, 1077); the channel kind's values are from memory.
"""

from __future__ import annotations

import struct
from typing import NamedTuple

RESOLUTION, NAMES, OLD_DISPLAY, PROFILE, UNICODE_NAMES, DISPLAY = 1005, 1006, 1007, 1039, 1045, 1077
TRANSPARENCY = "Transparency"
"""The name given to the channel that holds the merged picture's transparency."""
_SPOT = 2


class ExtraChannel(NamedTuple):
    """A channel beyond the colour mode's own; `spot` tells an ink from a stored selection."""

    name: str
    spot: bool


def read_resources(data: bytes) -> dict[int, bytes]:
    """Return the blocks by identifier, up to the first damaged one."""
    found: dict[int, bytes] = {}
    place = 0
    while place + 12 <= len(data) and data[place : place + 4] in (b"8BIM", b"MeSa", b"AgHg"):
        (identifier,) = struct.unpack_from(">H", data, place + 4)
        name_length = data[place + 6]
        place += 6 + (name_length + 2) // 2 * 2
        if place + 4 > len(data):
            break
        (size,) = struct.unpack_from(">I", data, place)
        found.setdefault(identifier, data[place + 4 : place + 4 + size])
        place += 4 + (size + 1) // 2 * 2
    return found


def resolution(resources: dict[int, bytes]) -> tuple[float, float] | None:
    """Return pixels per inch; the block holds them as 16.16 fixed point whatever unit is shown."""
    block = resources.get(RESOLUTION, b"")
    if len(block) < 16:
        return None
    across, down = (struct.unpack_from(">I", block, place)[0] / 65536 for place in (0, 8))
    return (across, down) if across > 0 and down > 0 else None


def extra_channels(resources: dict[int, bytes]) -> tuple[ExtraChannel, ...]:
    """Return the named extra channels in order.

    Where the file does not say what a channel is, a name other than Photoshop's own for stored
    selections ('Alpha 1') and transparency is taken for an ink.
    """
    names = _unicode_names(resources.get(UNICODE_NAMES, b"")) or _pascal_names(
        resources.get(NAMES, b"")
    )
    kinds = _kinds(resources)
    found = []
    for place, name in enumerate(names):
        spot = kinds[place] == _SPOT if place < len(kinds) else not name.startswith("Alpha ")
        found.append(ExtraChannel(name, spot and name != TRANSPARENCY))
    return tuple(found)


def _pascal_names(block: bytes) -> list[str]:
    names = []
    place = 0
    while place < len(block):
        length = block[place]
        names.append(block[place + 1 : place + 1 + length].decode("mac-roman"))
        place += 1 + length
    return names


def _unicode_names(block: bytes) -> list[str]:
    names = []
    place = 0
    while place + 4 <= len(block):
        (length,) = struct.unpack_from(">I", block, place)
        text = block[place + 4 : place + 4 + 2 * length].decode("utf-16-be", "replace")
        names.append(text.rstrip("\0"))
        place += 4 + 2 * length
    return names


def _kinds(resources: dict[int, bytes]) -> list[int]:
    """Return each extra channel's kind: 13 bytes a channel after a version, 14 in the old block."""
    if DISPLAY in resources:
        block, size = resources[DISPLAY][4:], 13
    else:
        block, size = resources.get(OLD_DISPLAY, b""), 14
    return [block[place + 12] for place in range(0, len(block) - 12, size)]
