"""Pages painted with a tiling pattern (ISO 32000-2, 8.7.3)."""

from __future__ import annotations

import io
import math
from typing import NamedTuple

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
)

from tests.truth._page import MM


class Tile(NamedTuple):
    """A cell of a pattern: what it paints, in mm, its side, how far it is turned (radians), and
    whether it sets colours of its own."""

    cell: str
    pitch: float
    turn: float
    coloured: bool = True


def with_tiles(page: bytes, tile: Tile, content: str, beneath: bool = False) -> bytes:
    """Return a page with content, over its own or beneath it, that may paint with /Tile; what sets
    no colours of its own is painted through the colour space /Tint, in process inks."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(page)))
    sheet = writer.pages[0]
    resources = sheet["/Resources"].get_object()
    resources[NameObject("/Pattern")] = DictionaryObject(
        {NameObject("/Tile"): writer._add_object(_stream(tile))}
    )
    if not tile.coloured:
        resources[NameObject("/ColorSpace")] = DictionaryObject(
            {NameObject("/Tint"): ArrayObject([NameObject("/Pattern"), NameObject("/DeviceCMYK")])}
        )
    more = DecodedStreamObject()
    more.set_data(f"\n{content}\n".encode())
    old = sheet["/Contents"]
    old = list(old) if isinstance(old.get_object(), ArrayObject) else [sheet.raw_get("/Contents")]
    added = [writer._add_object(more)]
    sheet[NameObject("/Contents")] = ArrayObject(added + old if beneath else old + added)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _stream(tile: Tile) -> DecodedStreamObject:
    pitch = tile.pitch
    c, s = math.cos(tile.turn) * MM, math.sin(tile.turn) * MM
    stream = DecodedStreamObject()
    stream.set_data(tile.cell.encode())
    stream.update({
        NameObject("/Type"): NameObject("/Pattern"), NameObject("/PatternType"): FloatObject(1),
        NameObject("/PaintType"): FloatObject(1 if tile.coloured else 2),
        NameObject("/TilingType"): FloatObject(1),
        NameObject("/BBox"): _numbers(0, 0, pitch, pitch),
        NameObject("/XStep"): FloatObject(pitch), NameObject("/YStep"): FloatObject(pitch),
        NameObject("/Matrix"): _numbers(c, s, -s, c, 0, 0),
        NameObject("/Resources"): DictionaryObject(),
    })  # fmt: skip
    return stream


def _numbers(*values: float) -> ArrayObject:
    return ArrayObject(FloatObject(value) for value in values)
