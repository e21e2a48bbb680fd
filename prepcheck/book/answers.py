"""What was answered of each part, kept beside the book so that what did not change is not examined
again. It may be deleted at any time: then everything is examined anew."""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from prepcheck.errors import OutputError
from prepcheck.output import write_whole
from prepcheck.run.answer import Answer, Task
from prepcheck.run.message import MessageError, packed, unpacked
from prepcheck.run.recall import key_of

FOLDER = "answers"
"""The folder within the book's."""
MOST_BYTES = 2_000_000_000
_DIGEST_BYTES = 32


@dataclass(frozen=True)
class Answers:
    """Remembers answers in a folder; those not asked for longest make room for new ones."""

    folder: Path
    most_bytes: int = MOST_BYTES

    def of(self, task: Task) -> Answer | None:
        """Return what was answered to this very task, if it is there and whole."""
        key = key_of(task)
        if key is None:
            return None
        path = self.folder / key
        try:
            data = path.read_bytes()
            digest, body = data[:_DIGEST_BYTES], data[_DIGEST_BYTES:]
            if hashlib.sha256(body).digest() != digest:
                return None
            found = unpacked(body, Answer)
            os.utime(path)
        except (OSError, MessageError):
            return None
        return found if isinstance(found, Answer) else None

    def keep(self, task: Task, answer: Answer) -> None:
        """Remember an answer."""
        key = key_of(task)
        if key is None:
            return
        body = packed(answer)
        with suppress(OutputError, OSError):
            write_whole(self.folder / key, hashlib.sha256(body).digest() + body)
            self._make_room()

    def _make_room(self) -> None:
        files = [(one.stat().st_mtime_ns, one.stat().st_size, one) for one in self.folder.iterdir()]
        held = sum(size for _, size, _ in files)
        for _, size, path in sorted(files):
            if held <= self.most_bytes:
                return
            path.unlink(missing_ok=True)
            held -= size
