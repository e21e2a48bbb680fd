"""Colour spaces in which marks are printed: in one plate, or in every plate that art uses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

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

from prepcheck.art.model import PROCESS_INKS

Cmyk = tuple[float, float, float, float]
STAND_IN: Cmyk = (0.0, 0.0, 0.0, 0.6)
"""How a spot is shown of which nothing is known."""


def made(**entries: Any) -> DictionaryObject:
    """Return a PDF dictionary; words are names, whole numbers and PDF objects themselves."""
    return DictionaryObject({NameObject(f"/{key}"): _object(one) for key, one in entries.items()})


def _object(value: Any) -> PdfObject:
    if isinstance(value, PdfObject):
        return value
    return NameObject(f"/{value}") if isinstance(value, str) else NumberObject(value)


def ink_space(
    inks: Sequence[str], looks: Mapping[str, tuple[float, ...]], writer: PdfWriter
) -> ArrayObject:
    """Return a space with a component an ink (ISO 32000-2, 8.6.6): Separation, or DeviceN.

    On screen the inks are shown in process inks, spots by `looks`: their stand-in in the art.
    """
    names = [NameObject(f"/{ink}") for ink in inks]
    tint = _tint([_cmyk(ink, looks) for ink in inks], writer)
    if len(names) == 1:
        return ArrayObject((NameObject("/Separation"), names[0], NameObject("/DeviceCMYK"), tint))
    return ArrayObject(
        (NameObject("/DeviceN"), ArrayObject(names), NameObject("/DeviceCMYK"), tint)
    )


def _cmyk(ink: str, looks: Mapping[str, tuple[float, ...]]) -> Cmyk:
    if ink in PROCESS_INKS:
        c, m, y, k = (1.0 if ink == one else 0.0 for one in PROCESS_INKS)
        return c, m, y, k
    shown = looks.get(ink, ())
    if len(shown) != 4:
        return STAND_IN
    c, m, y, k = shown
    return c, m, y, k


def _tint(solids: Sequence[Cmyk], writer: PdfWriter) -> IndirectObject:
    """Return a calculator function (7.10.5) that adds the inks up, each process ink to 1."""
    count = len(solids)
    words = ["{"]
    for place in range(4):
        words.append("0")
        for at, solid in enumerate(solids):
            words.append(f"{count + place - at} index {solid[place]:.4f} mul add")
        words.append("dup 1 gt { pop 1 } if")
    words.append(f"{count + 4} 4 roll {'pop ' * count}}}")
    function = StreamObject()
    function.set_data(" ".join(words).encode())
    function.update(made(FunctionType=4))
    for key, pairs in (("Domain", count), ("Range", 4)):
        function[NameObject(f"/{key}")] = ArrayObject(FloatObject(n) for n in (0, 1) * pairs)
    return writer._add_object(function)
