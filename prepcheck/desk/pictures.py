"""Pictures of parts, drawn in the background and kept in the book's folder. All can be drawn
again: what is lost here is no loss."""

from __future__ import annotations

import hashlib
import json
import os
import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from prepcheck.book.overview import ExaminedAs

FACTS, FAILED, TILES, VERSION = "facts.json", "failed.txt", "tiles", 2
_KEY = re.compile(r"[0-9a-f]{64}")
_TILES = re.compile(
    r"[0-9]{1,2}-(?:(?:look|seen|[0-9]{1,2})-[0-9]-[0-9]{1,3}-[0-9]{1,3}\.(?:jpg|png)|mix\.png)"
)
_SINCE = 3600.0
"""Seconds to which it is noted when pictures were last asked for."""
_NAMES = re.compile(r"small\.jpg|page-[0-9]{1,2}\.jpg")


@dataclass(frozen=True)
class Pictures:
    """The folder of pictures; `ask` has those drawn that are not there, `ask_tiles` the tiles."""

    folder: Path
    ask: Callable[[ExaminedAs], None]
    ask_tiles: Callable[[ExaminedAs], None] = lambda looks: None

    def place(self, key: str) -> Path:
        """Return the folder of one art's pictures."""
        return self.folder / key[:2] / key[2:]

    def ready(self, looks: ExaminedAs | None) -> str | None:
        """Return the key of pictures that are there; None, having asked for them, where not."""
        if looks is None or looks.spec_digest is None:
            return None
        key = key_of(looks)
        if _used(self.place(key)):
            return key
        if not (self.place(key) / FAILED).is_file():
            self.ask(looks)
        return None

    def given_up(self, looks: ExaminedAs) -> bool:
        """Say whether there are no pictures and will be none: the art cannot be drawn."""
        place = self.place(key_of(looks))
        failed = looks.spec_digest is None or (place / FAILED).is_file()
        return failed and not (place / FACTS).is_file()

    def file(self, key: str, name: str) -> Path | None:
        """Return a picture's path; None for a name that is none, or what is not there."""
        if not _KEY.fullmatch(key):
            return None
        if _NAMES.fullmatch(name):
            path = self.place(key) / name
        elif _TILES.fullmatch(name):
            path = self.place(key) / TILES / name
        else:
            return None
        return path if path.is_file() else None

    def facts(self, key: str) -> dict[str, Any]:
        """Return what is known of one art's pictures."""
        found: dict[str, Any] = json.loads((self.place(key) / FACTS).read_text())
        return found

    def tiles(self, looks: ExaminedAs) -> dict[str, Any] | None:
        """Return what is known of a part's tiles; None, having asked for them, where there are
        none yet."""
        place = self.place(key_of(looks)) / TILES
        if _used(place):
            found: dict[str, Any] = json.loads((place / FACTS).read_text())
            return found
        if not (place / FAILED).is_file():
            self.ask_tiles(looks)
        return None


def _used(place: Path) -> bool:
    """Say whether pictures are there, and note that they are of use still."""
    facts = place / FACTS
    try:
        if facts.stat().st_mtime < time.time() - _SINCE:
            os.utime(facts)
    except FileNotFoundError:
        return False
    return True


def key_of(looks: ExaminedAs) -> str:
    """Return what the pictures of a part as examined are kept under."""
    said = [VERSION, looks.digest, looks.page, looks.spec, looks.spec_digest]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()
