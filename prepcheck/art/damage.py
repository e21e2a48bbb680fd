"""Turning what decoders raise into our own errors, and naming the file in them."""

from __future__ import annotations

import threading
import warnings
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from types import FrameType

import numpy as np

from prepcheck.errors import BudgetError, PasswordError, UnreadableError, said_by, short_of


class _Mute:
    """Warnings are muted while any thread is inside: Python has one list of filters for all, so a
    thread that put back what it had found would take the mute away from the others."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._inside = 0
        self._before: AbstractContextManager[object] = warnings.catch_warnings()

    def __enter__(self) -> None:
        with self._lock:
            self._inside += 1
            if self._inside == 1:
                self._before = warnings.catch_warnings()
                self._before.__enter__()
                warnings.simplefilter("ignore")

    def __exit__(self, *_: object) -> None:
        with self._lock:
            self._inside -= 1
            if not self._inside:
                self._before.__exit__(None, None, None)


muted = _Mute()


_HANDS_ON = (
    "numpy", "collections", "contextlib", "dataclasses", "enum", "functools", "typing", "PIL",
)  # fmt: skip
"""Libraries that read no files: what they raise is a slip of who called them. So it is with Pillow
but where it reads."""
_READS_NOTES = ("Exif.", "Image.getexif", "Image._getexif", "Image._reload_exif")
"""What of Pillow's own module of pictures reads what a file says, not what its caller asked."""


def raised_in(error: BaseException) -> str:
    """Return the name of the module where an error arose, or where what raised it was called."""
    trace, where = error.__traceback__, ""
    while trace is not None:
        name = str(trace.tb_frame.f_globals.get("__name__", ""))
        if not where or not _is_at_hand(name, trace.tb_frame):
            where = name
        trace = trace.tb_next
    return where


def _is_at_hand(module: str, frame: FrameType) -> bool:
    """Say whether code does what its caller asks for, and looks into no file."""
    if module.partition(".")[0] not in _HANDS_ON:
        return False
    reads = module == "PIL.ImageFile" or module.endswith("ImagePlugin")
    return not reads and not frame.f_code.co_qualname.startswith(_READS_NOTES)


def is_ours(error: BaseException) -> bool:
    """Say whether an error is a slip in our own code: of a kind that Python itself raises, and
    arisen there. What we know to be damage we raise as an ArtworkError."""
    plain = type(error).__module__.partition(".")[0] in ("builtins", "numpy")
    if not plain or isinstance(error, OSError | EOFError | RecursionError | MemoryError):
        return False
    return raised_in(error).startswith("prepcheck.")


def may_be_stepped_over(error: Exception) -> bool:
    """Say whether an error tells of damage in one object, so that the rest may be followed: not
    the end of what a part may take, want of memory, or a slip of our own."""
    return not (isinstance(error, BudgetError | MemoryError) or is_ours(error))


@contextmanager
def quietly(kind: str) -> Iterator[None]:
    """Decode inside this block: warnings are muted, and whatever the decoder raises leaves as
    UnreadableError naming the kind of picture; but want of memory or of what else the system is
    short of, and a slip of our own, is no damage."""
    try:
        with muted:
            yield
    except (UnreadableError, MemoryError):
        raise
    except Exception as error:
        if is_ours(error) or short_of(error) is not None:
            raise
        if isinstance(error, OSError) and error.errno is not None:  # the system's word
            raise UnreadableError(
                f"the file cannot be read ({error.strerror}); copy it afresh"
            ) from error
        reason = said_by(error)
        raise UnreadableError(f"the {kind} data is damaged ({reason}); export it again") from error


@contextmanager
def taking(memory: int) -> Iterator[None]:
    """Decode inside this block what takes so many bytes at most besides what is held before.

    Decoders in C call want of memory by many names, damage among them: where one fails and there
    is not as much to be had, MemoryError is raised.
    """
    try:
        yield
    except Exception:
        np.empty(memory, np.uint8)
        raise


@contextmanager
def about(path: Path) -> Iterator[None]:
    """Put the file's name before errors that do not begin with it."""
    try:
        yield
    except (UnreadableError, PasswordError) as error:
        start = f"{path.name}: "
        if all(line.startswith(start) for line in error.lines):
            raise
        lines = (line if line.startswith(start) else start + line for line in error.lines)
        raise type(error)(*lines) from error
