"""How a worker's memory is handed out."""

from __future__ import annotations

import ctypes
from contextlib import suppress

_TRIM_THRESHOLD, _MMAP_THRESHOLD, _ARENA_MAX = -1, -3, -8
"""Parameters of `mallopt`, from glibc's <malloc.h>."""
_LARGE = 1 << 30


def keep_freed_memory() -> None:
    """Let what large arrays leave be used again instead of being given back and asked for anew.

    Each page asked for anew must be cleared: on a jacket that is a third of a second. Both threads
    use one pool, since what one frees the other needs. Only glibc is told; elsewhere nothing
    happens.
    """
    with suppress(OSError, AttributeError):
        mallopt = ctypes.CDLL(None).mallopt
        for parameter, value in (
            (_MMAP_THRESHOLD, _LARGE), (_TRIM_THRESHOLD, _LARGE), (_ARENA_MAX, 1),
        ):  # fmt: skip
            mallopt(parameter, value)
