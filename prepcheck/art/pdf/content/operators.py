"""The graphics operators (ISO 32000-2, Annex A) by what they do."""

from __future__ import annotations

from typing import NamedTuple


class Operator(NamedTuple):
    """What a path-painting operator does (8.5.3)."""

    fill: bool
    stroke: bool
    close: bool = False


PAINTING = {
    b"S": Operator(False, True), b"s": Operator(False, True, True),
    **dict.fromkeys((b"f", b"F", b"f*"), Operator(True, False)),
    **dict.fromkeys((b"B", b"B*"), Operator(True, True)),
    **dict.fromkeys((b"b", b"b*"), Operator(True, True, True)),
    b"n": Operator(False, False),
}  # fmt: skip
"""Path-painting operators (8.5.3)."""
DRAWING = frozenset((*PAINTING, b"Do", b"sh", b"BI"))
"""Operators that add something to the page, but for those that show text."""
DEVICE_OPERATORS = {
    b"g": "/DeviceGray", b"G": "/DeviceGray", b"rg": "/DeviceRGB", b"RG": "/DeviceRGB",
    b"k": "/DeviceCMYK", b"K": "/DeviceCMYK",
}  # fmt: skip
"""Operators that set a colour in a device space, and that space (8.6.8)."""
FILLED_MODES = frozenset((0, 2, 4, 6))
STROKED_MODES = frozenset((1, 2, 5, 6))
INVISIBLE_MODES = frozenset((3, 7))
CLIPPING_MODES = frozenset((4, 5, 6, 7))
"""Text render modes (ISO 32000-2, Table 104)."""
QUIET = frozenset(
    b"q Q cm w J j M d gs g G k K rg RG cs CS sc SC scn SCN m l c v y h re W W* BMC BDC EMC"
    b" S s f F f* B B* b b* n".split()
)
"""Operators that only change the state, or look after the order of paths themselves: paths that
wait to be placed may wait on."""
PAINT_STATE = frozenset(b"q Q cm gs g G rg RG k K cs CS sc SC scn SCN Tr BMC BDC EMC".split())
"""Operators on whose state the plates depend."""
IGNORED = frozenset((b"ri", b"i", b"MP", b"DP", b"BX", b"EX", b"EI", b"ID"))
"""Operators without effect on places and paints."""
