"""How a worker's memory is handed out."""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress
from pathlib import Path

try:
    import resource
except ImportError:  # not on Windows; the time limit still holds there
    resource = None  # type: ignore[assignment]

_TRIM_THRESHOLD, _MMAP_THRESHOLD, _ARENAS = -1, -3, -8
"""Parameters of `mallopt`, from glibc's <malloc.h>."""
_OWN_PAGES = 20 << 20
"""Bytes from which memory is asked for alone, and given back whole: pictures and single plates of
jackets, of which few are held at a time."""
_KEPT = 1 << 30
"""Bytes of freed memory that are kept for use again."""
_PAGE = 4096 if resource is None else resource.getpagesize()


def keep_freed_memory() -> None:
    """Let what arrays leave be used again instead of being given back and asked for anew.

    Each page asked for anew must be cleared, which on a jacket takes a tenth of a second and more.
    Only glibc is told; elsewhere nothing happens.
    """
    with suppress(OSError, AttributeError):
        mallopt = ctypes.CDLL(None).mallopt
        mallopt(_MMAP_THRESHOLD, _OWN_PAGES)
        mallopt(_TRIM_THRESHOLD, _KEPT)


def share_freed_memory() -> None:
    """Let what one thread frees be used again by those that begin later, which otherwise each keep
    what they ever took: on a page of a million strokes a third of a gigabyte.

    Threads that are busy at once wait for each other then: six spots took 7 % longer (two cores,
    2026). Only glibc is told; elsewhere nothing happens.
    """
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).mallopt(_ARENAS, 1)


def hold_memory_to(megabytes: int) -> None:
    """Let this process write to no more memory than that, or than is allowed already.

    Where the system counts only address space, about twice as much of it is used.
    """
    if resource is None:
        return
    kind, most = resource.RLIMIT_DATA, megabytes << 20
    if sys.platform != "linux":
        kind, most = resource.RLIMIT_AS, 2 * most
    for what, value in ((kind, most), (resource.RLIMIT_CORE, 0)):
        _, hard = resource.getrlimit(what)
        if hard != resource.RLIM_INFINITY:
            value = min(value, hard)
        with suppress(ValueError, OSError):
            resource.setrlimit(what, (value, value))


def own_memory_mb(process: int) -> float:
    """Return how much memory a process has to itself, in MB; 0 where that is not told."""
    try:
        words = Path(f"/proc/{process}/statm").read_text(encoding="ascii").split()
        pages = int(words[1]) - int(words[2])
    except (OSError, ValueError, IndexError):
        return 0.0
    return pages * _PAGE / 2**20
