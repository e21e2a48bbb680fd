"""Keeps the folder of pictures to its size: what was not looked at for longest goes first."""

from __future__ import annotations

import shutil
import uuid
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from prepcheck.desk.pictures import FACTS, TILES

_DOWN_TO = 0.8
_AGAIN_AFTER = 0.05


class _Kept(NamedTuple):
    used: float
    size: int
    place: Path


@dataclass
class Bounded:
    """A folder of pictures that may come to `most` bytes. All in it can be drawn again."""

    folder: Path
    most: int
    _grown: int | None = None
    """Bytes that were added since the folder was looked through; None where it never was."""

    def added(self, place: Path) -> None:
        """Take note of pictures that were drawn, and make room where there are too many."""
        if self._grown is not None:
            self._grown += _size(place)
            if self._grown < self.most * _AGAIN_AFTER:
                return
        self._grown = 0
        kept = sorted(_all(self.folder), key=lambda one: (one.used, one.place.name != TILES))
        total = sum(one.size for one in kept)
        if total <= self.most:
            return
        for one in kept:
            if total <= self.most * _DOWN_TO:
                return
            if one.place != place and self._taken_away(one.place):
                total -= one.size

    def _taken_away(self, place: Path) -> bool:
        """Remove pictures at once as a whole: nobody meets half of them."""
        if place.name != TILES and (place / TILES).exists():
            return False  # its tiles were of use of late
        gone = self.folder / "aside" / uuid.uuid4().hex
        try:
            gone.parent.mkdir(exist_ok=True)
            place.rename(gone)
        except OSError:
            return False
        shutil.rmtree(gone, ignore_errors=True)
        return True


def _all(folder: Path) -> Iterator[_Kept]:
    for place in folder.glob("??/*"):
        for one in (place, place / TILES):
            with suppress(OSError):
                yield _Kept((one / FACTS).stat().st_mtime, _size(one), one)


def _size(place: Path) -> int:
    """Return the bytes of a folder's own files."""
    with suppress(OSError):
        return sum(one.stat().st_size for one in place.iterdir() if one.is_file())
    return 0
