"""Pictures of parts, drawn in the background and kept in the book's folder. All can be drawn
again: what is lost here is no loss."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from prepcheck.book.overview import Looks

FACTS, FAILED, VERSION = "facts.json", "failed.txt", 1
_KEY = re.compile(r"[0-9a-f]{64}")
_NAMES = re.compile(r"small\.jpg|page-[0-9]{1,2}\.jpg")


@dataclass(frozen=True)
class Pictures:
    """The folder of pictures; `ask` has one drawn that is not there."""

    folder: Path
    ask: Callable[[Looks], None]

    def place(self, key: str) -> Path:
        """Return the folder of one art's pictures."""
        return self.folder / key[:2] / key[2:]

    def ready(self, looks: Looks | None) -> str | None:
        """Return the key of pictures that are there; None, having asked for them, where not."""
        if looks is None or looks.spec_digest is None:
            return None
        key = key_of(looks)
        if (self.place(key) / FACTS).is_file():
            return key
        if not (self.place(key) / FAILED).is_file():
            self.ask(looks)
        return None

    def file(self, key: str, name: str) -> Path | None:
        """Return a picture's path; None for a name that is none, or what is not there."""
        if not (_KEY.fullmatch(key) and _NAMES.fullmatch(name)):
            return None
        path = self.place(key) / name
        return path if path.is_file() else None

    def facts(self, key: str) -> dict[str, Any]:
        """Return what is known of one art's pictures."""
        found: dict[str, Any] = json.loads((self.place(key) / FACTS).read_text())
        return found


def key_of(looks: Looks) -> str:
    """Return what the pictures of a part as examined are kept under."""
    said = [VERSION, looks.digest, looks.page, looks.spec, looks.spec_digest]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()
