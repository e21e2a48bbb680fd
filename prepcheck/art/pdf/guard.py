"""The one place where whatever the PDF library raises becomes our own error."""

from __future__ import annotations

import logging
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pypdf import apply_configuration
from pypdf.errors import LimitReachedError
from pypdf.generic import NameObject

from prepcheck.art import name_bytes
from prepcheck.art.damage import about, is_ours, muted, raised_in
from prepcheck.art.limits import Limits
from prepcheck.errors import ArtworkError, UnreadableError, in_one_line, said_by

_ONE_AT_A_TIME = threading.RLock()
"""Objects are read lazily from one place in the file, and the library's settings and its logger
are one for all threads."""
_UNPACKING = (
    "pypdf.filters", "pypdf.generic._image_inline", "pypdf.generic._image_xobject",
)  # fmt: skip
"""Modules whose limits are on what data unpacks to."""
_COUNTED = re.compile(r"maximum (?:array element|number of|dictionary) ?(?:count|tokens|entries)")
"""What the library says of arrays and dictionaries with more in them than is allowed."""
MAX_TROUBLES = 20
"""Sentences kept about one file's damage."""


class _Listener(logging.Handler):
    """Keeps what the library says it mended, each sentence once."""

    def __init__(self, heard: list[str]) -> None:
        super().__init__(logging.WARNING)
        self.heard = heard

    def emit(self, record: logging.LogRecord) -> None:
        sentence = in_one_line(record.getMessage())[:200]
        if sentence and sentence not in self.heard and len(self.heard) < MAX_TROUBLES:
            self.heard.append(sentence)


@contextmanager
def reading(path: Path, limits: Limits, heard: list[str] | None = None) -> Iterator[None]:
    """Read a PDF inside this block: limits hold, the library keeps quiet, and anything it raises
    leaves as UnreadableError. What it mended is added to `heard`.

    Our own ArtworkError passes unchanged, and so does what is plainly a mistake in our own code,
    and want of memory: the file is not to be called damaged for that.
    """
    try:
        with (
            _ONE_AT_A_TIME,
            _listening([] if heard is None else heard),
            about(path),
            muted,
            _names_in(name_bytes.CODEC),
            apply_configuration(
                maximum_declared_stream_length=limits.file_bytes,
                array_maximum_element_count=limits.array_items,
                dictionary_maximum_element_count=limits.array_items,
                zlib_maximum_output_length=limits.stream_bytes,
                lzw_maximum_output_length=limits.stream_bytes,
                run_length_maximum_output_length=limits.stream_bytes,
                page_tree_maximum_depth=limits.depth,
                jbig2dec_binary=None,
                disable_legacy_handling=True,
            ),
        ):
            yield
    except (ArtworkError, MemoryError):
        raise
    except RecursionError as error:
        raise UnreadableError(
            f"{path.name}: the PDF's objects are nested too deeply or in a circle; "
            "save it again from the program that made it"
        ) from error
    except Exception as error:
        if asks_for_memory(error):
            raise UnreadableError(
                f"{path.name}: the PDF asks for more memory than a label or sleeve can need; "
                "save it again from the program that made it"
            ) from error
        if is_ours(error):
            raise
        raise UnreadableError(
            f"{path.name}: the PDF is damaged ({said_by(error, 160)}); export it again"
        ) from error


@contextmanager
def _names_in(charset: str) -> Iterator[None]:
    """Have names read in a character set: the library tries its own three, Chinese before Latin."""
    before = NameObject.CHARSETS
    NameObject.CHARSETS = (charset,)  # type: ignore[assignment]
    try:
        yield
    finally:
        NameObject.CHARSETS = before


@contextmanager
def _listening(heard: list[str]) -> Iterator[None]:
    logger = logging.getLogger("pypdf")
    listener = _Listener(heard)
    propagate, level = logger.propagate, logger.level
    logger.addHandler(listener)
    logger.propagate = False
    logger.setLevel(logging.WARNING)
    try:
        yield
    finally:
        logger.propagate = propagate
        logger.setLevel(level)
        logger.removeHandler(listener)


def asks_for_memory(error: Exception) -> bool:
    """Say whether an error tells of something too large, not of damage: the library raises one
    kind for both, and for circles."""
    if isinstance(error, LimitReachedError):
        where = raised_in(error)
        return (
            where in _UNPACKING
            or where.startswith("prepcheck.")
            or bool(_COUNTED.search(str(error)))
        )
    return isinstance(error, MemoryError)
