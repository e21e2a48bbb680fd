"""Asks the library that paints of very many objects of a page, without a Python call each."""

from __future__ import annotations

import ctypes
from collections import deque
from collections.abc import Callable
from itertools import count, repeat
from typing import Any

import numpy as np
import pypdfium2.raw as pdfium_c
from numpy.typing import NDArray

Handles = NDArray[np.uintp]
"""Objects of a page, as the library names them."""
Ask = Callable[..., int]
"""A function of the library."""


def objects_of(page: object, step: int = 1) -> Handles:
    """Return the library's handle of each object (n,) of a loaded page, or of one in so many."""
    which = range(0, pdfium_c.FPDFPage_CountObjects(page), step)
    place = ctypes.cast(page.raw, ctypes.c_void_p).value  # type: ignore[attr-defined]
    return np.fromiter(map(GET_OBJECT, repeat(place), which), np.uintp, len(which))


def boxes_of(objects: Handles) -> NDArray[np.float32]:
    """Return the box of each object (n, 4) in points, as the library itself goes by it; of one
    whose box is not told all there is."""
    found = np.empty((len(objects), 4), np.float32)
    unknown = ~told_of(objects, BOUNDS, *found.T)
    found[unknown] = -np.inf, -np.inf, np.inf, np.inf
    return found


def set_active(objects: Handles, active: bool) -> None:
    """Have objects painted, or left out."""
    deque(map(SET_ACTIVE, objects.data, repeat(active)), maxlen=0)


def told_of(objects: Handles, ask: Ask, *columns: NDArray[Any]) -> NDArray[np.bool_]:
    """Ask of each object (n,), and say where there was an answer.

    What is told goes to the rows of the columns, one for each argument of the library's.
    """
    rows = (count(column.ctypes.data, column.strides[0]) for column in columns)
    told = np.fromiter(map(ask, objects.data, *rows), np.intc, len(objects))
    return np.asarray(told != 0)


def answers(objects: Handles, ask: Ask) -> NDArray[np.intc]:
    """Return the number that each object answers (n,)."""
    return np.fromiter(map(ask, objects.data), np.intc, len(objects))


def _question(function: object, *arguments: type, gives: type = ctypes.c_int) -> Ask:
    """Return a function of the library that is called without letting go of Python's lock, and
    takes handles and addresses as numbers: a page may have a million objects to ask."""
    address = ctypes.cast(function, ctypes.c_void_p).value or 0  # type: ignore[arg-type]
    return ctypes.PYFUNCTYPE(gives, ctypes.c_void_p, *arguments)(address)


_PLACE = ctypes.c_void_p
GET_OBJECT = _question(pdfium_c.FPDFPage_GetObject, ctypes.c_int, gives=ctypes.c_void_p)
SET_ACTIVE = _question(pdfium_c.FPDFPageObj_SetIsActive, ctypes.c_int)
BOUNDS = _question(pdfium_c.FPDFPageObj_GetBounds, *[_PLACE] * 4)
TRANSPARENT = _question(pdfium_c.FPDFPageObj_HasTransparency)
KIND = _question(pdfium_c.FPDFPageObj_GetType)
DRAW_MODE = _question(pdfium_c.FPDFPath_GetDrawMode, _PLACE, _PLACE)
WIDTH = _question(pdfium_c.FPDFPageObj_GetStrokeWidth, _PLACE)
TEXT_MODE = _question(pdfium_c.FPDFTextObj_GetTextRenderMode)
FONT_SIZE = _question(pdfium_c.FPDFTextObj_GetFontSize, _PLACE)
FILL_COLOUR = _question(pdfium_c.FPDFPageObj_GetFillColor, *[_PLACE] * 4)
STROKE_COLOUR = _question(pdfium_c.FPDFPageObj_GetStrokeColor, *[_PLACE] * 4)
MATRIX = _question(pdfium_c.FPDFPageObj_GetMatrix, _PLACE)
SEGMENTS = _question(pdfium_c.FPDFPath_CountSegments)
SEGMENT = _question(pdfium_c.FPDFPath_GetPathSegment, ctypes.c_int, gives=ctypes.c_void_p)
SEGMENT_KIND = _question(pdfium_c.FPDFPathSegment_GetType)
POINT = _question(pdfium_c.FPDFPathSegment_GetPoint, _PLACE, _PLACE)
