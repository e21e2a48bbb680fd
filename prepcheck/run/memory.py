"""How a worker's memory is handed out."""

from __future__ import annotations

import ctypes
from contextlib import suppress

_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3
"""Parameters of `mallopt`, from glibc's <malloc.h>."""
_OWN_PAGES = 20 << 20
"""Bytes from which memory is asked for alone, and given back whole: pictures and single plates of
jackets, of which few are held at a time."""
_KEPT = 1 << 30
"""Bytes of freed memory that are kept for use again."""


def keep_freed_memory() -> None:
    """Let what arrays leave be used again instead of being given back and asked for anew.

    Each page asked for anew must be cleared, which on a jacket takes a tenth of a second and more.
    Only glibc is told; elsewhere nothing happens.
    """
    with suppress(OSError, AttributeError):
        mallopt = ctypes.CDLL(None).mallopt
        mallopt(_MMAP_THRESHOLD, _OWN_PAGES)
        mallopt(_TRIM_THRESHOLD, _KEPT)
