"""Checks that designers make themselves: a file lies here until it is examined, what was found
until an hour has passed. The book knows nothing of them."""

from __future__ import annotations

import hashlib
import json
import re
import secrets
import shutil
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from prepcheck.book.stored import to_json
from prepcheck.desk.pictures import FACTS
from prepcheck.errors import PrepcheckError, itself_failed
from prepcheck.output import write_whole
from prepcheck.proof.write import proof_bytes
from prepcheck.run.art_pictures import keep_pictures
from prepcheck.run.examine import Examined, examine
from prepcheck.run.gather import Batch, gather
from prepcheck.spec.load import resolved_toml
from prepcheck.spec.model import Spec

ART, SPEC, ASKED, RESULT = "art", "spec.toml", "asked.json", "result.json"
FAULT, PROOF = "fault.json", "proof.pdf"
_TOKEN = re.compile(r"[0-9a-f]{32}")
_TO_PROGRAMS = re.compile(r"(?:[;,]\s*say which it is with --spec.*$)|(?:\s*`[^`]*`)")


@dataclass(frozen=True)
class Checks:
    """The folder of checks; `lasts` is how many seconds each is kept."""

    folder: Path
    lasts: float
    clock: Callable[[], float] = time.time

    def begin(self, art: Path, name: str, spec: Spec | None) -> str:
        """Take a file, which is moved, and return the token that opens what is found. Without a
        spec the piece is to be recognised."""
        token = secrets.token_hex(16)
        place = self._place(token)
        aside = place.with_suffix(".aside")
        aside.mkdir(parents=True)
        art.rename(aside / ART)
        if spec is not None:
            (aside / SPEC).write_text(resolved_toml(spec), "utf-8")
        asked = {"name": name, "at": self.clock()}
        (aside / ASKED).write_text(json.dumps(asked))
        aside.rename(place)
        return token

    def find(self, token: str) -> Path | None:
        """Return the folder that a token opens; None where there is none, or its time is over."""
        if not _TOKEN.fullmatch(token):
            return None
        place = self._place(token)
        return place if (place / ASKED).is_file() and not self._over(place) else None

    def end(self, token: str) -> None:
        """Let go of a check before its time."""
        shutil.rmtree(self._place(token), ignore_errors=True)

    def held(self) -> int:
        """Return how many there are."""
        return sum(1 for _ in self.folder.glob("*")) if self.folder.is_dir() else 0

    def waiting(self) -> list[Path]:
        """Return what is to be examined, the first that came first."""
        found = [p for p in self.folder.glob("*") if (p / ASKED).is_file() and (p / ART).exists()]
        return sorted(found, key=lambda place: (place / ASKED).stat().st_mtime)

    def sweep(self) -> None:
        """Let go of all whose time is over."""
        for place in self.folder.glob("*"):
            if self._over(place):
                shutil.rmtree(place, ignore_errors=True)

    def _place(self, token: str) -> Path:
        return self.folder / hashlib.sha256(token.encode()).hexdigest()

    def _over(self, place: Path) -> bool:
        try:
            since = json.loads((place / ASKED).read_text())["at"]
        except (OSError, ValueError, KeyError):
            with suppress(OSError):
                return place.stat().st_mtime < self.clock() - self.lasts
            return False
        return bool(since < self.clock() - self.lasts)


def check(place: Path, *, examiner: Callable[..., Examined] = examine) -> None:
    """Examine a file that waits; it is gone afterwards, and what was found lies beside."""
    asked: dict[str, Any] = json.loads((place / ASKED).read_text())
    try:
        spec = place / SPEC if (place / SPEC).is_file() else None
        (batch,) = gather([place / ART], spec=spec).whole
        examined = examiner(_named(batch, asked["name"]), by_page=True)
        for index, part in enumerate(examined.parts):
            own = place / "parts" / str(index)
            own.mkdir(parents=True, exist_ok=True)
            (own / FACTS).write_text(keep_pictures(part, own) or '{"pages": []}')
        proof = proof_bytes(examined.result, examined.parts, made_on=date.today())
        write_whole(place / PROOF, proof)
        write_whole(place / RESULT, to_json(examined.result).encode())
    except PrepcheckError as fault:
        lines = [_TO_PROGRAMS.sub("", line) for line in fault.lines]
        write_whole(place / FAULT, json.dumps(lines).encode())
    except Exception as error:
        write_whole(place / FAULT, json.dumps([itself_failed(error)]).encode())
    finally:
        (place / ART).unlink(missing_ok=True)


def _named(batch: Batch, name: str) -> Batch:
    """Return a batch whose one file is told by the name it was sent under."""
    tasks = tuple(replace(task, name=name, file=name) for task in batch.tasks)
    return replace(batch, tasks=tasks)
